package progress_test

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

	"drover/game/practice"
	"drover/game/progress"
)

// The rule for a weakest stage once more, as DEVELOPERS.md has it: plain products
// in big floats where package progress adds logarithms. It is the specification
// of the fast one.

// hardness is how much oftener a careless move comes up in each stage, in logits.
var hardness = map[string][]float64{
	"KQK": {.05, -.05}, "KRK": {.06, -.06, 0}, "KRRK": {-.03, .03}, "KBBK": {.01, .02, -.03}, "KBNK": {.07, .02, 0, -.09},
}

func big0() *big.Float { return new(big.Float).SetPrec(200) }

// plainLikelihood is the product of the chances of the moves made, averaged over
// the strengths that noise makes of theta.
func plainLikelihood(t progress.Tally, theta, hard, lost float64) *big.Float {
	sum, weights := big0(), 0.0
	for i := range 23 {
		near := -4 + .25*float64(i)
		weight := math.Exp(-(near - theta) * (near - theta) / (2 * .15 * .15))
		p := chances(t.Weights.Offered, 1/(1+math.Exp(-near-hard)), lost)
		one := big0().SetFloat64(weight)
		for c, n := range t.Weights.Made {
			for range n {
				one.Mul(one, big0().SetFloat64(p[c]))
			}
		}
		sum.Add(sum, one)
		weights += weight
	}
	return sum.Quo(sum, big0().SetFloat64(weights))
}

// plainWeakest gives the posterior of each stage being the weak one.
func plainWeakest(code string, stages []progress.Tally) []float64 {
	shares, usual := []float64{.01, .04, .1, .2, .3, .45, .6, .8}, []float64{.3, .3, .2, .05, .05, .05, .05}
	none, weak := big0(), make([]*big.Float, len(stages))
	for s := range weak {
		weak[s] = big0()
	}
	for i := range 23 {
		theta := -4 + .25*float64(i)
		at := make([][]*big.Float, len(stages)) // by stage and share
		for s, t := range stages {
			for _, w := range shares {
				at[s] = append(at[s], plainLikelihood(t, theta, hardness[code][s], w))
			}
		}
		for k, often := range usual {
			prior := big0().SetFloat64(often * math.Exp(-(theta+1.2)*(theta+1.2)/(2*1.2*1.2)))
			all := big0().Set(prior)
			for s := range stages {
				all.Mul(all, at[s][k])
			}
			none.Add(none, all.Mul(all, big0().SetFloat64(.25)))
			for s := range stages {
				weak[s].Add(weak[s], plainWeak(prior, at, shares, s, k))
			}
		}
	}
	total := big0().Set(none)
	for _, w := range weak {
		total.Add(total, w)
	}
	out := make([]float64, len(stages))
	for s, w := range weak {
		out[s], _ = big0().Quo(w, total).Float64()
	}
	return out
}

// plainWeak: stage s loses more, by a tenth of the moves at least, than the k-th
// share that all others lose.
func plainWeak(prior *big.Float, at [][]*big.Float, shares []float64, s, k int) *big.Float {
	mean, n := big0(), 0
	for more, w := range shares {
		if w >= shares[k]+.1 {
			mean.Add(mean, at[s][more])
			n++
		}
	}
	one := big0().SetFloat64(.75 / float64(len(at)) / float64(n))
	one.Mul(one, prior).Mul(one, mean)
	for o := range at {
		if o != s {
			one.Mul(one, at[o][k])
		}
	}
	return one
}

// TestWeakestAgainstPlain: over random tallies the posterior is that of the
// plain rule, and so is the stage that it names.
func TestWeakestAgainstPlain(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(8, 8))
	named, silent := 0, 0
	for code, row := range hardness {
		for range 3 {
			stages := make([]progress.Tally, len(row))
			careless := .1 + .4*rng.Float64()
			for s := range stages {
				stages[s] = own(rng.IntN(50), careless, []float64{0, 0, .6}[rng.IntN(3)])
			}
			want := plainWeakest(code, stages)
			best := 0
			for s, p := range want {
				if p > want[best] {
					best = s
				}
			}
			f := progress.Weakest(code, stages)
			if math.Abs(f.Posterior-want[best]) > 1e-6 {
				t.Errorf("%s %v: posterior %.9f, by the plain rule %.9f", code, stages, f.Posterior, want[best])
			}
			if b := stages[best]; want[best] < 0.70 || float64(b.K+1)/float64(b.N+4) < 0.15 {
				best = -1
				silent++
			} else {
				named++
			}
			if f.Stage != best {
				t.Errorf("%s %v: names %d, by the plain rule %d (%.4f)", code, stages, f.Stage, best, f.Posterior)
			}
		}
	}
	if named < 3 || silent < 3 {
		t.Errorf("%d of the tallies name a stage, %d none", named, silent)
	}
}

