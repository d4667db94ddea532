package store_test

import (
	"strings"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/store/storetest"
)

// TestTell: a child tells of itself and a guardian of the own child, each form once, with
// words or without; nobody tells about somebody else's child. Consent is not asked for.
func TestTell(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "tells")
	a := officer(t, s, f.Coach, "sol")
	storetest.Exec(t, url, `delete from consents where club_id = $1`, f.Coach.Club) // nobody has agreed to anything
	for range 2 {
		must1(t, s.Tell(ctx, f.Student, f.Student.Person, "", form("one")))
	}
	must1(t, s.Tell(ctx, f.Guardian2, f.Student2.Person, " Line one\r\n\u202eLine two\x07 "))
	for name, err := range map[string]error{
		"another child":   s.Tell(ctx, f.Student, f.Student2.Person, "x"),
		"not a guardian":  s.Tell(ctx, f.Guardian, f.Student2.Person, "x"),
		"a coach":         s.Tell(ctx, f.Coach, f.Student.Person, "x"),
		"about a coach":   s.Tell(ctx, f.Guardian, f.Coach.Person, "x"),
		"an officer's id": s.Tell(ctx, f.Student, a.Person, "x"),
	} {
		if game.KindOf(err) != game.Missing {
			t.Errorf("%s: %v", name, err)
		}
	}
	if err := s.Tell(ctx, f.Student, f.Student.Person, strings.Repeat("é", club.MostTold+1)); game.KindOf(err) != game.Bad {
		t.Errorf("too long: %v", err)
	}
	rows, err := s.Concerns(ctx, a)
	if err != nil || len(rows) != 2 {
		t.Fatalf("%d concerns, %v", len(rows), err)
	}
	if got := rows[0]; got.Words != "" || got.Name != "" || got.By != "" || !got.ByGuardian {
		t.Errorf("before it is opened: %+v", got)
	}
	must1(t, s.OpenConcern(ctx, a, rows[0].ID))
	if got, err := s.Concern(ctx, a, rows[0].ID); err != nil || got.Words != "Line one\nLine two" || got.Student != f.Student2.Person ||
		got.By != f.Guardian2.Name || got.OpenedBy != "sol" {
		t.Errorf("%+v, %v", got, err)
	}
	const said = `select count(*) from audit where action like 'concern%' and subject_id is not null or detail like '%Line%'`
	if n := scan[int](t, url, said); n != 0 {
		t.Errorf("the audit names a child or words in %d rows", n)
	}
	if n := scan[int](t, url, `select count(*) from audit where action like '%told%' or actor_id in ($1, $2) and action like 'concern%'`,
		f.Student.Person, f.Guardian2.Person); n != 0 {
		t.Errorf("the audit says in %d rows that something was told", n)
	}
}

