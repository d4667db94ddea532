package main

import (
	"bytes"
	"context"
	"encoding/json"
	"strings"
	"testing"

	"drover/game/cohort"
)

// TestCohortCure: the command prints a line for each ending and number of games, then the
// totals; the same seed prints the same, and a kind that there is not is refused.
func TestCohortCure(t *testing.T) {
	t.Parallel()
	command := func(args ...string) (string, string, int) {
		var out, errs bytes.Buffer
		status := run(context.Background(), append([]string{"cohort", "--cure", "--students=1"}, args...),
			streams{strings.NewReader(""), &out, &errs})
		return out.String(), errs.String(), status
	}
	out, _, status := command("--kind=stalemates", "--seed=5")
	lines := strings.Split(strings.TrimSpace(out), "\n")
	if status != 0 || len(lines) != 2*len(cohort.Looks()) {
		t.Fatalf("status %d, %d lines: %s", status, len(lines), out)
	}
	var share cohort.CureShare
	if err := json.Unmarshal([]byte(lines[1]), &share); err != nil || share.Kind != "stalemates" || share.Ending != "KQK" ||
		share.Games != 10 || share.Gain.Mean < 2 || share.Captured.Mean < .9 {
		t.Errorf("%+v, %v", share, err)
	}
	var total cohort.CureTotal
	if err := json.Unmarshal([]byte(lines[len(lines)-1]), &total); err != nil || !total.Total || total.Students != 1 {
		t.Errorf("%+v, %v", total, err)
	}
	if again, _, _ := command("--kind=stalemates", "--seed=5"); again != out {
		t.Error("the same seed prints something else")
	}
	if _, said, status := command("--kind=nobody"); status == 0 || !strings.Contains(said, `no kind of student called "nobody"`) {
		t.Errorf("status %d: %s", status, said)
	}
}
