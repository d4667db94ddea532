package progress

import (
	"cmp"
	"math"
	"slices"

	"drover/game/practice"
)

// The weighing behind what is taught first. What may be true of a student is one of:
// nothing is the matter; one cause is at work, a stage in which well more is lost than
// elsewhere or a habit that strikes wherever it has its chance; such a cause began in
// mid-season; or it has ended. Each has a prior, and each explains the same moves, by
// the model of diagnose_model.go, better or worse: so each has a posterior. A cure of a
// stage would save what its moves cost beyond those due without a weakness, and so would
// a cure of a habit, over all stages; where a habit is at work, the cure of a stage saves
// what the habit costs there. What is said is the cure of which the greatest share of
// what can be gained is expected, over all posteriors.

// weighing is the work of FirstOf.
type weighing struct {
	code   string
	games  [][]Tally
	all    []Tally
	base   surface   // log of prior times likelihood without a cause
	sharp  surface   // the same without noise from stage to stage, for the habits
	others []float64 // log weights of what is not to be taught: nothing, and what has ended
	causes []cause
	now    []weighed // what may be at work now
	theta  float64   // the posterior means
	lost   float64
	gains  [][]float64 // of each cause, in each stage
}

// cause is a stage or a habit of which the cure is asked.
type cause struct {
	stage int // -1: a habit
	habit practice.Habit
}

// weighed is a cause that may be at work now, with the log of its weight.
type weighed struct {
	cause  int
	weight float64
}

func (w *weighing) weigh() {
	w.base, w.sharp = w.without(logLikelihood), w.without(sharp)
	for s := range w.all {
		w.causes = append(w.causes, cause{stage: s})
	}
	for _, h := range practice.Habits() {
		if habitsOf(w.all)[h].Of > 0 {
			w.causes = append(w.causes, cause{stage: -1, habit: h})
		}
	}
	w.others = append(w.others, math.Log(priorNothing)+mass(w.base))
	always := w.ratios(w.games)
	for i := range w.causes {
		one := w.prior(i)
		w.add(math.Log(one*(1-float64(len(w.cuts()))*(began+ended)))+w.mass(i, always[i]), i)
	}
	w.changes()
	w.mean(always)
	w.gain()
}

// prior is the chance of a cause: of what nothing leaves, stages share one half and
// habits the other.
func (w *weighing) prior(i int) float64 {
	stages := float64(len(w.all))
	if w.causes[i].stage >= 0 {
		return (1 - priorNothing) * stagesShare / stages
	}
	return (1 - priorNothing) * (1 - stagesShare) / (float64(len(w.causes)) - stages)
}

// add notes the weight of something that may be at work now.
func (w *weighing) add(weight float64, cause int) { w.now = append(w.now, weighed{cause, weight}) }

// cuts are the numbers of games after which a cause may have begun or ended.
func (w *weighing) cuts() []int {
	var cuts []int
	for last := fadesIn; last <= len(w.games)-2; last += 2 {
		cuts = append(cuts, len(w.games)-last)
	}
	return cuts
}

// changes weighs causes that began or ended in mid-season.
func (w *weighing) changes() {
	for _, at := range w.cuts() {
		for i, r := range w.ratios(w.games[at:]) {
			w.add(math.Log(w.prior(i)*began)+w.mass(i, r), i)
		}
		for i, r := range w.ratios(w.games[:at]) {
			w.others = append(w.others, math.Log(w.prior(i)*ended)+w.mass(i, r))
		}
	}
}

// without is the likelihood of all that was done without a cause, times the priors.
func (w *weighing) without(of func(Tally, float64) surface) surface {
	base := make(surface, len(strengths))
	for i, theta := range strengths {
		base[i] = make([]float64, len(usual))
		for k, often := range usual {
			away := (theta - strengthMean) / strengthSpread
			base[i][k] = math.Log(often) - away*away/2
		}
	}
	for s, t := range w.all {
		f := of(t, offset(w.code, s))
		for i := range base {
			for k := range base[i] {
				base[i][k] += f[i][k]
			}
		}
	}
	return base
}