// TestWeakestOffsets: what is harder for everybody is held against nobody.
func TestWeakestOffsets(t *testing.T) {
	t.Parallel()
	for code, row := range hardness {
		sum := 0.0
		stages := make([]progress.Tally, len(row))
		for s, o := range row {
			sum += o
			stages[s] = own(300, 1/(1+math.Exp(1.2-o)), .01)
		}
		if math.Abs(sum) > 1e-9 {
			t.Errorf("%s: the offsets sum to %g", code, sum)
		}
		if f := progress.Weakest(code, stages); f.Stage != -1 {
			t.Errorf("%s: a student like all others is called weak in %d: %+v", code, f.Stage, f)
		}
	}
}

// TestNamedWaits: the first look is after five games, and a stage that shows in the last look
// only is not named yet.
func TestNamedWaits(t *testing.T) {
	t.Parallel()
	var weak [][]progress.Tally
	for n := 1; n <= 7; n++ {
		weak = append(weak, []progress.Tally{own(20, .2, 0), own(120, .2, .8), own(20, .2, 0)})
		f, missing := progress.Named("KRK", weak)
		if missing != max(5-n, 0) || (f.Stage == 1) != (n > 5) {
			t.Errorf("%d games: %+v, %d missing", n, f, missing)
		}
	}
	fair := own(20, .2, 0)
	even, bad := []progress.Tally{fair, fair, fair}, []progress.Tally{fair, own(120, .2, .8), fair}
	games := [][]progress.Tally{even, even, even, even, even, even}
	if f, missing := progress.Named("KRK", games); f.Stage != -1 || missing != 0 {
		t.Fatalf("an even student: %+v, %d", f, missing)
	}
	games = append(games, bad)
	if f, _ := progress.Named("KRK", games); f.Stage != -1 || f.Posterior < 0.7 {
		t.Errorf("after one look: %+v", f)
	}
	games = append(games, bad)
	if f, _ := progress.Named("KRK", games); f.Stage != 1 {
		t.Errorf("after two: %+v", f)
	}
}

// TestSum adds games up, of unlike numbers of stages too.
func TestSum(t *testing.T) {
	t.Parallel()
	sum := progress.Sum([][]progress.Tally{{{N: 1, K: 1}}, {{N: 2}, {N: 3, K: 1}}, {}})
	if len(sum) != 2 || sum[0] != (progress.Tally{N: 3, K: 1}) || sum[1] != (progress.Tally{N: 3, K: 1}) {
		t.Errorf("%v", sum)
	}
	if progress.Sum(nil) != nil {
		t.Error("nothing adds up to something")
	}
}

// above is the probability that a rate lies above r, under Beta(a, b): the
// density summed up over a fine grid.
func above(a, b, r float64) float64 {
	const steps = 20_000
	var whole, upper float64
	for i := range steps {
		x := (float64(i) + .5) / steps
		d := math.Exp((a-1)*math.Log(x) + (b-1)*math.Log(1-x))
		if whole += d; x > r {
			upper += d
		}
	}
	return upper / whole
}

