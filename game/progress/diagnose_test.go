package progress_test

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"drover/game/practice"
	"drover/game/progress"
)

// usually is what is offered on an average move of a rook ending, in
// thousandths by class of move: measured over healthy simulated students.
var usually = [practice.Classes]int{120, 200, 480, 80, 10, 110}

// draws is how much each class draws a careless student here.
var draws = [practice.Classes]float64{1, .6, .4, .17, .019, .019}

// chances are those of each class of move for a student who is careless in a
// share of the moves, and lost in another, among moves as offered.
func chances(offered [practice.Classes]int, careless, lost float64) [practice.Classes]float64 {
	all, drawn := 0.0, 0.0
	for c, o := range offered {
		all += float64(o)
		drawn += float64(o) * draws[c]
	}
	var p [practice.Classes]float64
	for c, o := range offered {
		p[c] = (1-lost)*careless*float64(o)*draws[c]/drawn + lost*float64(o)/all
	}
	p[0] += (1 - lost) * (1 - careless)
	return p
}

// played is n moves as offered, made at the chances, rounded so that n remain.
func played(n int, offered [practice.Classes]int, p [practice.Classes]float64) progress.Tally {
	t := progress.Tally{N: n}
	left, due := n, 0.0
	for c := practice.Classes - 1; c >= 0; c-- {
		t.Weights.Offered[c] = n * offered[c]
		due += p[c] * float64(n)
		made := min(int(due+.5), left)
		if c == 0 {
			made = left
		}
		due -= float64(made)
		left -= made
		t.Weights.Made[c] = made
		if c >= 2 {
			t.K += made
		}
	}
	return t
}

// own is n moves of a student who is careless and lost in shares of them.
func own(n int, careless, lost float64) progress.Tally {
	return played(n, usually, chances(usually, careless, lost))
}

// TestWeakest: a stage in which far more is lost than in the others is named;
// equal shares, few moves and a beginner who is weak everywhere name none.
func TestWeakest(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		stages []progress.Tally
		want   int
	}{
		"third":                {[]progress.Tally{own(60, .15, 0), own(60, .15, 0), own(80, .15, .4), own(40, .15, 0)}, 2},
		"first":                {[]progress.Tally{own(60, .2, .5), own(60, .2, 0), own(80, .2, 0), own(40, .2, 0)}, 0},
		"last, a beginner":     {[]progress.Tally{own(90, .5, 0), own(90, .5, 0), own(90, .5, 0), own(90, .5, .6)}, 3},
		"even":                 {[]progress.Tally{own(60, .2, 0), own(60, .2, 0), own(80, .2, 0), own(40, .2, 0)}, -1},
		"beginner":             {[]progress.Tally{own(60, .6, 0), own(60, .6, 0), own(80, .6, 0), own(40, .6, 0)}, -1},
		"weak everywhere":      {[]progress.Tally{own(60, .3, .4), own(60, .3, .4), own(80, .3, .4), own(40, .3, .4)}, -1},
		"a little uneven":      {[]progress.Tally{own(60, .15, 0), own(60, .15, 0), own(80, .25, 0), own(40, .15, 0)}, -1},
		"one lost man":         {[]progress.Tally{own(60, .15, 0), own(60, .15, 0), own(80, .15, .02), own(40, .15, 0)}, -1},
		"too few":              {[]progress.Tally{own(4, .2, 0), own(4, .2, 0), own(4, .2, .4), {}}, -1},
		"nothing":              {make([]progress.Tally, 4), -1},
		"no stages":            {nil, -1},
		"rows without weights": {[]progress.Tally{{N: 60, K: 3}, {N: 60, K: 3}, {N: 80, K: 60}, {N: 40, K: 3}}, -1},
	} {
		f := progress.Weakest("", c.stages)
		if f.Stage != c.want || f.Posterior < 0 || f.Posterior > 1 || math.IsNaN(f.Posterior) {
			t.Errorf("%s: %+v, want stage %d", name, f, c.want)
		}
		if f.Stage >= 0 && (f.N != c.stages[f.Stage].N || f.K != c.stages[f.Stage].K) {
			t.Errorf("%s: %d of %d said, counted %+v", name, f.K, f.N, c.stages[f.Stage])
		}
	}
}

// TestBadShare: a stage is named only where enough of its moves are bad, three of twenty
// with one bad and four moves added, however sure it is that it is the weakest.
func TestBadShare(t *testing.T) {
	t.Parallel()
	good, weak := own(200, .1, 0), own(60, .1, .5)
	for n, stage := range map[int]int{15: 1, 16: 1, 17: -1} {
		weak.N, weak.K = n, 2
		if f := progress.Weakest("KRK", []progress.Tally{good, weak, good}); f.Stage != stage || f.Posterior < .9 {
			t.Errorf("2 bad moves of %d: %+v", n, f)
		}
	}
}

// TestNamedFromSeventy: a stage is named where it is the weakest with seven chances in ten,
// and not a little below.
func TestNamedFromSeventy(t *testing.T) {
	t.Parallel()
	below, above := 0.0, 1.0
	for n := 4; n <= 120; n++ {
		for _, lost := range []float64{.05, .1, .15, .2, .25, .3} {
			weak := own(n, .2, lost)
			weak.K = n // enough of them are bad
			f := progress.Weakest("KRK", []progress.Tally{own(100, .2, .02), weak, own(100, .2, .02)})
			if (f.Stage >= 0) != (f.Posterior >= .7) {
				t.Errorf("%d moves, %.2f lost: %+v", n, lost, f)
			}
			if f.Posterior < .7 {
				below = max(below, f.Posterior)
			} else {
				above = min(above, f.Posterior)
			}
		}
	}
	if below < .69 || above > .71 {
		t.Errorf("nothing lies between %.3f and %.3f, so this shows little", below, above)
	}
}

