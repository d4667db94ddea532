package progress_test

import (
	"math"
	"testing"

	"drover/game/progress"
)

// course makes games of a text: '|' is clean, '.' is not.
func course(text string) []bool {
	out := make([]bool, len(text))
	for i, c := range text {
		out[i] = c == '|'
	}
	return out
}

func TestTurnOf(t *testing.T) {
	for _, c := range []struct {
		games string
		want  progress.Turn
	}{
		{"", progress.Turn{}},
		{"...||", progress.Turn{}}, // five games say nothing
		{"...|||", progress.Turn{Trend: progress.Rising, Was: 0, Is: 3, Half: 3}},
		{"..|||", progress.Turn{}},
		{"|...|||", progress.Turn{Trend: progress.Rising, Was: 0, Is: 3, Half: 3}}, // the odd one is left out
		{"|||||.....", progress.Turn{Trend: progress.Falling, Was: 5, Is: 0, Half: 5}},
		{"|||||..|.|", progress.Turn{Trend: progress.Falling, Was: 5, Is: 2, Half: 5}},
		{"|||||.||.|", progress.Turn{Was: 5, Is: 3, Half: 5}},                                // two fewer is chance
		{"......|||||.....", progress.Turn{Trend: progress.Falling, Was: 5, Is: 0, Half: 5}}, // the last ten alone
	} {
		if got := progress.TurnOf(course(c.games)); got != c.want {
			t.Errorf("%q: %+v, want %+v", c.games, got, c.want)
		}
	}
}

// TestTrendByChance: a student who stays the same shows a trend in at most 11 of 100 stages,
// whatever the strength. Every course of games is weighed with its chance, so that the figure
// is exact; at one half it is the two tails of a binomial distribution of ten, 2 * 56 / 1024
// (any table of the binomial distribution has it).
func TestTrendByChance(t *testing.T) {
	for _, n := range []int{6, 7, 8, 9, 10} {
		for _, strength := range []float64{.1, .3, .5, .7, .9} {
			chance := 0.0
			games := make([]bool, n)
			for way := range 1 << n {
				p := 1.0
				for i := range games {
					if games[i] = way>>i&1 == 1; games[i] {
						p *= strength
					} else {
						p *= 1 - strength
					}
				}
				if progress.TurnOf(games).Trend != progress.Steady {
					chance += p
				}
			}
			if chance > .11 {
				t.Errorf("%d games at %.1f: a trend by chance in %.3f", n, strength, chance)
			}
			if want := 2. * (45 + 10 + 1) / 1024; n == 10 && strength == .5 && math.Abs(chance-want) > 1e-9 {
				t.Errorf("ten games at one half: %.5f, want %.5f", chance, want)
			}
		}
	}
}
