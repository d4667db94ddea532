package progress_test

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

	"drover/game/practice"
	"drover/game/progress"
)

// The rule for a weakest stage once more, as the written rule has it: plain
// products in big floats where package progress adds logarithms. It is the
// specification of the fast one.

// hardness is how much harder each stage is for everybody, in logits.
var hardness = map[string][]float64{
	"KQK": {-.14, .14}, "KRK": {-.45, .12, .33}, "KBBK": {-.49, .05, .44}, "KBNK": {-.36, -.04, .12, .28}, "KRRK": {0, 0},
}

type point struct{ z, weight float64 }

// plainLikelihood is E_z[p^k (1-p)^(n-k)].
func plainLikelihood(t progress.Tally, logit float64, points []point) *big.Float {
	sum := new(big.Float).SetPrec(200)
	for _, q := range points {
		p := 1 / (1 + math.Exp(-(logit + 0.12*q.z)))
		one := big.NewFloat(q.weight).SetPrec(200)
		for i := range t.N {
			if i < t.K {
				one.Mul(one, big.NewFloat(p))
			} else {
				one.Mul(one, big.NewFloat(1-p))
			}
		}
		sum.Add(sum, one)
	}
	return sum
}

func times(factors ...*big.Float) *big.Float {
	out := big.NewFloat(1).SetPrec(200)
	for _, f := range factors {
		out.Mul(out, f)
	}
	return out
}

// plainWeakest gives the posterior of each stage being the weak one.
func plainWeakest(code string, stages []progress.Tally) []float64 {
	five := []point{{0, .5333}, {1.3556, .2221}, {-1.3556, .2221}, {2.857, .0113}, {-2.857, .0113}}
	three := []point{{0, .54}, {1.3556, .23}, {-1.3556, .23}}
	deltas := []float64{0.7, 1.05, 1.4, 1.8, 2.3, 3.1}
	none := new(big.Float).SetPrec(200)
	weak := make([]*big.Float, len(stages))
	for s := range weak {
		weak[s] = new(big.Float).SetPrec(200)
	}
	for i := range 41 {
		theta := -5.5 + 0.2*float64(i)
		away := (theta + 2.2) / 1.2
		prior := big.NewFloat(math.Exp(-away * away / 2))
		l0, l1 := make([]*big.Float, len(stages)), make([]*big.Float, len(stages))
		for s, t := range stages {
			l0[s] = plainLikelihood(t, theta+hardness[code][s], five)
			l1[s] = new(big.Float).SetPrec(200)
			for _, d := range deltas {
				l1[s].Add(l1[s], times(plainLikelihood(t, theta+hardness[code][s]+d, three), big.NewFloat(1/float64(len(deltas)))))
			}
		}
		none.Add(none, times(append(l0, prior, big.NewFloat(.5))...))
		for s := range stages {
			one := times(prior, big.NewFloat(.5/float64(len(stages))), l1[s])
			for o := range stages {
				if o != s {
					one.Mul(one, l0[o])
				}
			}
			weak[s].Add(weak[s], one)
		}
	}
	total := new(big.Float).Copy(none)
	for _, w := range weak {
		total.Add(total, w)
	}
	out := make([]float64, len(stages))
	for s, w := range weak {
		out[s], _ = new(big.Float).Quo(w, total).Float64()
	}
	return out
}

// TestWeakestAgainstPlain: over random tallies the posterior is that of the
// plain rule, and so is the stage that it names.
func TestWeakestAgainstPlain(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(8, 8))
	named := 0
	for code, offsets := range hardness {
		for range 25 {
			stages := make([]progress.Tally, len(offsets))
			for s := range stages {
				stages[s].N = rng.IntN(60)
				share := []float64{0.05, 0.1, 0.5}[rng.IntN(3)]
				for range stages[s].N {
					if rng.Float64() < share {
						stages[s].K++
					}
				}
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
			b := stages[best]
			if want[best] < 0.70 || float64(b.K+1)/float64(b.N+4) < 0.15 {
				best = -1
			} else {
				named++
			}
			if f.Stage != best {
				t.Errorf("%s %v: names %d, by the plain rule %d (%.4f)", code, stages, f.Stage, best, f.Posterior)
			}
		}
	}
	if named < 10 {
		t.Errorf("only %d of the tallies name a stage", named)
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
			p := 1 / (1 + math.Exp(-(-2.2 + o)))
			stages[s] = progress.Tally{N: 300, K: int(math.Round(300 * p))}
		}
		if math.Abs(sum) > 1e-9 {
			t.Errorf("%s: the offsets sum to %g", code, sum)
		}
		if f := progress.Weakest(code, stages); f.Stage != -1 {
			t.Errorf("%s: a student like all others is called weak in %d: %+v", code, f.Stage, f)
		}
	}
}

// TestNamedWaits: a stage that shows in the last look only is not named yet.
func TestNamedWaits(t *testing.T) {
	t.Parallel()
	even, bad := []progress.Tally{{10, 1}, {10, 1}, {10, 1}}, []progress.Tally{{10, 0}, {40, 38}, {10, 0}}
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
	sum := progress.Sum([][]progress.Tally{{{1, 1}}, {{2, 0}, {3, 1}}, {}})
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
	const steps = 40_000
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
		{practice.Stalemates, .005, 2, .15, 2, []int{6, 20}},
		{practice.Hanging, .003, 2, .06, 2, []int{30, 120}},
		{practice.Checks, .05, 4, .25, 0, []int{12, 60}},
		{practice.KingHome, .25, 4, .75, 0, []int{12, 60}},
		{practice.Shuffling, .02, 4, .25, 0, []int{12, 60}},
	} {
		for _, n := range r.n {
			for k := 0; k <= n; k += max(1, n/12) {
				want := k >= r.least && above(r.s*r.m+float64(k), r.s*(1-r.m)+float64(n-k), r.r) >= 0.9
				got := progress.HabitOf(map[practice.Habit]practice.Tally{r.habit: {N: n, K: k}}) == r.habit
				if got != want {
					t.Errorf("%s, %d of %d: named is %v", r.habit, k, n, got)
				}
			}
		}
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
	if h := progress.HabitOf(nil); h != "" {
		t.Errorf("nothing is called %q", h)
	}
}
