package cohort

import (
	"testing"

	"drover/game/progress"
)

// TestTruth: a weakness has a true stage where most of its moves fell; strictly,
// only if it strikes there more often than elsewhere.
func TestTruth(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		planted, moves     []int
		want, wantByNumber int
	}{
		"one stage":        {[]int{0, 40, 2}, []int{50, 100, 60}, 1, 1},
		"too few":          {[]int{0, 19, 0}, []int{50, 100, 60}, -1, -1},
		"spread":           {[]int{10, 40, 20}, []int{50, 100, 60}, -1, -1},
		"as often":         {[]int{80, 20, 0}, []int{200, 50, 0}, -1, 0},
		"hardly oftener":   {[]int{80, 20, 0}, []int{200, 90, 0}, -1, 0},
		"twice as often":   {[]int{80, 20, 0}, []int{200, 100, 0}, 0, 0},
		"nothing to hold":  {[]int{80, 0, 0}, []int{200, 10, 0}, -1, 0},
		"none, no moves":   {[]int{0, 0, 0}, []int{0, 0, 0}, -1, -1},
		"the last of all":  {[]int{1, 2, 30}, []int{80, 80, 80}, 2, 2},
		"seven out of ten": {[]int{12, 28, 0}, []int{100, 60, 20}, 1, 1},
	} {
		row := make([]progress.Tally, len(c.moves))
		for i, n := range c.moves {
			row[i].N = n
		}
		s := season{games: [][]progress.Tally{row}, planted: c.planted}
		if got, by := s.truth(true), s.truth(false); got != c.want || by != c.wantByNumber {
			t.Errorf("%s: stage %d, by number %d; want %d and %d", name, got, by, c.want, c.wantByNumber)
		}
	}
}