// TestHabitThresholds: a habit is named exactly where its rate lies above the
// threshold with nine chances in ten, summed up here over the density.
func TestHabitThresholds(t *testing.T) {
	t.Parallel()
	for _, r := range []struct {
		habit   practice.Habit
		m, s, r float64
		least   int
		n       []int
	}{
		{practice.Stalemates, .005, 2, .15, 2, []int{1, 6, 20}},
		{practice.Hanging, .003, 2, .06, 2, []int{1, 30, 70}},
		{practice.Checks, .05, 4, .25, 0, []int{12, 60}},
		{practice.KingHome, .25, 4, .75, 0, []int{12, 60}},
		{practice.Shuffling, .02, 4, .25, 0, []int{12, 60}},
	} {
		for _, n := range r.n {
			for k := range n + 1 {
				want := k >= r.least && above(r.s*r.m+float64(k), r.s*(1-r.m)+float64(n-k), r.r) >= 0.9
				got := progress.HabitOf(map[practice.Habit]practice.Tally{r.habit: {N: n, K: k}}) == r.habit
				if got != want {
					t.Errorf("%s, %d of %d: named is %v", r.habit, k, n, got)
				}
			}
		}
	}
}

// oddsAbove is the probability that a log odds ratio lies above log 3, the normal density
// summed up over a fine grid; half a count is added to each cell.
func oddsAbove(own, other practice.Tally) float64 {
	cells := []float64{float64(own.K) + .5, float64(own.N-own.K) + .5, float64(other.K) + .5,
		float64(other.N-other.K) + .5}
	mean := math.Log(cells[0] * cells[3] / (cells[1] * cells[2]))
	variance := 0.0
	for _, c := range cells {
		variance += 1 / c
	}
	var whole, upper float64
	for i := -20_000; i <= 20_000; i++ {
		x := mean + float64(i)/20_000*8*math.Sqrt(variance)
		d := math.Exp(-(x - mean) * (x - mean) / (2 * variance))
		if whole += d; x > math.Log(3) {
			upper += d
		}
	}
	return upper / whole
}

// TestWrongCornerThresholds: the wrong corner is a habit from four of five moves there on,
// where its odds are more than three times those of moves elsewhere with nine chances in ten.
func TestWrongCornerThresholds(t *testing.T) {
	t.Parallel()
	named := 0
	for _, other := range []practice.Tally{{}, {N: 2}, {N: 6, K: 1}, {N: 12}, {N: 20, K: 6}, {N: 60, K: 9}, {N: 5, K: 5}} {
		for _, n := range []int{4, 5, 8, 14} {
			for k := range n + 1 {
				own := practice.Tally{N: n, K: k}
				want := n >= 5 && k >= 4 && oddsAbove(own, other) >= 0.9
				got := progress.HabitOf(map[practice.Habit]practice.Tally{practice.WrongCorner: own, practice.Elsewhere: other})
				if (got == practice.WrongCorner) != want {
					t.Errorf("%d of %d, elsewhere %d of %d: named %q", k, n, other.K, other.N, got)
				}
				if want {
					named++
				}
			}
		}
	}
	if named < 10 {
		t.Errorf("only %d of the cases are a habit", named)
	}
}

// TestHabitOrder: of two that show the first of the list is said; the shuffler
// is one only where cheap moves outnumber the costly ones.
func TestHabitOrder(t *testing.T) {
	t.Parallel()
	both := map[practice.Habit]practice.Tally{practice.Stalemates: {N: 8, K: 6}, practice.Checks: {N: 40, K: 38}}
	if h := progress.HabitOf(both); h != practice.Stalemates {
		t.Errorf("said %q", h)
	}
	shuffler := map[practice.Habit]practice.Tally{practice.Shuffling: {N: 60, K: 40}, practice.Costly: {N: 60, K: 20}}
	if h := progress.HabitOf(shuffler); h != practice.Shuffling {
		t.Errorf("said %q", h)
	}
	shuffler[practice.Costly] = practice.Tally{N: 60, K: 21}
	if h := progress.HabitOf(shuffler); h != "" {
		t.Errorf("said %q", h)
	}
	atHome := map[practice.Habit]practice.Tally{
		practice.Shuffling: {N: 100, K: 60}, practice.KingHome: {N: 80, K: 76}, practice.Costly: {N: 100, K: 3},
	}
	if h := progress.HabitOf(atHome); h != practice.Shuffling {
		t.Errorf("at cost 1 nearly always, said %q", h)
	}
	atHome[practice.Costly] = practice.Tally{N: 100, K: 8}
	if h := progress.HabitOf(atHome); h != practice.KingHome {
		t.Errorf("the king at home, and moves that cost more, said %q", h)
	}
	if h := progress.HabitOf(nil); h != "" {
		t.Errorf("nothing is called %q", h)
	}
}
