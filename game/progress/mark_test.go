package progress_test

import (
	"testing"

	"drover/game/progress"
)

// TestMarkOf: reached means done alone three times in the last five games, the
// oldest first; older games count for nothing.
func TestMarkOf(t *testing.T) {
	t.Parallel()
	for games, want := range map[string]progress.Mark{
		"": progress.NotBegun, "-": progress.InWork, "+": progress.InWork, "++": progress.InWork, "+++": progress.Reached,
		"+-+-+": progress.Reached, "-----": progress.InWork, "++---": progress.InWork, "+++++-----": progress.InWork,
		"-----+++": progress.Reached, "+++---": progress.InWork, "+++--": progress.Reached, "--+++": progress.Reached,
		"+++--+-": progress.InWork,
	} {
		var clean []bool
		for _, g := range games {
			clean = append(clean, g == '+')
		}
		if got := progress.MarkOf(clean, false); got != want {
			t.Errorf("%q is %d, want %d", games, got, want)
		}
		if got := progress.MarkOf(clean, true); got != progress.Mastered {
			t.Errorf("%q with a bell is %d", games, got)
		}
	}
}
