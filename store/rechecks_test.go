package store_test

import (
	"slices"
	"testing"
	"time"

	"drover/game"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
	"drover/store/storetest"
)

var rookMate = progress.Key{Ending: "KRK", Stage: "mate"}

// TestBells: the game that makes a stage mastered writes the bell, in the club's
// own days; another student, another club and games of no test get none.
func TestBells(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f, other := storetest.Club(t, s, "bells"), storetest.Club(t, s, "other")
	scan[int](t, url, "with z as (update clubs set zone = 'Pacific/Auckland' where id = $1) select 1", f.Coach.Club)
	monday := time.Date(2026, 11, 2, 20, 0, 0, 0, time.UTC) // Tuesday morning in Auckland
	task, plain := f.Finish(t, s, practice.Test, 6), f.Finish(t, s, practice.Practice, 6)
	for i, r := range []practice.Result{practice.Clean, practice.Clean, practice.NotWon, practice.Clean, practice.Clean} {
		f.Played(t, s, task, i, 1, r, monday.Add(time.Duration(i)*time.Hour/2), 30) // to 22:00 in UTC
		f.Played(t, s, plain, i, 1, r, monday.Add(time.Duration(i)*time.Hour/2), 30)
	}
	f.Played(t, s, plain, 5, 1, practice.Clean, monday.AddDate(0, 0, 8), 30)
	of, err := s.RecordOf(ctx, f.Coach.Club, f.Student.Person, store.WithMastery, store.WithUnderWay)
	now := of.Mastery
	if err != nil || now[rookMate].Tested != progress.DayOf(monday)+1 || now[rookMate].Mastered != 0 {
		t.Fatalf("after the test: %+v, %v", now, err)
	}
	f.Played(t, s, task, 5, 1, practice.Clean, monday.AddDate(0, 0, 7), 30)
	for _, c := range []storetest.Fixture{f, other} {
		records, err := s.Records(ctx, c.Coach.Club)
		if err != nil {
			t.Fatal(err)
		}
		for _, of := range records {
			switch mine := of.Student.ID == f.Student.Person; {
			case mine && (of.Bells[rookMate] != progress.DayOf(monday)+8 || len(of.Bells) != 1):
				t.Fatalf("bells %v", of.Bells)
			case !mine && len(of.Bells) != 0:
				t.Errorf("bells of another: %v", of.Bells)
			}
		}
	}
	// Help that is noted afterwards changes the game and not the bell.
	scan[int](t, url, "with u as (update games set result = 'helped' where club_id = $1 and mode = 'test') select 1",
		f.Coach.Club)
	of, err = s.RecordOf(ctx, f.Coach.Club, f.Student.Person, store.WithMastery, store.WithUnderWay)
	if err != nil || of.Mastery[rookMate].Mastered == 0 {
		t.Errorf("after help was noted: %+v, %v", of.Mastery, err)
	}
}

// TestRecheck: the same re-check is given while it is under way, it belongs to
// no assignment, and it counts.
func TestRecheck(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "recheck")
	var ids []any
	for range 2 {
		id, err := s.Recheck(ctx, f.Student, rookMate, storetest.FinishStart, "longest")
		if err != nil {
			t.Fatal(err)
		}
		ids = append(ids, id)
	}
	if ids[0] != ids[1] {
		t.Errorf("two games: %v", ids)
	}
	info, err := s.Game(ctx, f.Coach.Club, scan[game.GameID](t, url, "select max(id) from games"))
	if err != nil || info.Kind != store.OfRecheck || info.Mode != practice.Test || info.From != "mate" ||
		info.To != "mate" || info.Task != 0 {
		t.Errorf("%+v, %v", info, err)
	}
	of, err := s.RecordOf(ctx, f.Coach.Club, f.Student.Person, store.WithMastery, store.WithUnderWay)
	if err != nil || of.Rechecks[rookMate] != storetest.FinishStart {
		t.Errorf("%v, %v", of.Rechecks, err)
	}
	if _, err := s.Recheck(ctx, f.Guardian, rookMate, storetest.FinishStart, "longest"); err == nil {
		t.Error("a guardian began a game")
	}
}

// TestBellsHaveOneOrder: all nodes write a game's bells in the same order, or two
// would wait for each other.
func TestBellsHaveOneOrder(t *testing.T) {
	t.Parallel()
	all, want := map[progress.Key]progress.Mastery{}, []progress.Key{}
	for _, code := range []string{"KBNK", "KPK", "KQK", "KRK"} {
		for _, stage := range []ending.Stage{"centralise", "corner", "edge", "mate"} {
			k := progress.Key{Ending: code, Stage: stage}
			all[k], want = progress.Mastery{}, append(want, k)
		}
	}
	for range 10 {
		if got := store.InOrder(all); !slices.Equal(got, want) {
			t.Fatalf("%v", got)
		}
	}
}
