package progress

import (
	"strings"
	"testing"

	"drover/game/ending"
)

// TestGuideNamesReadyDrills: against the usual failure of each stage there is a ready
// drill of that ending and kind, with a sentence that a child of eight can read.
func TestGuideNamesReadyDrills(t *testing.T) {
	t.Parallel()
	for _, g := range ending.Guides() {
		for _, step := range g.Steps {
			d, ok := ReadyAgainst(step.Drill, step.Stage, step.Against)
			if !ok || d.Ending != step.Drill || d.Kind != step.Against || d.Hold != g.Hold || d.Name == "" {
				t.Errorf("%s %s: no ready drill of %s with starts %q: %+v", g.Code, step.Stage, step.Drill, step.Against, d)
			}
			if step.Against == ending.AtRandom && d.From != step.Stage {
				t.Errorf("%s %s: %q begins in %s", g.Code, step.Stage, d.Name, d.From)
			}
			for _, sentence := range strings.Split(d.Trains, ". ") {
				if n := len(strings.Fields(sentence)); n > 12 {
					t.Errorf("%s: %d words: %q", d.Name, n, sentence)
				}
			}
		}
	}
	if _, ok := ReadyAgainst("KRK", ending.Corner, ending.WrongCorner); ok {
		t.Error("a drill that is not there is found")
	}
}
