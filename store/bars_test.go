package store_test

import (
	"errors"
	"strings"
	"testing"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/store/storetest"
)

// TestBar: who is barred has no session, no password, no reset, no link to join and no
// calendar any more, and reads why; owners and officers are told with everybody else going
// on; another officer or an owner gives the access back, and not the one who stopped it.
func TestBar(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "bar")
	sol := officer(t, s, f.Coach, "sol")
	per := officer(t, s, sol, "per")
	must1(t, s.MakeOwner(ctx, f.Coach, f.Coach2.Person))
	session, _, err := s.SignIn(ctx, f.Coach)
	must1(t, err)
	half, _, err := s.Half(ctx, f.Coach)
	must1(t, err)
	invite, err := s.Invite(ctx, f.Coach, nil, nil)
	must1(t, err)
	feed, err := s.MakeFeed(ctx, f.Coach)
	must1(t, err)
	if err := s.Bar(ctx, sol, f.Coach.Person, " "); game.KindOf(err) != game.Bad {
		t.Errorf("without a reason: %v", err)
	}
	must1(t, s.Bar(ctx, sol, f.Coach.Person, "Met a child alone"))
	must1(t, s.Bar(ctx, per, f.Coach.Person, "Once more")) // is so already
	if over, err := s.Over(ctx, session); err != nil || len(over) != 1 {
		t.Errorf("the session goes on: %v, %v", over, err)
	}
	later, _, err := s.SignIn(ctx, f.Coach) // who was signing in at that moment
	must1(t, err)
	stopped := "A welfare officer has barred you from coming in. Ask the club."
	for name, err := range map[string]error{
		"session": second(s.Session(ctx, session)), "a session of that moment": second(s.Session(ctx, later)),
		"half": third(s.HalfOf(ctx, half)), "invite": second(s.Join(ctx, invite, club.NewCoach{Name: "X", Email: "x@club.example",
			Password: "a long sentence for x"})), "feed": second(s.ReadFeed(ctx, feed)),
		"reset":  second(s.ResetCoach(ctx, game.Actor{Club: f.Coach.Club}, f.Coach.Person, store.ResetPassword)),
		"owning": s.MakeOwner(ctx, f.Coach, f.Coach2.Person), "lifting": s.Lift(ctx, f.Coach, f.Coach.Person),
	} {
		if kind := game.KindOf(err); kind != game.Missing && kind != game.Gone {
			t.Errorf("%s: %v", name, err)
		}
	}
	if _, err := s.OpenPassword(ctx, club.Known, f.Email, f.Password); game.Saying(err) != stopped {
		t.Errorf("the password: %v", err)
	}
	if _, err := s.OpenPassword(ctx, club.Known, f.Email, "wrong"); game.Saying(err) == stopped {
		t.Error("a wrong password is told that the access is stopped")
	}
	for _, who := range []game.Actor{f.Coach2, sol, per} {
		if told, err := s.Notices(ctx, who); err != nil || len(told) != 1 || told[0].What != store.Barring || told[0].AboutID != f.Coach.Person {
			t.Errorf("%s is told %+v, %v", who.Name, told, err)
		}
	}
	if told, err := s.Notices(ctx, f.Coach); err != nil || len(told) != 0 {
		t.Errorf("who is barred is told %v, %v", told, err)
	}
	if rows, err := s.Barred(ctx, f.Coach2); err != nil || len(rows) != 1 || rows[0].Reason != "Met a child alone" || rows[0].By != "sol" {
		t.Errorf("%+v, %v", rows, err)
	}
	if err := s.Lift(ctx, sol, f.Coach.Person); game.KindOf(err) != game.Denied {
		t.Errorf("the officer who stopped it gives it back: %v", err)
	}
	must1(t, s.Lift(ctx, per, f.Coach.Person))
	if a, err := s.OpenPassword(ctx, club.Known, f.Email, f.Password); err != nil || a.Person != f.Coach.Person {
		t.Errorf("afterwards: %+v, %v", a, err)
	}
	if n := scan[int](t, url, `select count(*) from audit where action in ('access barred', 'access given back') and subject_id = $1`,
		f.Coach.Person); n != 2 {
		t.Errorf("%d rows in the audit", n)
	}
}

// TestResetLinkOfWhoIsBarred: a link for a new password that was made before opens nothing.
func TestResetLinkOfWhoIsBarred(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "link")
	sol := officer(t, s, f.Coach, "sol")
	r, err := s.ResetCoach(ctx, f.Coach, f.Coach2.Person, store.ResetPassword)
	must1(t, err)
	must1(t, s.Bar(ctx, sol, f.Coach2.Person, "A reason"))
	if err := s.NewPassword(ctx, r.Token, "vexlamp otter moon"); game.Saying(err) != "A welfare officer has barred you from coming in. Ask the club." {
		t.Errorf("%v", err)
	}
	must1(t, s.Lift(ctx, f.Coach, f.Coach2.Person)) // by the owner
	must1(t, s.NewPassword(ctx, r.Token, "vexlamp otter moon"))
}

