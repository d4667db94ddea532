package store_test

import (
	"slices"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/practice"
	"drover/store"
	"drover/store/storetest"
)

// TestHoldsView counts hold drills by student and ending, the oldest first: those
// that were left, attacking games and other clubs are not in it, and the counts
// of lost attacks leave them out.
func TestHoldsView(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f, other := storetest.Club(t, s, "holds"), storetest.Club(t, s, "elsewhere")
	d := club.Drill{Ending: "KPK", Hold: true, Mode: practice.Practice,
		Starts: []string{"8/8/8/8/4k3/3p4/3K4/8 w - - 0 1"}, Rule: club.RuleOf(practice.Practice)}
	if err := d.Validate(); err != nil {
		t.Fatal(err)
	}
	var err error
	if d.ID, err = s.KeepDrill(ctx, f.Coach, d); err != nil {
		t.Fatal(err)
	}
	if back, err := s.Drill(ctx, f.Coach.Club, d.ID); err != nil || !back.Hold || back.Ending != "KPK" {
		t.Fatalf("%+v, %v", back, err)
	}
	task := club.Assignment{Drill: d}
	if task.ID, err = s.Assign(ctx, f.Coach, d.ID, []game.PersonID{f.Student.Person}, nil); err != nil {
		t.Fatal(err)
	}
	at := time.Now().Add(-24 * time.Hour)
	for i, c := range []struct {
		end    practice.End
		result practice.Result
	}{{practice.LetGo, practice.NotHeld}, {practice.HeldOut, practice.WonHelped}, {practice.Abandoned, practice.NotHeld},
		{practice.Dead, practice.Clean}} {
		ended := at.Add(time.Duration(i) * time.Hour)
		err := s.Import(ctx, f.Coach, []store.Record{{
			Task: task, Try: i + 1, Began: ended.Add(-time.Minute),
			State: practice.State{Setup: practice.Setup{Student: f.Student.Person, Mode: d.Mode, Task: practice.Hold{}},
				End:  c.end,
				Acts: []practice.Act{{Seq: 1, Kind: practice.Resign, By: f.Student.Person, At: ended, End: c.end}}},
			Outcome: practice.Outcome{Task: practice.Hold{}, End: c.end, Result: c.result, Moves: 4},
		}})
		if err != nil {
			t.Fatal(err)
		}
	}
	cells, err := s.HoldsView(ctx, f.Coach, store.StageAsk{})
	if err != nil || len(cells) != 1 || cells[0].Ending != "KPK" || cells[0].Held != 2 ||
		!slices.Equal(cells[0].Alone, []bool{false, false, true}) {
		t.Errorf("%+v, %v", cells, err)
	}
	if cells, err := s.HoldsView(ctx, other.Coach, store.StageAsk{}); err != nil || len(cells) != 0 {
		t.Errorf("of the other club: %+v, %v", cells, err)
	}
	if failures, err := s.Failures(ctx, f.Coach, 0); err != nil || len(failures) != 0 {
		t.Errorf("hold drills among lost attacks: %+v, %v", failures, err)
	}
}
