package store_test

import (
	"testing"
	"time"

	"drover/game/practice"
	"drover/store/storetest"
)

// TestGridCountsStarts: a cell has a bar for each start, as it was played best.
func TestGridCountsStarts(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "bars")
	task := f.Finish(t, s, practice.Guided, 3)
	now := time.Now()
	f.Played(t, s, task, 0, 1, practice.OverPar, now, 60)
	f.Played(t, s, task, 0, 2, practice.Clean, now, 60)
	f.Played(t, s, task, 1, 1, practice.OverPar, now, 60)
	f.Played(t, s, task, 2, 1, practice.NotWon, now, 60)
	g, err := s.SetGrid(ctx, f.Coach, 0, false)
	if err != nil {
		t.Fatalf("%+v", err)
	}
	for _, c := range g.Cells {
		if c.Task == task.ID && (len(c.Bars) != 3 || c.Bars[0] != 2 || c.Bars[1] != 1 || c.Bars[2] != 0 || !c.Begun || c.Passed) {
			t.Errorf("%+v", c)
		}
	}
	if len(g.Rows) != 2 || len(g.Tasks) != 3 || len(g.Cells) != 3 {
		t.Errorf("%d students, %d drills, %d cells", len(g.Rows), len(g.Tasks), len(g.Cells))
	}
}
