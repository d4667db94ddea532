package web_test

import (
	"fmt"
	"net/http"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/store/storetest"
)

// TestDrillThatCannotBeDone is refused while it is set, with the figure that would
// do, and the starts are shown all the same.
func TestDrillThatCannotBeDone(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "cannot")
	p := s.as(f.Coach)
	pastedRook := func(pairs ...string) []string { // mate in 14
		return append([]string{"kind", "pasted", "fens", storetest.RookStart, "from", "centralise"}, pairs...)
	}
	hold := func(pairs ...string) []string {
		return append([]string{"ending", "hold-KPK", "kind", "pasted", "fens", "8/3k4/3P4/4K3/8/8/8/8 b - - 0 1"}, pairs...)
	}
	for _, c := range []struct {
		name, say string // no sentence: the drill is kept
		form      []string
	}{
		{"as many moves as it takes", "", pastedRook("budget", "14")},
		{"a move less", "With best play this start takes 14 moves. Write at least 14, or 0", pastedRook("budget", "13")},
		{"two minutes for fourteen moves", "", pastedRook("clock", "2")},
		{"a minute", "At five seconds for each, write at least 2 minutes, or 0", pastedRook("clock", "1")},
		{"a minute, and five seconds for each move", "", pastedRook("clock", "1", "increment", "5")},
		{"nothing to add to", "There is no clock to add to.", pastedRook("clock", "0", "increment", "5")},
		{"a clock without end", "Choose a number of minutes from 0 to 60.", pastedRook("clock", "61")},
		{"a number without end", "Choose a number of minutes from 0 to 60.", pastedRook("clock", "153722867280912931")},
		{"a minute for twelve moves to hold", "", hold("budget", "12", "clock", "1")},
		{"a minute for fifty", "50 moves are to be held. At five seconds for each, write at least 5 minutes,",
			hold("budget", "50", "clock", "1")},
		{"half-moves gone before", "leaves 5 moves, and 10 are needed. Write 81 or less",
			hold("fens", "8/3k4/3P4/4K3/8/8/8/8 b - - 90 60")},
		{"one line of one", "No line fits yet.", pastedRook("fens", "8/8/8/4k3/8/8/8/4K2Q w - - 0 1")},
		{"its name and not its code", "this is the ending Queen, but the drill is for Rook",
			pastedRook("fens", "8/8/8/4k3/8/8/8/4K2Q w - - 0 1")},
		{"one of two", "The other line fits.", pastedRook("fens", "x\n"+storetest.RookStart)},
		{"one of three", "The other 2 lines fit.", pastedRook("fens", "x\n"+storetest.RookStart+"\n"+storetest.RookStart)},
		{"thirteen", "One more line does not fit.", pastedRook("fens", strings.Repeat("x\n", 13))},
		{"fourteen", "2 more lines do not fit.", pastedRook("fens", strings.Repeat("x\n", 14))},
	} {
		got := p.post("/drills", aDrill(c.form...))
		if c.say == "" && got.status != http.StatusSeeOther || c.say != "" &&
			(got.status != 422 || !strings.Contains(got.body, c.say)) {
			t.Errorf("%s: %d, says nothing of %q", c.name, got.status, c.say)
		}
		if fits := strings.Contains(c.say, "With best play"); fits && !strings.Contains(got.body, "mate in 14") {
			t.Errorf("%s: the start is not shown", c.name)
		}
	}
}

// TestDays: a drill is due between the club's own today and a year from it, and a
// consent is not older than the child can be.
func TestDays(t *testing.T) {
	t.Parallel()
	var ahead atomic.Int64
	began := time.Now()
	s := startAt(t, func() time.Time { return began.Add(time.Duration(ahead.Load())) })
	coach, err := s.store.NewClub(ctx, club.NewClub{ // where it is tomorrow for most of the day
		Club: "east", Name: "Bo", Email: "bo@east.example", Password: "a field of heather", Welfare: "W", Contact: "There",
		Zone: "Pacific/Kiritimati",
	})
	if err != nil {
		t.Fatal(err)
	}
	card, err := s.store.AddStudent(ctx, coach, club.NewStudent{Name: "Wren", ConsentBy: "Ann", ConsentOn: began,
		Consent: true})
	if err != nil {
		t.Fatal(err)
	}
	drill, err := s.store.KeepDrill(ctx, coach, club.Drill{
		Ending: "KRK", Mode: "test", From: ending.Mate, To: ending.Mate, Defender: "longest",
		Starts: []string{storetest.FinishStart},
	})
	if err != nil {
		t.Fatal(err)
	}
	p := s.as(coach)
	today := func() time.Time { return s.local(t, coach) }
	assign := func(day time.Time) answer {
		return p.post(fmt.Sprintf("/drills/%d/assign", drill), fields("student", fmt.Sprint(card.Student.ID), "again", "more", "due",
			day.Format(time.DateOnly)))
	}
	for _, hours := range []int{0, 6, 12, 18} {
		ahead.Store(int64(time.Duration(hours) * time.Hour))
		p = s.as(coach)
		for _, c := range []struct {
			name, say string
			day       time.Time
		}{
			{"today", "", today()}, {"yesterday", "This day is over.", today().AddDate(0, 0, -1)},
			{"a year", "", today().AddDate(1, 0, 0)}, {"more", "more than a year away", today().AddDate(1, 0, 1)},
		} {
			got := assign(c.day)
			if c.say == "" && got.status != http.StatusSeeOther || c.say != "" &&
				(got.status != 422 || !strings.Contains(got.body, c.say)) {
				t.Errorf("%d hours on, %s: %d", hours, c.name, got.status)
			}
		}
	}
	form := newStudent("Kit")
	form.Set("consent_on", "0206-01-02")
	if got := p.post("/students", form); got.status != 422 || !strings.Contains(got.body, "Please look at the year once more.") {
		t.Errorf("a consent of long ago: %d", got.status)
	}
}