// TestConcernsAreForOfficers: every other role finds nothing, whatever the number; a
// concern cannot be noted or closed, nor games be read, before it is opened.
func TestConcernsAreForOfficers(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "closed")
	a := officer(t, s, f.Coach, "sol")
	must1(t, s.Tell(ctx, f.Student, f.Student.Person, "Something"))
	rows, err := s.Concerns(ctx, a)
	must1(t, err)
	id := rows[0].ID
	steps := map[string]func(who game.Actor) error{
		"list":   func(who game.Actor) error { return second(s.Concerns(ctx, who)) },
		"read":   func(who game.Actor) error { return second(s.Concern(ctx, who, id)) },
		"open":   func(who game.Actor) error { return s.OpenConcern(ctx, who, id) },
		"note":   func(who game.Actor) error { return s.NoteConcern(ctx, who, id, "x") },
		"close":  func(who game.Actor) error { return s.CloseConcern(ctx, who, id) },
		"reopen": func(who game.Actor) error { return s.ReopenConcern(ctx, who, id) },
		"games":  func(who game.Actor) error { return second(s.GiveReason(ctx, who, id, "x")) },
		"reason": func(who game.Actor) error { return second(s.ReasonNow(ctx, who, f.Student.Person)) },
		"audit":  func(who game.Actor) error { return third(s.Audit(ctx, who, store.NotedAsk{})) },
		"links":  func(who game.Actor) error { return second(s.Linked(ctx, who)) },
		"bar":    func(who game.Actor) error { return s.Bar(ctx, who, f.Coach2.Person, "x") },
	}
	for name, step := range steps {
		for _, who := range []game.Actor{f.Coach, f.Coach2, f.Student, f.Guardian} {
			if err := step(who); game.KindOf(err) != game.Missing {
				t.Errorf("%s as %s: %v", name, who.Name, err)
			}
		}
	}
	for _, name := range []string{"note", "games"} {
		if err := steps[name](a); game.KindOf(err) != game.Missing {
			t.Errorf("%s before it is opened: %v", name, err)
		}
	}
	must1(t, s.CloseConcern(ctx, a, id)) // which changes nothing yet
	if c, err := s.Concern(ctx, a, id); err != nil || c.Closed != nil || c.Words != "" {
		t.Errorf("closed unopened: %+v, %v", c, err)
	}
	must1(t, s.OpenConcern(ctx, a, id))
	must1(t, s.NoteConcern(ctx, a, id, "Rang home"))
	must1(t, s.CloseConcern(ctx, a, id))
	if c, err := s.Concern(ctx, a, id); err != nil || c.Closed == nil || c.ClosedBy != "sol" || len(c.Notes) != 1 {
		t.Errorf("%+v, %v", c, err)
	}
	must1(t, s.ReopenConcern(ctx, a, id))
	if c, err := s.Concern(ctx, a, id); err != nil || c.Closed != nil || c.Opened == nil {
		t.Errorf("%+v, %v", c, err)
	}
}

// TestGamesNeedAReason: without a reason an officer reads no game, with one the games of
// that child for an hour, and no officer by another's reason.
func TestGamesNeedAReason(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 11, 2, 18, 0, 0, 0, time.UTC)
	url := storetest.URL(t)
	s, err := store.Open(ctx, url, func() time.Time { return now })
	must1(t, err)
	defer s.Close()
	f := storetest.Club(t, s, "reason")
	a := officer(t, s, f.Coach, "sol")
	other := officer(t, s, a, "per")
	must1(t, s.Tell(ctx, f.Student, f.Student.Person, ""))
	rows, err := s.Concerns(ctx, a)
	must1(t, err)
	must1(t, s.OpenConcern(ctx, a, rows[0].ID))
	if err := second(s.GiveReason(ctx, a, rows[0].ID, " ")); game.KindOf(err) != game.Bad {
		t.Errorf("without words: %v", err)
	}
	if err := s.ReasonForGame(ctx, a, f.Game); game.KindOf(err) != game.Denied {
		t.Errorf("before: %v", err)
	}
	must1(t, second(s.GiveReason(ctx, a, rows[0].ID, "Says the clock is turned")))
	for name, c := range map[string]struct {
		who  game.Actor
		game game.GameID
		want bool
	}{"hers": {a, f.Game, true}, "another child's": {a, f.Game2, false}, "another officer": {other, f.Game, false},
		"a coach": {f.Coach, f.Game, false}} {
		if err := s.ReasonForGame(ctx, c.who, c.game); (err == nil) != c.want {
			t.Errorf("%s: %v", name, err)
		}
	}
	noted, _, err := s.Audit(ctx, other, store.NotedAsk{Who: "child of"})
	if err != nil || len(noted) == 0 || noted[0].Action != "games opened" || noted[0].Reason != "Says the clock is turned" ||
		noted[0].Actor != "sol" || noted[0].Number == 0 {
		t.Errorf("%+v, %v", noted, err)
	}
	now = now.Add(store.ReasonFor)
	if err := s.ReasonForGame(ctx, a, f.Game); game.KindOf(err) != game.Denied {
		t.Errorf("an hour later: %v", err)
	}
}

