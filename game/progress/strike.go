package progress

import (
	"math"
	"slices"

	"drover/game/practice"
)

// shares are how often a habit strikes where it has its chance, all alike from the one
// on that a coach would call a habit (common practice).
var (
	shares = []float64{.075, .15, .3, .45, .6, .75, .9}

	leastShare = map[practice.Habit]float64{
		practice.Stalemates: .15, practice.Hanging: .075, practice.Checks: .3, practice.KingHome: .45,
		practice.WrongCorner: .3, practice.Shuffling: .45, practice.Hurry: .3,
	}
)

// Struck is the habit that struck in a game, or in a part of one: of those that strike as
// often as a coach would call a habit, the one whose moves cost most. ok is false where
// there is none.
func Struck(habits practice.Habitual) (h practice.Habit, t practice.Tally, ok bool) {
	most := 0.0
	for _, one := range practice.Habits() {
		tally := habits[one]
		cost := 0.0
		for class, n := range tally.Weights.Made {
			cost += costs[class] * float64(n)
		}
		if strikes(one, tally) && (!ok || cost > most) {
			h, t, ok, most = one, tally, true, cost
		}
	}
	return h, t, ok
}

// habitRatio weighs, in logs, 'where the habit has its chance, it strikes in a share of
// the cases, with any of its moves' against a careless eye that falls on one of them.
func habitRatio(h practice.Habit, t practice.Tally) surface {
	out := make(surface, len(strengths))
	for i, theta := range strengths {
		out[i] = make([]float64, len(usual))
		for k := range usual {
			if t.Of > 0 {
				out[i][k] = struckRatio(h, t, due(t, theta, lost[k]))
			}
		}
	}
	return out
}

func struckRatio(h practice.Habit, t practice.Tally, due [practice.Classes]float64) float64 {
	own, struck := 0.0, sumOf(t.Weights.Made)
	for _, o := range t.Weights.Offered {
		own += float64(o)
	}
	var logs []float64
	for _, share := range shares {
		if share < leastShare[h] {
			continue
		}
		log := float64(max(t.Of-struck, 0)) * math.Log(1-share)
		for c, made := range t.Weights.Made {
			if made > 0 {
				times := share * float64(t.Weights.Offered[c]) / own * float64(t.Of) / due[c]
				log += float64(made) * math.Log(times+1-share)
			}
		}
		logs = append(logs, log)
	}
	return logSum(logs) - math.Log(float64(len(logs)))
}

// logSum is the log of a sum of exponentials.
func logSum(logs []float64) float64 {
	top, sum := slices.Max(logs), 0.0
	for _, l := range logs {
		sum += math.Exp(l - top)
	}
	return top + math.Log(sum)
}

// due is how many of a habit's moves are due by class without it.
func due(t practice.Tally, theta, lost float64) [practice.Classes]float64 {
	e := 1 / (1 + math.Exp(-theta))
	var out [practice.Classes]float64
	for c, o := range t.Weights.Offered {
		out[c] = ((1-lost)*e*float64(t.Drawn[c]) + lost*float64(o)) / 1000
	}
	if t.Weights.Offered[0] > 0 { // the best moves are among them
		out[0] += (1 - lost) * (1 - e) * float64(t.Of)
	}
	return out
}

// dueIn is how many moves of each class are due in a stage.
func (v *attractions) dueIn(w practice.Weights, theta, lost float64) [practice.Classes]float64 {
	t := practice.Tally{Weights: w, Of: sumOf(w.Made)}
	drawn, moves := 0.0, 0.0
	for c, o := range w.Offered {
		drawn += float64(o) * v[c]
		moves += float64(o)
	}
	for c, o := range w.Offered {
		if drawn > 0 {
			t.Drawn[c] = int(float64(o) * v[c] * moves / drawn)
		}
	}
	return due(t, theta, lost)
}