// local is the day and hour in an actor's club.
func (s *site) local(t *testing.T, a game.Actor) time.Time {
	t.Helper()
	c, err := s.store.Club(ctx, a.Club)
	if err != nil {
		t.Fatal(err)
	}
	return c.Local(s.now())
}

// TestGivenNotice: who was given a drill is said by the records and not by the
// address.
func TestGivenNotice(t *testing.T) {
	t.Parallel()
	s := start(t)
	f, other := storetest.Club(t, s.store, "given"), storetest.Club(t, s.store, "elsewhere")
	p := s.as(f.Coach)
	path := fmt.Sprintf("/drills/%d/assign", f.Drill.ID)
	students := []string{fmt.Sprint(f.Student.Person), fmt.Sprint(f.Student2.Person)}
	for i, want := range []string{
		"Assigned to Child of given.", "Assigned to Child of given and Neighbour of given.",
		"Assigned to Abe, Child of given and Neighbour of given.", "Assigned to 4 students.",
	} {
		if i >= 2 {
			card, err := s.store.AddStudent(ctx, f.Coach, club.NewStudent{Name: []string{"Abe", "Bea"}[i-2], ConsentBy: "Ann",
				ConsentOn: time.Now(), Consent: true})
			if err != nil {
				t.Fatal(err)
			}
			students = append(students, fmt.Sprint(card.Student.ID))
		}
		got := p.post(path, map[string][]string{"student": students[:i+1], "again": {"more"}})
		if to := got.header.Get("Location"); got.status != 303 || !strings.HasPrefix(to, "/drills?given=") ||
			!strings.Contains(p.get(to).body, want) {
			t.Errorf("%d to %s: not %q", got.status, to, want)
		}
	}
	for _, odd := range []string{"assigned=99999999", "given=99999999", "given=-1", "given=x", "given=",
		fmt.Sprintf("given=%d", other.Task)} {
		if got := p.get("/drills?" + odd); got.status != 200 || strings.Contains(got.body, "Assigned to") ||
			strings.Contains(got.body, "9999") {
			t.Errorf("%s: %d", odd, got.status)
		}
	}
}

// TestWaysInHaveTheirSentence: who signs in too often is told what to look at
// again: the card, or address and password.
func TestWaysInHaveTheirSentence(t *testing.T) {
	t.Parallel()
	began := time.Now()
	s := startAt(t, func() time.Time { return began }) // so that the waits do not run out on a slow machine
	p := s.as(game.Actor{})
	var card, coach answer
	for range 6 {
		card = p.post("/in/card", fields("number", "7", "w1", "a", "w2", "b", "w3", "c", "w4", "d"))
		coach = p.post("/in/coach", fields("email", "no@body.example", "password", "x"))
	}
	if card.status != 429 || !strings.Contains(card.body, "look at your card again") {
		t.Errorf("by card: %d", card.status)
	}
	if coach.status != 429 || !strings.Contains(coach.body, "look at the address and the password again") ||
		strings.Contains(coach.body, "card again") {
		t.Errorf("by password: %d", coach.status)
	}
}

// TestStagesInTeachingOrder: the builder offers the stages as they are taught.
func TestStagesInTeachingOrder(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "order")
	body := s.as(f.Coach).get("/drills/new").body
	at := -1
	for _, stage := range []string{"centralise", "front", "edge", "escort", "corner", "mate"} {
		next := strings.Index(body, `<option value="`+stage+`"`)
		if next <= at {
			t.Errorf("%s stands at %d, the one before at %d", stage, next, at)
		}
		at = next
	}
}

// TestSetupPromisesNothing: the first page says nothing that is not so.
func TestSetupPromisesNothing(t *testing.T) {
	t.Parallel()
	s := start(t)
	if body := s.as(game.Actor{}).get("/setup").body; strings.Contains(body, "change it later") ||
		!strings.Contains(body, "then the person who listens") {
		t.Error("the set-up page promises what is not there")
	}
}
