package store_test

import (
	"strings"
	"testing"
	"time"

	"drover/game/practice"
	"drover/store"
	"drover/store/storetest"
)

// TestImportRefusesWhatDoesNotFit: a number that the log's column cannot hold
// fails the import; it is not bent until it fits.
func TestImportRefusesWhatDoesNotFit(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "import")
	task := f.Finish(t, s, practice.Practice, 1)
	for name, act := range map[string]practice.Act{
		"seq": {Seq: 1<<16 + 1, Kind: practice.Helped}, "cost": {Seq: 1, Kind: practice.Move, Cost: 1<<16 + 1},
		"took": {Seq: 1, Kind: practice.Move, Took: 1<<32 + 1},
	} {
		act.By, act.At, act.Client = f.Student.Person, time.Now(), "c"
		err := s.Import(ctx, f.Coach, []store.Record{{Task: task, Try: 1, Began: time.Now(), State: practice.State{
			Setup: practice.Setup{Student: f.Student.Person, Mode: practice.Practice}, Acts: []practice.Act{act},
		}}})
		if err == nil || !strings.Contains(err.Error(), "import acts") {
			t.Errorf("%s: %v", name, err)
		}
	}
}
