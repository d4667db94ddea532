package store_test

import (
	"fmt"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/practice"
	"drover/store"
	"drover/store/storetest"
)

// everything is all parts of a record.
var everything = []store.Part{
	store.WithStages, store.WithMastery, store.WithTries, store.WithTasks, store.WithUnderWay,
	store.WithSeconds, store.WithPlayed, store.WithPlacement, store.WithSpent,
}

// TestRecordsTakeFixedQueries: the stage view of a club takes as many queries for twenty
// students as for two, and one student's record takes a fixed number too.
func TestRecordsTakeFixedQueries(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "fixed")
	counted, n, end, err := s.Counted(ctx, nil)
	if err != nil {
		t.Fatal(err)
	}
	defer end()
	asked := func() (all, one int64) {
		before := n.Load()
		if _, err := counted.StageTable(ctx, f.Coach, store.StageAsk{Page: 1}); err != nil {
			t.Fatal(err)
		}
		all = n.Load() - before
		if _, err := counted.RecordOf(ctx, f.Coach.Club, f.Student.Person, everything...); err != nil {
			t.Fatal(err)
		}
		return all, n.Load() - before - all
	}
	all, one := asked()
	task := f.Finish(t, s, practice.Practice, 6)
	for i := range 18 {
		added := club.NewStudent{Name: fmt.Sprint("Pupil ", i), ConsentBy: "A guardian",
			ConsentOn: time.Date(2026, 1, 5, 0, 0, 0, 0, time.UTC), Consent: true, Wording: 8}
		if _, err := s.AddStudent(ctx, f.Coach, added); err != nil {
			t.Fatal(err)
		}
		f.Played(t, s, task, i%6, 1+i/6, practice.Clean, time.Now().Add(-time.Hour), 20)
	}
	if again, oneAgain := asked(); again != all || oneAgain != one || all > 11 || one > 16 {
		t.Errorf("queries: %d and %d before, %d and %d with more students and games", all, one, again, oneAgain)
	}
}

// TestRecordHoldsWhatIsKnown: the record of a student holds what was set, tried, is
// under way and was played, and nothing of the neighbour.
func TestRecordHoldsWhatIsKnown(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "known")
	task := f.Finish(t, s, practice.Practice, 3)
	f.Played(t, s, task, 0, 1, practice.Clean, time.Now().Add(-time.Minute), 90)
	if _, err := s.Recheck(ctx, f.Student, rookMate, storetest.FinishStart, "longest"); err != nil {
		t.Fatal(err)
	}
	of, err := s.RecordOf(ctx, f.Coach.Club, f.Student.Person, everything...)
	if err != nil {
		t.Fatal(err)
	}
	if len(of.Tasks) != 2 || len(of.Tries) != 1 || len(of.Tries[0].Tries) != 1 || !of.Tries[0].Tries[0].Won ||
		len(of.Stages) != 1 || len(of.Played) != 1 || of.Played[0].Seconds != 90 || of.Rechecks[rookMate] == "" ||
		of.Placement != nil {
		t.Errorf("%+v", of)
	}
	other, err := s.RecordOf(ctx, f.Coach.Club, f.Student2.Person, everything...)
	if err != nil || len(other.Tasks) != 1 ||
		len(other.Tries)+len(other.Stages)+len(other.Played)+len(other.Rechecks) != 0 {
		t.Errorf("the neighbour: %+v, %v", other, err)
	}
	if _, err := s.RecordOf(ctx, f.Coach.Club+1, f.Student.Person); game.KindOf(err) != game.Missing {
		t.Errorf("from another club: %v", err)
	}
}