// TestWeakestIsHard: moves among which hardly one is good are held against
// nobody, though they go wrong three times as often as elsewhere.
func TestWeakestIsHard(t *testing.T) {
	t.Parallel()
	easy, hard := [practice.Classes]int{700, 100, 100, 20, 10, 70}, [practice.Classes]int{30, 50, 700, 100, 10, 110}
	stages := []progress.Tally{
		played(100, easy, chances(easy, .3, 0)), played(100, hard, chances(hard, .3, 0)),
		played(100, easy, chances(easy, .3, 0)),
	}
	if stages[1].K < 3*stages[0].K {
		t.Fatalf("%d and %d bad moves: no contrast", stages[0].K, stages[1].K)
	}
	if f := progress.Weakest("", stages); f.Stage != -1 {
		t.Errorf("named %+v", f)
	}
	stages[1] = played(100, easy, chances(hard, .3, 0)) // as bad among easy moves
	if f := progress.Weakest("", stages); f.Stage != 1 {
		t.Errorf("the same among easy moves: %+v", f)
	}
}

// TestWeakestGrows: the more of a stage is lost, and the more moves there are of
// it, the surer the rule.
func TestWeakestGrows(t *testing.T) {
	t.Parallel()
	for _, by := range []struct {
		name  string
		stage func(i int) []progress.Tally
	}{
		{"share", func(i int) []progress.Tally {
			return []progress.Tally{own(80, .2, 0), own(80, .2, .1+.08*float64(i)), own(80, .2, 0)}
		}},
		{"moves", func(i int) []progress.Tally {
			n := 10 + 15*i
			return []progress.Tally{own(n, .2, 0), own(n, .2, .4), own(n, .2, 0)}
		}},
	} {
		last, named := 0.0, false
		for i := range 8 {
			f := progress.Weakest("KRK", by.stage(i))
			if f.Posterior < last-.03 || named && f.Stage != 1 {
				t.Errorf("%s, step %d: %+v after %.3f", by.name, i, f, last)
			}
			last, named = f.Posterior, f.Stage == 1
		}
		if !named {
			t.Errorf("%s: never named", by.name)
		}
	}
}

// TestWeakestIsFair: which stage is weak decides nothing but the name.
func TestWeakestIsFair(t *testing.T) {
	t.Parallel()
	stages := []progress.Tally{own(70, .2, .35), own(70, .2, 0), own(70, .2, 0)}
	for s := range stages {
		turned := slices.Clone(stages)
		turned[0], turned[s] = turned[s], turned[0]
		f, first := progress.Weakest("", turned), progress.Weakest("", stages)
		if f.Stage != s || math.Abs(f.Posterior-first.Posterior) > 1e-9 {
			t.Errorf("weak in %d: %+v, in 0 %+v", s, f, first)
		}
	}
}

// TestNamed: the first look is after the fifth game, and two looks must agree.
func TestNamed(t *testing.T) {
	t.Parallel()
	weak := []progress.Tally{own(12, .15, 0), own(14, .15, .5), own(12, .15, 0)}
	var games [][]progress.Tally
	for n := 1; n <= 7; n++ {
		games = append(games, weak)
		f, missing := progress.Named("KRK", games)
		if missing != max(0, progress.Enough-n) || (f.Stage == 1) != (n > progress.Enough) {
			t.Errorf("after %d games: %+v, %d missing", n, f, missing)
		}
	}
}

// TestNextStage: the next game starts where the fewest own moves were seen.
func TestNextStage(t *testing.T) {
	t.Parallel()
	for want, stages := range [][]progress.Tally{
		{{N: 3}, {N: 3}, {N: 3}}, {{N: 30}, {N: 10}, {N: 20}}, {{N: 9}, {N: 8}, {}},
	} {
		if got := progress.NextStage(stages); got != want {
			t.Errorf("%v: stage %d", stages, got)
		}
	}
	if got := progress.NextStage(nil); got != 0 {
		t.Errorf("without games: stage %d", got)
	}
}

// TestFit finds the constants again from which the moves were drawn.
func TestFit(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(3, 9))
	harder := []float64{.3, -.1, -.2}
	var samples []progress.Sample
	for range 60 {
		theta := -2 + 1.5*rng.Float64()
		s := progress.Sample{Ending: "KRK", Stages: make([]progress.Tally, len(harder))}
		for i, h := range harder {
			offered := usually
			offered[0] += 100 * i
			p := chances(offered, 1/(1+math.Exp(-theta-h)), 0)
			for range 400 {
				c, left := 0, rng.Float64()
				for c = range p {
					if left -= p[c]; left < 0 {
						break
					}
				}
				s.Stages[i].N++
				s.Stages[i].Weights.Made[c]++
				for k := range offered {
					s.Stages[i].Weights.Offered[k] += offered[k]
				}
			}
		}
		samples = append(samples, s)
	}
	f := progress.Fit(samples)
	for c, want := range draws {
		if math.Abs(f.Attraction[c]-want) > .015+.08*want {
			t.Errorf("class %d draws %.3f, want %.3f", c, f.Attraction[c], want)
		}
	}
	for i, want := range harder {
		if math.Abs(f.Offsets["KRK"][i]-want) > .06 {
			t.Errorf("stage %d is harder by %.3f, want %.3f", i, f.Offsets["KRK"][i], want)
		}
	}
}
