package progress_test

import (
	"math"
	"math/big"
	"math/rand/v2"
	"testing"

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
	if len(sum) != 2 || sum[0].N != 3 || sum[0].K != 1 || sum[1].N != 3 || sum[1].K != 1 {
		t.Errorf("%v", sum)
	}
	if progress.Sum(nil) != nil {
		t.Error("nothing adds up to something")
	}
}
