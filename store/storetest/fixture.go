package storetest

import (
	"context"
	"fmt"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/store"
)

// Fixture is a small club with one of everything.
type Fixture struct {
	Coach, Student, Guardian game.Actor
	Password                 string      // the coach's
	Email                    string      // the coach's
	Card                     club.Card   // the student's
	Link                     club.Secret // the guardian's
	Drill                    club.Drill
	Task                     game.AssignmentID
	Game                     game.GameID
}

// RookStart is the start of the fixture's drill: a rook ending, mate in 14.
const RookStart = "8/8/8/4k3/8/8/8/4K2R w - - 0 1"

// Club fills a store with a club; calls with other names make more clubs.
func Club(t testing.TB, s *store.Store, name string) Fixture {
	t.Helper()
	ctx := context.Background()
	must := func(err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
	}
	f := Fixture{Email: name + "@club.example", Password: "a long phrase of " + name}
	var err error
	f.Coach, err = s.NewClub(ctx, club.NewClub{
		Club: name, Name: "Coach of " + name, Email: f.Email, Password: f.Password, Welfare: "Officer", Contact: "In the club room",
	})
	must(err)
	f.Card, err = s.AddStudent(ctx, f.Coach, club.NewStudent{Name: "Child of " + name, ConsentBy: "Guardian", ConsentOn: time.Unix(1e9, 0), Consent: true, Wording: 8})
	must(err)
	f.Student = game.Actor{Club: f.Coach.Club, Person: f.Card.Student.ID, Role: game.Student, Name: f.Card.Student.Name}
	f.Link, err = s.AddGuardian(ctx, f.Coach, f.Student.Person, "Guardian")
	must(err)
	f.Guardian, err = s.Open(ctx, f.Link)
	must(err)
	f.Drill = club.Drill{Ending: "KRK", Mode: practice.Guided, From: ending.Centralise, To: ending.Mate, Defender: "longest",
		Starts: []string{RookStart, "8/8/8/3k4/8/8/8/R3K3 w - - 0 1"}, Rule: club.RuleOf(practice.Guided)}
	must(f.Drill.Check())
	f.Drill.ID, err = s.KeepDrill(ctx, f.Coach, f.Drill)
	must(err)
	f.Task, err = s.Assign(ctx, f.Coach, f.Drill.ID, []game.PersonID{f.Student.Person}, nil)
	must(err)
	f.Game, err = s.StartGame(ctx, f.Student, f.Task)
	must(err)
	return f
}

// Acts plays n half-checked moves as bare acts, for tests of the log itself.
func Acts(n int) []practice.Act {
	acts := make([]practice.Act, n)
	for i := range acts {
		acts[i] = practice.Act{Seq: i + 1, Kind: practice.Helped, Client: fmt.Sprint("c", i+1)}
	}
	return acts
}
