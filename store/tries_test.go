package store_test

import (
	"reflect"
	"slices"
	"testing"
	"time"

	"drover/game"
	"drover/game/ending"
	"drover/game/practice"
	"drover/store"
	"drover/store/storetest"
)

// TestNextGame: who comes from a start gets the next one that is not won, and an earlier one
// where there is none after it.
func TestNextGame(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "next")
	task := f.Finish(t, s, practice.Practice, 4)
	f.Played(t, s, task, 2, 1, practice.Clean, time.Now().Add(-time.Hour), 30)
	for i, c := range []struct{ from, to int }{{-1, 0}, {0, 1}, {1, 3}, {3, 0}} {
		id, err := s.NextGame(ctx, f.Student, store.GameInfo{Task: task.ID, Start: c.from})
		if err != nil {
			t.Fatal(err)
		}
		info, err := s.Game(ctx, f.Coach.Club, id)
		if err != nil || info.Start != c.to || info.Task != task.ID {
			t.Errorf("from start %d to %d, want %d (%v)", c.from, info.Start, c.to, err)
		}
		if again, err := s.StartGame(ctx, f.Student, task.ID); err != nil || again != id {
			t.Errorf("the game that goes on: %d, not %d (%v)", again, id, err)
		}
		lost(t, s, f, id, i)
	}
	if _, err := s.NextGame(ctx, f.Student2, store.GameInfo{Task: task.ID}); game.KindOf(err) != game.Missing {
		t.Errorf("another student's assignment: %v", err)
	}
}

// lost ends a game as not won.
func lost(t *testing.T, s *store.Store, f storetest.Fixture, id game.GameID, n int) {
	t.Helper()
	set, err := s.Setup(ctx, f.Coach.Club, id)
	if err != nil {
		t.Fatal(err)
	}
	end := practice.Outcome{End: practice.Resigned, Result: practice.NotWon}
	act := practice.Act{Seq: 1, Kind: practice.Resign, By: f.Student.Person, Client: "l", End: practice.Resigned}
	if _, won, err := s.Append(ctx, f.Coach.Club, set, act, &end); err != nil || !won {
		t.Fatalf("game %d: %v, %v", n, won, err)
	}
}

// TestTriesAt: the tries at one assignment are those of the student who asks, the oldest
// first; what is over long ago is left out, and without a try there is nothing.
func TestTriesAt(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "tries")
	task := f.Finish(t, s, practice.Practice, 3)
	if got, err := s.TriesAt(ctx, f.Student, task.ID); err != nil || len(got.Tries) != 0 {
		t.Errorf("before the first: %+v, %v", got, err)
	}
	now := time.Now()
	f.Played(t, s, task, 0, 1, practice.NotWon, now.AddDate(0, 0, -57), 30)
	f.Played(t, s, task, 0, 2, practice.NotWon, now.Add(-2*time.Hour), 30)
	f.Played(t, s, task, 1, 1, practice.Clean, now.Add(-time.Hour), 30)
	got, err := s.TriesAt(ctx, f.Student, task.ID)
	var starts []int
	var won []bool
	for _, try := range got.Tries {
		starts, won = append(starts, try.Start), append(won, try.Won)
	}
	if err != nil || got.ID != task.ID || !slices.Equal(starts, []int{0, 1}) || !slices.Equal(won, []bool{false, true}) {
		t.Errorf("%+v, %v", got, err)
	}
	if got, err := s.TriesAt(ctx, f.Student2, task.ID); err != nil || len(got.Tries) != 0 {
		t.Errorf("of the neighbour: %+v, %v", got, err)
	}
	s.Close()
	if _, err := s.TriesAt(ctx, f.Student, task.ID); err == nil {
		t.Error("nothing is said of a store that is closed")
	}
}

