package practice_test

import (
	"fmt"
	"testing"

	"drover/game/practice"
)

// TestFaults: a stage that was not clean says why, one that was clean says nothing.
func TestFaults(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		row     practice.StageResult
		dearest int
		want    []practice.Fault
	}{
		"clean":             {practice.StageResult{Moves: 6, Par: 4, Completed: true, Clean: true}, 2, nil},
		"not finished":      {practice.StageResult{Moves: 2, Par: 4}, 0, []practice.Fault{practice.Unfinished}},
		"a move too many":   {practice.StageResult{Moves: 7, Par: 4, Completed: true}, 2, []practice.Fault{practice.TooLong}},
		"a dear move":       {practice.StageResult{Moves: 6, Par: 4, Completed: true}, 3, []practice.Fault{practice.TooDear}},
		"nothing else seen": {practice.StageResult{Moves: 6, Par: 4, Completed: true}, 2, []practice.Fault{practice.TooStuck}},
		"all at once": {practice.StageResult{Moves: 16, Par: 9, Helps: 1}, 5,
			[]practice.Fault{practice.Unfinished, practice.Aided, practice.TooLong, practice.TooDear}},
	} {
		if got := c.row.Faults(c.dearest); fmt.Sprint(got) != fmt.Sprint(c.want) {
			t.Errorf("%s: %v, want %v", name, got, c.want)
		}
	}
	for par, want := range map[int]int{1: 3, 2: 4, 4: 6, 5: 8, 9: 14} {
		if got := practice.CleanMoves(par); got != want {
			t.Errorf("of %d: %d moves are clean, want %d", par, got, want)
		}
	}
}
