package store_test

import (
	"testing"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/store/storetest"
)

// officer makes a welfare officer by a link of somebody who may appoint.
func officer(t *testing.T, s *store.Store, by game.Actor, name string) game.Actor {
	t.Helper()
	token, err := s.InviteOfficer(ctx, by)
	if err != nil {
		t.Fatal(err)
	}
	a, err := s.Join(ctx, token, club.NewCoach{Name: name, Email: name + "@club.example", Password: "a long sentence for " + name})
	if err != nil || a.Role != game.Welfare {
		t.Fatalf("%+v, %v", a, err)
	}
	return a
}

// TestOwnerAppointsTheFirstOfficer: the owner appoints the first welfare officer and no
// other; from then on officers alone add and end officers, and say whom children turn to.
func TestOwnerAppointsTheFirstOfficer(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "first")
	if _, err := s.InviteOfficer(ctx, f.Coach2); game.KindOf(err) != game.Denied {
		t.Errorf("a coach who owns nothing appoints: %v", err)
	}
	stale, err := s.InviteOfficer(ctx, f.Coach)
	if err != nil {
		t.Fatal(err)
	}
	sol := officer(t, s, f.Coach, "sol")
	if _, err := s.Join(ctx, stale, club.NewCoach{Name: "Two", Email: "two@club.example", Password: "a long sentence for two"}); game.KindOf(err) != game.Gone {
		t.Errorf("an earlier link works: %v", err)
	}
	if _, err := s.InviteOfficer(ctx, f.Coach); game.KindOf(err) != game.Denied {
		t.Errorf("the owner appoints another: %v", err)
	}
	if err := s.KeepWelfare(ctx, f.Coach, "Me", "Here", 0); game.KindOf(err) != game.Denied {
		t.Errorf("the owner says whom children turn to: %v", err)
	}
	if err := s.EndOfficer(ctx, f.Coach, sol.Person); game.KindOf(err) != game.Denied {
		t.Errorf("the owner ends an officer: %v", err)
	}
	if err := s.EndOfficer(ctx, sol, sol.Person); game.KindOf(err) != game.Conflict {
		t.Errorf("the last officer leaves: %v", err)
	}
	per := officer(t, s, sol, "per")
	if err := s.EndOfficer(ctx, sol, f.Coach2.Person); game.KindOf(err) != game.Missing {
		t.Errorf("an officer ends a coach: %v", err)
	}
	session, _, err := s.SignIn(ctx, sol)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.EndOfficer(ctx, per, sol.Person); err != nil {
		t.Fatal(err)
	}
	if _, err := s.Session(ctx, session); game.KindOf(err) != game.Missing {
		t.Errorf("the session of the officer who left: %v", err)
	}
	desk, err := s.Welfare(ctx, f.Coach)
	if err != nil || desk.May || len(desk.Officers) != 1 || desk.Officers[0].ID != per.Person {
		t.Errorf("%+v, %v", desk, err)
	}
}

// TestWelfareContactHasTurns: of two who change whom children turn to the second is told.
func TestWelfareContactHasTurns(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "turns")
	sol := officer(t, s, f.Coach, "ida")
	for i, c := range []struct {
		name  string
		fails bool
		want  game.Kind
	}{{"Ida", false, 0}, {" ", true, game.Bad}, {"Per", true, game.Conflict}} {
		err := s.KeepWelfare(ctx, sol, c.name, "In the room", 0)
		if (err != nil) != c.fails || err != nil && game.KindOf(err) != c.want {
			t.Errorf("%d: %v", i, err)
		}
	}
	if c, err := s.Club(ctx, sol.Club); err != nil || c.Welfare != "Ida" || c.Contact != "In the room" {
		t.Errorf("%+v, %v", c, err)
	}
}

// TestOfficersAccountIsResetAtTheServerAlone: no coach opens an officer's account, nor is
// the address taken twice.
func TestOfficersAccountIsResetAtTheServerAlone(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "server")
	sol := officer(t, s, f.Coach, "una")
	if _, err := s.ResetCoach(ctx, f.Coach, sol.Person, store.ResetPassword); game.KindOf(err) != game.Missing {
		t.Errorf("the owner resets an officer's password: %v", err)
	}
	r, err := s.ResetCoach(ctx, game.Actor{Club: f.Coach.Club}, sol.Person, store.ResetPassword)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.NewPassword(ctx, r.Token, "vexlamp otter moon"); err != nil {
		t.Fatal(err)
	}
	a, err := s.OpenPassword(ctx, club.Known, "una@club.example", "vexlamp otter moon")
	if err != nil || a.Person != sol.Person || a.Role != game.Welfare {
		t.Errorf("%+v, %v", a, err)
	}
	for _, who := range []game.Actor{sol, f.Coach} {
		if told, err := s.Notices(ctx, who); err != nil || len(told) != 1 {
			t.Errorf("%s is told %d times, %v", who.Role, len(told), err)
		}
	}
	if _, err := s.AddCoach(ctx, f.Coach, club.NewCoach{Name: "Una", Email: "UNA@club.example", Password: "a long sentence for una"}); game.KindOf(err) != game.Bad {
		t.Errorf("an address that somebody signs in with: %v", err)
	}
}