// TestTriesOfTwoStudents: the tries of two students at one assignment are not mixed, nor are
// those of one student at two.
func TestTriesOfTwoStudents(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "both")
	one, two := f.Finish(t, s, practice.Practice, 3), f.Finish(t, s, practice.Practice, 3)
	both, err := s.Assign(ctx, f.Coach, one.Drill.ID, []game.PersonID{f.Student.Person, f.Student2.Person}, nil)
	if err != nil {
		t.Fatal(err)
	}
	shared := one
	shared.ID = both
	neighbour := f
	neighbour.Student = f.Student2
	at := time.Now().Add(-time.Hour)
	f.Played(t, s, one, 0, 1, practice.NotWon, at, 30)
	f.Played(t, s, two, 1, 1, practice.NotWon, at, 30)
	f.Played(t, s, shared, 0, 1, practice.NotWon, at, 30)
	f.Played(t, s, shared, 1, 1, practice.NotWon, at, 30)
	neighbour.Played(t, s, shared, 2, 1, practice.NotWon, at, 30)
	records, err := s.Records(ctx, f.Coach.Club)
	if err != nil || len(records) != 2 {
		t.Fatalf("%d records, %v", len(records), err)
	}
	for _, of := range records {
		want := map[game.AssignmentID]int{one.ID: 1, two.ID: 1, both: 2}
		if of.Student.ID == f.Student2.Person {
			want = map[game.AssignmentID]int{both: 1}
		}
		if len(of.Tries) != len(want) {
			t.Errorf("%s: %+v", of.Student.Name, of.Tries)
		}
		for _, tries := range of.Tries {
			if len(tries.Tries) != want[tries.ID] || tries.Student.ID != of.Student.ID {
				t.Errorf("%s: %d tries at %d of %d", of.Student.Name, len(tries.Tries), tries.ID, tries.Student.ID)
			}
		}
	}
}

// TestPartIsOne: the last part that is under way is given again, and another begins once it
// has ended.
func TestPartIsOne(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "part")
	task := f.Finish(t, s, practice.Practice, 2)
	first, err := s.Part(ctx, f.Student, task, storetest.FinishStart)
	if err != nil {
		t.Fatal(err)
	}
	if again, err := s.Part(ctx, f.Student, task, storetest.FinishStart); err != nil || again != first {
		t.Errorf("%d, then %d (%v)", first, again, err)
	}
	lost(t, s, f, first, 0)
	if next, err := s.Part(ctx, f.Student, task, storetest.FinishStart); err != nil || next == first {
		t.Errorf("after the end %d (%v)", next, err)
	}
	if _, err := s.Part(ctx, f.Guardian, task, storetest.FinishStart); game.KindOf(err) != game.Missing {
		t.Errorf("a guardian's part: %v", err)
	}
}

// TestGuardianOfAFile: a student's file finds its own guardians by number, and no others.
func TestGuardianOfAFile(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "file")
	file, err := s.StudentFile(ctx, f.Coach.Club, f.Student.Person)
	if err != nil {
		t.Fatal(err)
	}
	if g, ok := file.Guardian(f.Guardian.Person); !ok || g.ID != f.Guardian.Person || g.Until == nil {
		t.Errorf("its own: %+v, %v", g, ok)
	}
	for _, other := range []game.PersonID{f.Guardian2.Person, f.Student.Person, 0} {
		if g, ok := file.Guardian(other); ok {
			t.Errorf("number %d: %+v", other, g)
		}
	}
}

// TestStale: open games in which nothing has happened since a time are listed in order, after
// the one that is named; one with an act since, one begun since and one that has ended are not.
func TestStale(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "stale")
	other := storetest.Club(t, s, "forgotten")
	now := time.Now()
	storetest.Exec(t, url, "update games set started_at = $1", now.Add(-48*time.Hour))
	since := now.Add(-24 * time.Hour)
	want := []store.StaleGame{{Club: f.Coach.Club, Game: f.Game}, {Club: f.Coach.Club, Game: f.Game2},
		{Club: other.Coach.Club, Game: other.Game}, {Club: other.Coach.Club, Game: other.Game2}}
	for i := range want {
		var after store.StaleGame
		if i > 0 {
			after = want[i-1]
		}
		if got, err := s.Stale(ctx, since, after); err != nil || !slices.Equal(got, want[i:]) {
			t.Errorf("after %+v: %+v, %v", after, got, err)
		}
	}
	append1(t, s, f, practice.Act{Seq: 1, Kind: practice.Helped, Client: "h"})
	lost(t, s, other, other.Game, 0)
	storetest.Exec(t, url, "update games set started_at = $1 where id = $2", now, f.Game2)
	if got, err := s.Stale(ctx, since, store.StaleGame{}); err != nil || !slices.Equal(got, want[3:]) {
		t.Errorf("%+v, %v", got, err)
	}
}

