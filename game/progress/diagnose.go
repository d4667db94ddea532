package progress

import "drover/game/practice"

// Tally counts a student's own moves in one stage.
type Tally struct {
	N, K    int              // own moves, and the bad ones: cost 2 or more, win gone, or each fourth no nearer
	Weights practice.Weights // the same moves against what was possible; none in rows of old games
	Habits  practice.Habitual
}

// Add adds up two tallies.
func (t Tally) Add(o Tally) Tally {
	return Tally{t.N + o.N, t.K + o.K, t.Weights.Add(o.Weights), t.Habits.Add(o.Habits)}
}

// Finding is what the rule says of the stages of one ending.
type Finding struct {
	Stage     int     // index of the weakest stage, or -1: none stands out
	Posterior float64 // probability that the best candidate is weak
	N, K      int     // own moves and bad moves in that candidate
}

// The rule weighs 'in no stage more is lost than in another' against 'in stage s
// more is lost', all stages alike, and names a stage that is surely weak.
const (
	priorNone = 0.25
	named     = 0.70 // least posterior that names a stage
	badShare  = 0.15 // least (k+1)/(n+4) that names a stage
)

// Weakest applies the rule to the tallies of an ending's stages.
func Weakest(code string, stages []Tally) Finding {
	surfaces := make([]surface, len(stages))
	for s, t := range stages {
		surfaces[s] = likelihood(t, offset(code, s))
	}
	none, weak := 0.0, make([]float64, len(stages))
	for i, theta := range strengths {
		prior := bell(theta-strengthMean, strengthSpread)
		for k, often := range usual {
			all := often * prior
			for _, f := range surfaces {
				all *= f[i][k]
			}
			none += all
			for s, f := range surfaces {
				weak[s] += all / f[i][k] * above(f[i], k)
			}
		}
	}
	return decide(stages, none, weak)
}

// above is the mean likelihood of the shares that are well above the k-th.
func above(row []float64, k int) float64 {
	more := wellAbove(row, k)
	return total(more) / float64(len(more))
}

// wellAbove are the entries of a row whose shares are well above the k-th.
func wellAbove(row []float64, k int) []float64 {
	for more := k + 1; more < len(row); more++ {
		if lost[more] >= lost[k]+excess {
			return row[more:]
		}
	}
	return nil
}

// decide holds the best candidate against all others and none.
func decide(stages []Tally, none float64, weak []float64) Finding {
	total, best := priorNone*none, 0
	for s := range weak {
		weak[s] *= (1 - priorNone) / float64(len(weak))
		total += weak[s]
		if weak[s] > weak[best] {
			best = s
		}
	}
	f := Finding{Stage: -1}
	if len(stages) == 0 {
		return f
	}
	t := stages[best]
	f.Posterior, f.N, f.K = weak[best]/total, t.N, t.K
	if f.Posterior >= named && float64(t.K+1)/float64(t.N+4) >= badShare {
		f.Stage = best
	}
	return f
}

// Enough is the number of games of an ending before the first look.
const Enough = 5

// Named applies the rule to the games of one ending, oldest first, each with
// one tally per stage. There is one look after each game from the fifth on, and
// a stage is named only if the last two looks agree. missing is how many more
// games are needed before a stage can be named.
func Named(code string, games [][]Tally) (f Finding, missing int) {
	if len(games) < Enough {
		return Finding{Stage: -1}, Enough - len(games)
	}
	f = Weakest(code, Sum(games))
	before := Finding{Stage: -1}
	if len(games) > Enough {
		before = Weakest(code, Sum(games[:len(games)-1]))
	}
	if before.Stage != f.Stage {
		f.Stage = -1
	}
	return f, 0
}

// Sum adds up the games stage by stage.
func Sum(games [][]Tally) []Tally {
	var sum []Tally
	for _, g := range games {
		for s, t := range g {
			if s == len(sum) {
				sum = append(sum, Tally{})
			}
			sum[s] = sum[s].Add(t)
		}
	}
	return sum
}

// NextStage proposes the stage that the next game should start from: the one in
// which the fewest own moves have been seen, since no other tells more. stages
// are those of Sum; without any it is the first.
func NextStage(stages []Tally) int {
	least := 0
	for s, t := range stages {
		if t.N < stages[least].N {
			least = s
		}
	}
	return least
}
