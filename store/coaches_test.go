package store_test

import (
	"fmt"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/store/storetest"
)

// joined makes a coach by a link of an owner.
func joined(t *testing.T, s *store.Store, f storetest.Fixture, name string, until *time.Time, groups ...game.GroupID) game.Actor {
	t.Helper()
	token, err := s.Invite(ctx, f.Coach, until, groups)
	if err != nil {
		t.Fatal(err)
	}
	a, err := s.Join(ctx, token, club.NewCoach{Name: name, Email: name + "@club.example", Password: "a long sentence for " + name})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Join(ctx, token, club.NewCoach{Name: "Two", Email: "two@club.example", Password: "a long sentence for two"}); game.KindOf(err) != game.Gone {
		t.Errorf("the link works twice: %v", err)
	}
	return a
}

// TestCoachLeaves: an owner ends a coach: the session is dead, links to join too, and drills
// go on with the successor; the last owner stays.
func TestCoachLeaves(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "leaves")
	a := joined(t, s, f, "Maren", nil)
	token, _, err := s.SignIn(ctx, a)
	if err != nil {
		t.Fatal(err)
	}
	d := f.Drill
	d.Name = "Of Maren"
	if d.ID, err = s.KeepDrill(ctx, a, d); err != nil {
		t.Fatal(err)
	}
	if err := s.EndCoach(ctx, a, f.Coach.Person, a.Person); game.KindOf(err) != game.Denied {
		t.Errorf("a coach ends the owner: %v", err)
	}
	if err := s.EndCoach(ctx, f.Coach, f.Coach.Person, a.Person); game.KindOf(err) != game.Conflict {
		t.Errorf("the last owner is ended: %v", err)
	}
	if err := s.MakeOwner(ctx, f.Coach, a.Person); err != nil {
		t.Fatal(err)
	}
	left, err := s.Invite(ctx, a, nil, nil)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.EndCoach(ctx, f.Coach, a.Person, f.Coach2.Person); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Session(ctx, token); game.KindOf(err) != game.Missing {
		t.Errorf("the session goes on: %v", err)
	}
	if over, err := s.Over(ctx, token); err != nil || len(over) != 1 {
		t.Errorf("the socket goes on: %v, %v", over, err)
	}
	if _, err := s.Join(ctx, left, club.NewCoach{Name: "Per", Email: "per@club.example", Password: "a long sentence for per"}); game.KindOf(err) != game.Gone {
		t.Errorf("the link of a coach who has left works: %v", err)
	}
	storetest.Exec(t, url, fmt.Sprintf(`do $$ begin assert (select made_by = %d from drills where id = %d); end $$`, f.Coach2.Person, d.ID))
	if rows, err := s.Coaches(ctx, f.Coach.Club); err != nil || len(rows) != 2 {
		t.Errorf("%+v, %v", rows, err)
	}
}

// TestSubstitute: who stands in sees the students of the named groups only, in every list,
// and nothing any more when the last day is over.
func TestSubstitute(t *testing.T) {
	t.Parallel()
	s, _, pass := clocked(t)
	f := storetest.Club(t, s, "stands")
	group, err := s.KeepGroup(ctx, f.Coach, "Tuesday")
	if err != nil {
		t.Fatal(err)
	}
	other, err := s.KeepGroup(ctx, f.Coach, "Thursday")
	if err != nil {
		t.Fatal(err)
	}
	for g, p := range map[game.GroupID]game.PersonID{group: f.Student.Person, other: f.Student2.Person} {
		if _, err := s.PutInGroup(ctx, f.Coach, g, []game.PersonID{p}); err != nil {
			t.Fatal(err)
		}
	}
	until := time.Now().Add(24 * time.Hour)
	for _, bad := range []struct {
		until  *time.Time
		groups []game.GroupID
	}{{nil, []game.GroupID{group}}, {&until, nil}} {
		if _, err := s.Invite(ctx, f.Coach, bad.until, bad.groups); game.KindOf(err) != game.Bad {
			t.Errorf("%+v: %v", bad, err)
		}
	}
	a := joined(t, s, f, "Ines", &until, group)
	token, _, err := s.SignIn(ctx, a)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.InScope(ctx, a, f.Student.Person); err != nil {
		t.Errorf("the own student: %v", err)
	}
	for name, err := range map[string]error{
		"another group's": s.InScope(ctx, a, f.Student2.Person), "both": s.InScope(ctx, a, f.Student.Person, f.Student2.Person),
	} {
		if game.KindOf(err) != game.Missing {
			t.Errorf("%s: %v", name, err)
		}
	}
	roster, err := s.Roster(ctx, a.Club, store.RosterAsk{Reader: a.Person})
	if err != nil || len(roster.Rows) != 1 || roster.All != 1 || roster.Rows[0].ID != f.Student.Person {
		t.Errorf("the roster: %+v, %v", roster, err)
	}
	groups, err := s.Groups(ctx, a)
	if err != nil || len(groups) != 1 || groups[0].ID != group {
		t.Errorf("the groups: %+v, %v", groups, err)
	}
	stages, err := s.StageTable(ctx, a, store.StageAsk{Page: 1})
	if err != nil || stages.Total != 1 || len(stages.Rows) != 1 {
		t.Errorf("the stage view: %+v, %v", stages, err)
	}
	playing, err := s.Playing(ctx, a)
	if err != nil || len(playing) != 1 {
		t.Errorf("playing: %+v, %v", playing, err)
	}
	people, err := s.DrillProgress(ctx, a, f.Drill.ID)
	if err != nil || len(people) != 1 {
		t.Errorf("a drill's students: %+v, %v", people, err)
	}
	if err := s.MakeOwnerAt(ctx, game.Actor{Club: a.Club}, a.Person); game.KindOf(err) != game.Missing {
		t.Errorf("a substitute is made an owner at the server: %v", err)
	}
	if err := s.MakeOwner(ctx, f.Coach, a.Person); game.KindOf(err) != game.Missing {
		t.Errorf("a substitute becomes an owner: %v", err)
	}
	pass(25 * time.Hour)
	if _, err := s.Session(ctx, token); game.KindOf(err) != game.Missing {
		t.Errorf("after the last day: %v", err)
	}
	if _, err := s.OpenPassword(ctx, club.Known, "Ines@club.example", "a long sentence for Ines"); game.KindOf(err) != game.Denied {
		t.Errorf("after the last day the password opens: %v", err)
	}
}
