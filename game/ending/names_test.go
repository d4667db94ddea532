package ending_test

import (
	"context"
	"fmt"
	"slices"
	"testing"

	"drover/game"
	"drover/game/ending"
)

// TestStagesAreInTeachingOrder: the list has every stage of every plan once, and
// no plan goes through two of them the other way round.
func TestStagesAreInTeachingOrder(t *testing.T) {
	t.Parallel()
	all := ending.Stages()
	used := map[ending.Stage]bool{}
	for _, plan := range ending.Taught() {
		at := -1
		for _, step := range plan.Steps {
			next := slices.Index(all, step.Stage)
			if next <= at {
				t.Errorf("%s: %s stands at %d, the one before at %d", plan.Code, step.Stage, next, at)
			}
			at, used[step.Stage] = next, true
		}
	}
	if len(used) != len(all) {
		t.Errorf("%d stages are listed, %d are taught", len(all), len(used))
	}
}

// TestNameOf: an ending that is won, one that is held, and one that has no name.
func TestNameOf(t *testing.T) {
	t.Parallel()
	for code, want := range map[string]string{"KQK": "Queen", "KPK": "King and pawn", "KRKB": "Bishop against rook",
		"KNNK": "KNNK"} {
		if got := ending.NameOf(code); got != want {
			t.Errorf("%s is %q, want %q", code, got, want)
		}
	}
}

// TestTooFewStarts: how many were found is said as one says it. Hardly any queen
// ending takes ten moves.
func TestTooFewStarts(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		code, say string
		stage     ending.Stage
		par       int
		seed      int64
	}{
		{"KQK", "Only one start of that kind was found, not 24. Ask for fewer.", ending.Edge, 10, 1},
		{"KBBK", "Only 2 starts of that kind were found, not 24. Ask for fewer.", ending.Centralise, 19, 2},
		{"KQK", "No start with a par of 11 or more was found here. " +
			"Par is 4 to 10 in the starts of this stage that were looked at. Write numbers within that.", ending.Edge, 11, 1},
	} {
		plan, _ := ending.PlanOf(c.code)
		_, err := judge.Pick(context.Background(), plan, ending.Wanted{Stage: c.stage, Kind: ending.AtRandom, Least: c.par,
			N: 24, Seed: c.seed})
		if got := game.Saying(err); game.KindOf(err) != game.Bad || got != c.say {
			t.Errorf("%s in %d moves: %q, want %q", c.code, c.par, got, c.say)
		}
	}
}

// TestPenOfOneSquare is said as one says it.
func TestPenOfOneSquare(t *testing.T) {
	t.Parallel()
	for n, want := range map[int]string{1: "His pen has 1 square.", 2: "His pen has 2 squares."} {
		f := ending.Facts{Grade: ending.OnCourse, PenIs: n}
		if got := f.Sentences(); len(got) != 1 || got[0] != want {
			t.Errorf("%d: %q", n, got)
		}
	}
}

// TestPenIsSaidWhereThereIsOne: a good move is told by his pen from one square to the most
// that is drawn; where he has none, or one that is no pen, by the squares that he can step to.
func TestPenIsSaidWhereThereIsOne(t *testing.T) {
	t.Parallel()
	for pen, want := range map[int]string{
		0: "He can step to 3 squares.", 1: "His pen has 1 square.",
		ending.OpenPen:     fmt.Sprintf("His pen has %d squares.", ending.OpenPen),
		ending.OpenPen + 1: "He can step to 3 squares.",
	} {
		f := ending.Facts{Grade: ending.OnCourse, PenIs: pen, Steps: 3}
		if said := f.Sentences(); len(said) != 1 || said[0] != want {
			t.Errorf("a pen of %d: %q, want %q", pen, said, want)
		}
	}
}
