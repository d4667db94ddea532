package store_test

import (
	"fmt"
	"testing"
	"time"

	"drover/game"
	"drover/game/practice"
	"drover/store"
	"drover/store/storetest"
)

// TestNeighboursAreApart: with the ids of another child of the same club a
// student finds nothing, nor does a coach by the wrong child's page.
func TestNeighboursAreApart(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "street")
	for name, err := range map[string]error{
		"again":        second(s.Again(ctx, f.Student2, f.Game)),
		"start":        second(s.StartGame(ctx, f.Student2, f.Task)),
		"revoke":       s.RevokeGuardian(ctx, f.Coach, f.Student.Person, f.Guardian2.Person),
		"link":         second(s.ReplaceLink(ctx, f.Coach, f.Student.Person, f.Guardian2.Person)),
		"a coach is":   second(s.ReplaceCard(ctx, f.Coach, f.Coach2.Person)),
		"a coach's":    s.BeginPlacement(ctx, f.Coach, f.Coach2.Person, nil),
		"nor guarded":  second(s.AddGuardian(ctx, f.Coach, f.Coach2.Person, "Per")),
		"no student":   second(s.StudentFile(ctx, f.Coach.Club, f.Guardian.Person)),
		"nor assignee": second(s.Assign(ctx, f.Coach, f.Drill.ID, []game.PersonID{f.Coach2.Person}, nil)),
	} {
		if game.KindOf(err) != game.Missing {
			t.Errorf("%s: %v", name, err)
		}
	}
	must1(t, s.BeginPlacement(ctx, f.Coach, f.Student.Person, nil))
	if p, err := s.LatestPlacement(ctx, f.Coach.Club, f.Student2.Person); err != nil || p != nil {
		t.Errorf("the neighbour's starting check: %+v, %v", p, err)
	}
	if id, err := s.Again(ctx, f.Student, f.Game); err != nil || id != f.Game {
		t.Errorf("the own game again: %d, %v", id, err)
	}
	for _, c := range []struct {
		who  game.Actor
		task game.AssignmentID
		open game.GameID
	}{{f.Student, f.Task, f.Game}, {f.Student2, f.Task2, f.Game2}} {
		if tasks, err := s.Tasks(ctx, c.who); err != nil || len(tasks) != 1 || tasks[0].ID != c.task ||
			tasks[0].OpenGame != c.open {
			t.Errorf("tasks of %s: %+v, %v", c.who.Name, tasks, err)
		}
	}
	if wards, err := s.Wards(ctx, f.Guardian2); err != nil || len(wards) != 1 || wards[0].ID != f.Student2.Person {
		t.Errorf("wards %+v, %v", wards, err)
	}
	if _, err := s.Open(ctx, f.Link2); err != nil {
		t.Errorf("the neighbour's link stopped: %v", err)
	}
}

// TestArchivedStudentIsMissing: nothing is made any more for a student who has left the
// club, and the page says so.
func TestArchivedStudentIsMissing(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "left")
	run(t, url, fmt.Sprintf("update people set archived_at = now() where id = %d", f.Student.Person))
	for name, err := range map[string]error{
		"card":     second(s.ReplaceCard(ctx, f.Coach, f.Student.Person)),
		"guardian": second(s.AddGuardian(ctx, f.Coach, f.Student.Person, "Per")),
		"link":     second(s.ReplaceLink(ctx, f.Coach, f.Student.Person, f.Guardian.Person)),
		"check":    s.BeginPlacement(ctx, f.Coach, f.Student.Person, nil),
		"drill":    second(s.Assign(ctx, f.Coach, f.Drill.ID, []game.PersonID{f.Student.Person}, nil)),
	} {
		if game.KindOf(err) != game.Missing {
			t.Errorf("%s: %v", name, err)
		}
	}
	for id, want := range map[game.PersonID]bool{f.Student.Person: true, f.Student2.Person: false} {
		if file, err := s.StudentFile(ctx, f.Coach.Club, id); err != nil || file.Archived != want {
			t.Errorf("student %d: archived is %v, %v", id, file.Archived, err)
		}
	}
}

// TestViewsAreOfOneClub: the stage view and what stands around it count the games
// of the coach's own club, and of each student apart.
func TestViewsAreOfOneClub(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	clubs := []storetest.Fixture{storetest.Club(t, s, "here"), storetest.Club(t, s, "there")}
	ended := time.Now().Add(-time.Hour)
	for i, f := range clubs {
		task := f.Finish(t, s, practice.Test, 3)
		for start := range i + 2 {
			f.Played(t, s, task, start, 1, practice.NotWon, ended, 60)
		}
	}
	for i, f := range clubs {
		records, err := s.Records(ctx, f.Coach.Club)
		if err != nil || len(records) != 2 {
			t.Errorf("club %d: %d records, %v", i, len(records), err)
		}
		for _, of := range records {
			want := 0
			if of.Student.ID == f.Student.Person {
				want = i + 2
			}
			if len(of.Stages) != want {
				t.Errorf("club %d: %d stages of person %d, want %d", i, len(of.Stages), of.Student.ID, want)
			}
		}
		failures, err := s.Failures(ctx, f.Coach, 0)
		if err != nil || len(failures) != 1 || failures[0].Games != i+2 {
			t.Errorf("club %d: failures %+v, %v", i, failures, err)
		}
		if games, err := s.Games(ctx, f.Coach, f.Student2.Person, store.GamesAsk{}); err != nil || len(games.Rows) != 1 {
			t.Errorf("club %d: %d games of the neighbour, %v", i, len(games.Rows), err)
		}
	}
}