// TestGameHasItsClock: a game is played by the clock of its drill, with what a move
// adds to it, also after the drill's rule was read back.
func TestGameHasItsClock(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "clock")
	d := f.Drill
	d.Rule.Clock, d.Rule.Increment = 300, 7
	var err error
	if d.ID, err = s.KeepDrill(ctx, f.Coach, d); err != nil {
		t.Fatal(err)
	}
	if back, err := s.Drill(ctx, f.Coach.Club, d.ID); err != nil || back.Rule.Increment != 7 || back.Rule.Clock != 300 {
		t.Fatalf("%+v, %v", back.Rule, err)
	}
	task, err := s.Assign(ctx, f.Coach, d.ID, []game.PersonID{f.Student.Person}, nil)
	if err != nil {
		t.Fatal(err)
	}
	id, err := s.StartGame(ctx, f.Student, task)
	if err != nil {
		t.Fatal(err)
	}
	if set, err := s.Setup(ctx, f.Coach.Club, id); err != nil || set.Clock != 300 || set.Increment != 7 {
		t.Errorf("%+v, %v", set, err)
	}
}

// TestTrialCountsForNothing: a game in which a coach tries a drill out is in no list, and
// its end leaves nothing but its own row.
func TestTrialCountsForNothing(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "trial")
	playing, err := s.Playing(ctx, f.Coach)
	if err != nil {
		t.Fatal(err)
	}
	id, err := s.Trial(ctx, f.Coach, f.Drill, 0)
	if err != nil {
		t.Fatal(err)
	}
	if now, err := s.Playing(ctx, f.Coach); err != nil || len(now) != len(playing) {
		t.Errorf("%d games are played now, %d before: %v", len(now), len(playing), err)
	}
	set, err := s.Setup(ctx, f.Coach.Club, id)
	if err != nil || !set.Trial || set.Student != f.Coach.Person {
		t.Fatalf("%+v, %v", set, err)
	}
	left := func() (rows []int) {
		t.Helper()
		for _, table := range []string{"stage_results", "overviews", "bells", "river.river_job"} {
			rows = append(rows, scan[int](t, url, "select count(*) from "+table))
		}
		return rows
	}
	before := left()
	outcome := practice.Outcome{End: practice.Resigned, Result: practice.NotWon, Moves: 3,
		Stages: []practice.StageResult{{Stage: ending.Edge, Moves: 3}}}
	act := practice.Act{Seq: 1, Kind: practice.Resign, By: f.Coach.Person, Client: "r", At: time.Now(), End: practice.Resigned}
	if _, won, err := s.Append(ctx, f.Coach.Club, set, act, &outcome); err != nil || !won {
		t.Fatal(won, err)
	}
	if after := left(); !slices.Equal(before, after) {
		t.Errorf("before %v, after %v", before, after)
	}
	if info, err := s.Game(ctx, f.Coach.Club, id); err != nil || info.Counts || info.Kind != store.OfTrial || info.Ended == nil {
		t.Errorf("%+v, %v", info, err)
	}
	if _, err := s.Trial(ctx, f.Student, f.Drill, 0); game.KindOf(err) != game.Missing {
		t.Errorf("a student tries a drill out: %v", err)
	}
	next, err := s.OnceMore(ctx, f.Coach, id, "")
	if err != nil {
		t.Fatal(err)
	}
	again, err := s.Setup(ctx, f.Coach.Club, next)
	if set.Game, set.Seed = again.Game, again.Seed; err != nil || !reflect.DeepEqual(set, again) {
		t.Errorf("tried again under %+v, first under %+v: %v", again, set, err)
	}
	if _, err := s.OnceMore(ctx, f.Coach2, id, ""); game.KindOf(err) != game.Missing {
		t.Errorf("another coach tries it again: %v", err)
	}
	if err := s.GameInScope(ctx, f.Coach2, id); game.KindOf(err) != game.Missing {
		t.Errorf("another coach: %v", err)
	}
}
