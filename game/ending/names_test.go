package ending_test

import (
	"context"
	"slices"
	"strings"
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
	for code, want := range map[string]string{"KQK": "Queen", "KPK": "King and pawn", "KRKB": "Bishop against rook", "KNNK": "KNNK"} {
		if got := ending.NameOf(code); got != want {
			t.Errorf("%s is %q, want %q", code, got, want)
		}
	}
}

// TestTooFewStarts: how many were found is said as one says it.
func TestTooFewStarts(t *testing.T) {
	t.Parallel()
	plan, _ := ending.PlanOf("KQK")
	said := map[string]bool{}
	for _, n := range []int{2, 5, 24} {
		for par := 2; par <= 9; par++ {
			_, err := judge.Pick(context.Background(), plan, ending.Wanted{Stage: ending.Edge, Kind: ending.AtRandom, Least: par, Most: par, N: 24, Seed: int64(n)})
			if game.KindOf(err) == game.Bad {
				said[strings.Join(strings.Fields(game.Saying(err))[:3], " ")] = true
			}
		}
	}
	if said["Only 1 starts"] {
		t.Error("one start is said as several")
	}
	t.Log(said)
}