// TestWhomNobodyBars: an officer bars no officer and no child; the last owner can be barred,
// and then no owner can act until somebody at the server does something.
func TestWhomNobodyBars(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "whom")
	sol := officer(t, s, f.Coach, "sol")
	per := officer(t, s, sol, "per")
	for name, c := range map[string]struct {
		who  game.PersonID
		want game.Kind
	}{"an officer": {per.Person, game.Denied}, "oneself": {sol.Person, game.Denied}, "a child": {f.Student.Person, game.Missing},
		"nobody": {999999, game.Missing}} {
		if err := s.Bar(ctx, sol, c.who, "A reason"); game.KindOf(err) != c.want {
			t.Errorf("%s: %v", name, err)
		}
	}
	if who, err := s.Barrable(ctx, sol, f.Coach.Person); err != nil || !who.Last {
		t.Errorf("%+v, %v", who, err)
	}
	if who, err := s.Barrable(ctx, sol, f.Coach2.Person); err != nil || who.Last {
		t.Errorf("%+v, %v", who, err)
	}
	must1(t, s.Bar(ctx, sol, f.Coach.Person, "A reason"))
	must1(t, s.MakeOwnerAt(ctx, game.Actor{Club: sol.Club}, f.Coach2.Person))
	must1(t, s.Lift(ctx, f.Coach2, f.Coach.Person))
	must1(t, s.Bar(ctx, sol, f.Coach.Person, "Again"))
	if err := s.EndCoach(ctx, f.Coach2, f.Coach2.Person, f.Coach.Person); game.KindOf(err) != game.Conflict {
		t.Errorf("the last owner who can act leaves: %v", err)
	}
	must1(t, s.LiftAt(ctx, game.Actor{Club: sol.Club}, f.Coach.Person))
}

// TestBarredGuardian: the link of a barred guardian opens nothing, and works again
// afterwards; another guardian of the same child goes on.
func TestBarredGuardian(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "guard")
	sol := officer(t, s, f.Coach, "sol")
	second, err := s.AddGuardian(ctx, f.Coach, f.Student.Person, "Second")
	must1(t, err)
	session, _, err := s.SignIn(ctx, f.Guardian)
	must1(t, err)
	must1(t, s.Bar(ctx, sol, f.Guardian.Person, "A court says so"))
	if _, err := s.Session(ctx, session); game.KindOf(err) != game.Missing {
		t.Errorf("the session: %v", err)
	}
	if _, err := s.Open(ctx, f.Link); game.Saying(err) != "A welfare officer has barred you from coming in. Ask the club." {
		t.Errorf("the link: %v", err)
	}
	if a, err := s.Open(ctx, second.Token); err != nil || a.Name != "Second" {
		t.Errorf("the other guardian: %+v, %v", a, err)
	}
	rows, err := s.Linked(ctx, sol)
	must1(t, err)
	for _, r := range rows {
		if (r.Barred != nil) != (r.ID == f.Guardian.Person) || len(r.Children) != 1 || !strings.Contains(r.Children[0], ", number ") {
			t.Errorf("%+v", r)
		}
	}
	must1(t, s.Lift(ctx, f.Coach, f.Guardian.Person))
	if _, err := s.Open(ctx, f.Link); err != nil {
		t.Errorf("afterwards: %v", err)
	}
}

// TestOfficersAreApart: nobody joins as an officer with a coach's address, nor with the name
// of a coach or a guardian without saying that this is another person; nor the other way.
func TestOfficersAreApart(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "apart")
	token, err := s.InviteOfficer(ctx, f.Coach)
	must1(t, err)
	n := club.NewCoach{Name: "Sol", Email: "sol@club.example", Password: "a long sentence for sol"}
	join := func(field, name, email string) {
		t.Helper()
		n := n
		n.Name, n.Email = name, email
		_, err := s.Join(ctx, token, n)
		if marked := problems(err); marked[field] == "" {
			t.Errorf("%s %s: %v", name, email, err)
		}
	}
	join("email", "Sol", strings.ToUpper(f.Email))
	join("another", " coach  OF apart ", "sol@club.example")
	join("another", f.Guardian.Name, "sol@club.example")
	n.Another = true
	n.Name = f.Guardian.Name
	if a, err := s.Join(ctx, token, n); err != nil || a.Role != game.Welfare {
		t.Fatalf("%+v, %v", a, err)
	}
	if token, err = s.Invite(ctx, f.Coach, nil, nil); err != nil {
		t.Fatal(err)
	}
	n.Another = false
	join("email", "Somebody", "sol@club.example")
	join("another", "Coach "+f.Guardian.Name, "other@club.example")
}

// problems are the marked fields of an error.
func problems(err error) club.Problems {
	var p club.Problems
	_ = errors.As(err, &p)
	return p
}

// third is the error of three.
func third[A, B any](_ A, _ B, err error) error { return err }