// TestOfficerReachable: nobody reads soon what is told where there is no officer, where no
// mail can be sent, and where a concern has waited for three days.
func TestOfficerReachable(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 11, 2, 18, 0, 0, 0, time.UTC)
	s, err := store.Open(ctx, storetest.URL(t), func() time.Time { return now })
	must1(t, err)
	defer s.Close()
	f := storetest.Club(t, s, "reach")
	holds := func(when string, want store.Reach) {
		t.Helper()
		if got, err := s.OfficerReachable(ctx, f.Coach.Club); err != nil || got != want {
			t.Errorf("%s: %+v, %v", when, got, err)
		}
	}
	holds("without an officer", store.Reach{})
	a := officer(t, s, f.Coach, "sol")
	holds("without mail", store.Reach{Officer: true})
	s.SendMail()
	holds("with mail", store.Reach{Officer: true, Soon: true})
	must1(t, s.Tell(ctx, f.Student, f.Student.Person, ""))
	must1(t, s.EndLetter(ctx, f.Coach.Club, 1, store.Letter{}, store.LetterSent))
	now = now.Add(3*24*time.Hour - time.Second)
	holds("before three days are over", store.Reach{Officer: true, Soon: true})
	now = now.Add(time.Second)
	holds("after three days", store.Reach{Officer: true})
	rows, err := s.Concerns(ctx, a)
	must1(t, err)
	must1(t, s.OpenConcern(ctx, a, rows[0].ID))
	holds("once it is opened", store.Reach{Officer: true, Soon: true})
	if is, err := s.ToldLately(ctx, f.Student); err != nil || is {
		t.Errorf("told three days ago: %v, %v", is, err)
	}
}

// TestAuditIsSearched: by a person, by a child's name or number, and by time, in pages.
func TestAuditIsSearched(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "search")
	a := officer(t, s, f.Coach, "sol")
	for range store.NotedOnPage {
		must1(t, s.Read(ctx, f.Coach2, "student's page read", store.OfStudent, int64(f.Student.Person)))
	}
	must1(t, s.Read(ctx, f.Coach, "student's page read", store.OfStudent, int64(f.Student2.Person)))
	number := scan[string](t, url, `select number::text from people where id = $1`, f.Student2.Person)
	count := func(ask store.NotedAsk) int {
		t.Helper()
		n := 0
		for ask.Page = 1; ; ask.Page++ {
			rows, more, err := s.Audit(ctx, a, ask)
			must1(t, err)
			for _, r := range rows {
				if r.Action == "student's page read" {
					n++
				}
			}
			if !more {
				return n
			}
		}
	}
	for name, c := range map[string]struct {
		ask  store.NotedAsk
		want int
	}{
		"all": {store.NotedAsk{}, store.NotedOnPage + 1}, "a coach": {store.NotedAsk{Who: " HELPER of "}, store.NotedOnPage},
		"a child": {store.NotedAsk{Who: "neighbour"}, 1}, "a number": {store.NotedAsk{Who: number}, 1},
		"nobody": {store.NotedAsk{Who: "nobody at all"}, 0}, "no number": {store.NotedAsk{Who: "999999"}, 0},
		"before":      {store.NotedAsk{To: time.Now().Add(-time.Hour)}, 0},
		"since":       {store.NotedAsk{From: time.Now().Add(-time.Hour)}, store.NotedOnPage + 1},
		"in the time": {store.NotedAsk{From: time.Now().Add(-time.Hour), To: time.Now().Add(time.Hour), Who: number}, 1},
	} {
		if n := count(c.ask); n != c.want {
			t.Errorf("%s: %d, want %d", name, n, c.want)
		}
	}
	if rows, more, err := s.Audit(ctx, a, store.NotedAsk{Few: 2}); err != nil || len(rows) != 2 || !more {
		t.Errorf("%d rows, %v, %v", len(rows), more, err)
	}
}
