package progress_test

import (
	"math"
	"testing"

	"drover/game/practice"
	"drover/game/progress"
)

// TestWeakest: a stage with far more bad moves than the others is named; equal
// shares, few moves and a beginner who is weak everywhere name none.
func TestWeakest(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		stages []progress.Tally
		want   int
	}{
		"third":           {[]progress.Tally{{60, 3}, {60, 3}, {80, 32}, {40, 3}}, 2},
		"first":           {[]progress.Tally{{60, 25}, {60, 4}, {80, 7}, {40, 5}}, 0},
		"even":            {[]progress.Tally{{60, 4}, {60, 5}, {80, 8}, {40, 5}}, -1},
		"weak everywhere": {[]progress.Tally{{60, 28}, {60, 33}, {80, 47}, {40, 26}}, -1},
		"too few":         {[]progress.Tally{{4, 0}, {4, 0}, {4, 1}, {0, 0}}, -1},
		"nothing":         {[]progress.Tally{{0, 0}, {0, 0}, {0, 0}, {0, 0}}, -1},
	} {
		f := progress.Weakest("KBNK", c.stages)
		if f.Stage != c.want || f.Posterior < 0 || f.Posterior > 1 || math.IsNaN(f.Posterior) {
			t.Errorf("%s: %+v, want stage %d", name, f, c.want)
		}
	}
}

// TestNamed: the first look is after the fifth game, and two looks must agree.
func TestNamed(t *testing.T) {
	t.Parallel()
	weak := []progress.Tally{{8, 0}, {10, 5}, {8, 0}}
	var games [][]progress.Tally
	for n := 1; n <= 7; n++ {
		games = append(games, weak)
		f, missing := progress.Named("KRK", games)
		if missing != max(0, progress.Enough-n) || (f.Stage == 1) != (n > progress.Enough) {
			t.Errorf("after %d games: %+v, %d missing", n, f, missing)
		}
	}
}

// TestHabitOf: each habit is named from its own tallies, and a healthy mixture
// names none.
func TestHabitOf(t *testing.T) {
	t.Parallel()
	healthy := map[practice.Habit]practice.Tally{
		practice.Stalemates: {N: 30, K: 0}, practice.Hanging: {N: 150, K: 1}, practice.Checks: {N: 80, K: 6}, practice.KingHome: {N: 60, K: 20},
		practice.WrongCorner: {N: 20, K: 3}, practice.Elsewhere: {N: 120, K: 14}, practice.Shuffling: {N: 200, K: 4}, practice.Costly: {N: 200, K: 18},
	}
	if h := progress.HabitOf(healthy); h != "" {
		t.Errorf("healthy is called %q", h)
	}
	for h, bad := range map[practice.Habit]practice.Tally{
		practice.Stalemates: {N: 12, K: 5}, practice.Hanging: {N: 100, K: 15}, practice.Checks: {N: 60, K: 30}, practice.KingHome: {N: 60, K: 55},
		practice.WrongCorner: {N: 30, K: 22}, practice.Shuffling: {N: 200, K: 90},
	} {
		one := progress.SumHabits(healthy)
		one[h] = bad
		if got := progress.HabitOf(one); got != h {
			t.Errorf("%v of %q is called %q", bad, h, got)
		}
	}
}
