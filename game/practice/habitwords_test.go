package practice_test

import (
	"strings"
	"testing"

	"drover/game/ending"
	"drover/game/practice"
)

// TestAimsAreShort: what a child keeps in mind has eight words or fewer, against each
// habit and in each stage.
func TestAimsAreShort(t *testing.T) {
	t.Parallel()
	aims := map[string]string{}
	for _, h := range practice.Habits() {
		aims[string(h)] = h.Aim()
		if h.Name() == "" || h.Plain() == "" || !strings.Contains(h.Counts(3, 7), "3 of 7") || h.Done(true) == h.Done(false) {
			t.Errorf("%s: %s, %s, %s", h, h.Name(), h.Plain(), h.Counts(3, 7))
		}
	}
	for _, plan := range ending.Taught() {
		for _, step := range plan.Steps {
			aims[string(step.Stage)] = step.Stage.KeepInMind()
		}
	}
	for of, aim := range aims {
		if n := len(strings.Fields(aim)); n == 0 || n > 8 || !strings.HasSuffix(aim, ".") {
			t.Errorf("%s: %q has %d words", of, aim, n)
		}
	}
}
