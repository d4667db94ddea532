package progress

import (
	"slices"
	"testing"

	"drover/game/ending"
)

// TestReadyPlansHaveReadyDrills: each week of a ready plan is a ready drill, no drill comes
// twice in a plan, and there are three plans of twelve weeks.
func TestReadyPlansHaveReadyDrills(t *testing.T) {
	t.Parallel()
	var codes []string
	for _, r := range readyRows() {
		codes = append(codes, r.Code)
	}
	for level := Beginning; level <= Sure; level++ {
		plan := ReadyPlan(level)
		seen := map[string]bool{}
		for _, code := range plan {
			if !slices.Contains(codes, code) || seen[code] {
				t.Errorf("level %d: %s is no ready drill, or comes twice", level, code)
			}
			seen[code] = true
		}
		if len(plan) != 12 {
			t.Errorf("level %d has %d weeks", level, len(plan))
		}
	}
}

// TestNextReadyIsTaughtBackwards: of an ending the last stage that is not reached comes
// first, and the test when all are.
func TestNextReadyIsTaughtBackwards(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		code, want string
		reached    []ending.Stage
	}{
		{"KRK", "KRK-mate", nil},
		{"KRK", "KRK-edge", []ending.Stage{ending.Mate}},
		{"KRK", "KRK-mate", []ending.Stage{ending.Edge}},
		{"KRK", "KRK-test", []ending.Stage{ending.Mate, ending.Edge, ending.Centralise}},
		{"KPK", "KPK-escort", nil},
		{"KPK", "KPK-front", []ending.Stage{ending.Escort}},
	} {
		marks := map[Key]Mark{}
		for _, s := range c.reached {
			marks[Key{Ending: c.code, Stage: s}] = Reached
		}
		if got, ok := NextReady(c.code, marks); !ok || got != c.want {
			t.Errorf("%s with %v: %s", c.code, c.reached, got)
		}
	}
	if _, ok := NextReady("KXK", nil); ok {
		t.Error("an ending that is not taught has a drill")
	}
}
