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

// Fixture is a small club with two of everything that belongs to a person, so
// that 'mine' and 'my neighbour's' are never the same row.
type Fixture struct {
	Coach, Student, Guardian    game.Actor
	Coach2, Student2, Guardian2 game.Actor  // the second guardian is of the second student
	Password                    string      // the coach's
	Email                       string      // the coach's
	Card, Card2                 club.Card   // the students'
	Link, Link2                 club.Secret // the guardians'
	Drill                       club.Drill  // of the coach, given to both students apart
	Task, Task2                 game.AssignmentID
	Game, Game2                 game.GameID // under way
}

// RookStart is the start of the fixture's drill: a rook ending, mate in 14.
const RookStart = "8/8/8/4k3/8/8/8/4K2R w - - 0 1"

// agreed is the day of every consent.
var agreed = time.Date(2024, 3, 1, 0, 0, 0, 0, time.UTC)

// Club fills a store with a club; calls with other names make more clubs.
func Club(t testing.TB, s *store.Store, name string) Fixture {
	t.Helper()
	f := Fixture{Email: name + "@club.example", Password: "a long phrase of " + name}
	f.Coach = must(s.NewClub(context.Background(), club.NewClub{
		Club: name, Name: "Coach of " + name, Email: f.Email, Password: f.Password, Welfare: "Officer",
		Contact: "In the club room",
	}))(t)
	f.Coach2 = must(s.AddCoach(context.Background(), f.Coach, club.NewCoach{
		Name: "Helper of " + name, Email: "helper-" + f.Email, Password: "another phrase of " + name,
	}))(t)
	f.Card, f.Student = child(t, s, f.Coach, "Child of "+name)
	f.Card2, f.Student2 = child(t, s, f.Coach, "Neighbour of "+name)
	f.Link, f.Guardian = parent(t, s, f.Coach, f.Student, "Guardian")
	f.Link2, f.Guardian2 = parent(t, s, f.Coach, f.Student2, "Other guardian")
	f.Drill = club.Drill{Ending: "KRK", Mode: practice.Guided, From: ending.Centralise, To: ending.Mate,
		Defender: ending.HoldsOut,
		Starts:   []string{RookStart, "8/8/8/3k4/8/8/8/R3K3 w - - 0 1"}, Rule: club.RuleOf(practice.Guided)}
	if err := f.Drill.Validate(); err != nil {
		t.Fatal(err)
	}
	f.Drill.ID = must(s.KeepDrill(context.Background(), f.Coach, f.Drill))(t)
	f.Task, f.Game = f.begun(t, s, f.Student)
	f.Task2, f.Game2 = f.begun(t, s, f.Student2)
	return f
}

// must takes a value that has to be there.
func must[T any](v T, err error) func(testing.TB) T {
	return func(t testing.TB) T {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		return v
	}
}

func child(t testing.TB, s *store.Store, coach game.Actor, name string) (club.Card, game.Actor) {
	t.Helper()
	card := must(s.AddStudent(context.Background(), coach, club.NewStudent{Name: name, ConsentBy: "Guardian",
		ConsentOn: agreed, Consent: true, Wording: ending.Eight}))(t)
	return card, game.Actor{Club: coach.Club, Person: card.Student.ID, Role: game.Student, Name: card.Student.Name}
}

func parent(t testing.TB, s *store.Store, coach, of game.Actor, name string) (club.Secret, game.Actor) {
	t.Helper()
	link := must(s.AddGuardian(context.Background(), coach, of.Person, name))(t)
	return link.Token, must(s.Open(context.Background(), link.Token))(t)
}

// begun gives the fixture's drill to a student, who begins it.
func (f Fixture) begun(t testing.TB, s *store.Store, who game.Actor) (game.AssignmentID, game.GameID) {
	t.Helper()
	task := must(s.Assign(context.Background(), f.Coach, f.Drill.ID, []game.PersonID{who.Person}, nil))(t)
	return task, must(s.StartGame(context.Background(), who, task))(t)
}

// Setup is what the first student's game began with.
func (f Fixture) Setup(t testing.TB, s *store.Store) practice.Setup {
	t.Helper()
	return must(s.Setup(context.Background(), f.Coach.Club, f.Game))(t)
}

// Acts plays n half-checked moves as bare acts, for tests of the log itself.
func Acts(n int) []practice.Act {
	acts := make([]practice.Act, n)
	for i := range acts {
		acts[i] = practice.Act{Seq: i + 1, Kind: practice.Helped, Client: fmt.Sprint("c", i+1)}
	}
	return acts
}