// mass is the log of the evidence for a cause by its log ratio to none.
func (w *weighing) mass(cause int, ratio surface) float64 { return mass(w.baseOf(cause), ratio) }

func (w *weighing) baseOf(cause int) surface {
	if w.causes[cause].stage < 0 {
		return w.sharp
	}
	return w.base
}

// mass is the log of a sum over the grid.
func mass(surfaces ...surface) float64 {
	logs := make([]float64, 0, len(strengths)*len(usual))
	for i := range strengths {
		for k := range usual {
			sum := 0.0
			for _, s := range surfaces {
				sum += s[i][k]
			}
			logs = append(logs, sum)
		}
	}
	return logSum(logs)
}

// ratios say for each cause, in logs, how much likelier some games are with it than without.
func (w *weighing) ratios(games [][]Tally) []surface {
	stages := Sum(games)
	habits := habitsOf(stages)
	out := make([]surface, len(w.causes))
	for i, c := range w.causes {
		if c.stage >= 0 {
			out[i] = stageRatio(stages[c.stage], offset(w.code, c.stage))
		} else {
			out[i] = habitRatio(c.habit, habits[c.habit])
		}
	}
	return out
}

// stageRatio weighs 'well more is lost in this stage than usual'.
func stageRatio(t Tally, hard float64) surface {
	f := logLikelihood(t, hard)
	out := make(surface, len(f))
	for i, row := range f {
		out[i] = make([]float64, len(usual))
		for k := range usual {
			more := wellAbove(row, k)
			out[i][k] = logSum(more) - math.Log(float64(len(more))) - row[k]
		}
	}
	return out
}

func habitsOf(stages []Tally) practice.Habitual {
	sum := practice.Habitual{}
	for _, t := range stages {
		sum = sum.Add(t.Habits)
	}
	return sum
}

// mean finds the strength and the share of lost moves beside the likeliest cause.
func (w *weighing) mean(always []surface) {
	most := slices.MaxFunc(w.now, func(a, b weighed) int { return cmp.Compare(a.weight, b.weight) }).cause
	base, ratio := w.baseOf(most), always[most]
	all := mass(base, ratio)
	for i, row := range base {
		for k := range usual {
			share := math.Exp(row[k] + ratio[i][k] - all)
			w.theta += share * strengths[i]
			w.lost += share * lost[k]
		}
	}
}

// gain works out what the cure of each cause would save in each stage: what the moves
// beyond those due without it cost.
func (w *weighing) gain() {
	for _, c := range w.causes {
		row := make([]float64, len(w.all))
		for s, t := range w.all {
			made, fair := t.Weights, attraction.dueIn(t.Weights, w.theta, w.lost)
			if c.stage >= 0 && c.stage != s {
				continue
			}
			if c.stage < 0 {
				h := t.Habits[c.habit]
				made, fair = h.Weights, due(h, w.theta, w.lost)
			}
			for class, cost := range costs {
				row[s] += cost * (float64(made.Made[class]) - fair[class]) / float64(len(w.games))
			}
			row[s] = max(row[s], 0)
		}
		w.gains = append(w.gains, row)
	}
}

// brings is what the cure of one cause saves where another is at work.
func (w *weighing) brings(cure, at int) float64 {
	switch c := w.causes[cure]; {
	case at == cure:
		return total(w.gains[at])
	case c.stage >= 0 && w.causes[at].stage < 0:
		return w.gains[at][c.stage]
	}
	return 0
}

// costs is what a move of each class costs in own moves; a lost win the more, since
// the game is mostly not won then.
var costs = [practice.Classes]float64{0, 1, 2.5, 5.5, 10, 25}

func total(row []float64) float64 {
	sum := 0.0
	for _, x := range row {
		sum += x
	}
	return sum
}

func sumOf(made [practice.Classes]int) int {
	n := 0
	for _, k := range made {
		n += k
	}
	return n
}
