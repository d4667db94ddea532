package store_test

import (
	"bytes"
	"fmt"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/progress"
	"drover/store"
	"drover/store/storetest"
)

// makers are the methods that make something of a form, each with what the audit
// says of it; what they give is written as text.
func makers(f storetest.Fixture) map[string]func(*store.Store, game.Actor, ...store.Sent) (string, error) {
	tasks := []progress.PickedTask{{FEN: storetest.FinishStart, Ending: "KRK", Target: ending.Mate, Budget: 8}}
	return map[string]func(*store.Store, game.Actor, ...store.Sent) (string, error){
		"student added": func(s *store.Store, a game.Actor, in ...store.Sent) (string, error) {
			card, err := s.AddStudent(ctx, a, club.NewStudent{Name: "Wren", ConsentBy: "Ann",
				ConsentOn: time.Now().AddDate(0, 0, -1), Consent: true}, in...)
			return fmt.Sprint(card.Student.ID), err
		},
		"card made": func(s *store.Store, a game.Actor, in ...store.Sent) (string, error) {
			card, err := s.ReplaceCard(ctx, a, f.Student.Person, in...)
			return fmt.Sprint(card.Student.ID), err
		},
		"guardian added": func(s *store.Store, a game.Actor, in ...store.Sent) (string, error) {
			link, err := s.AddGuardian(ctx, a, f.Student.Person, "Per", in...)
			return fmt.Sprint(link.Guardian), err
		},
		"guardian's link made": func(s *store.Store, a game.Actor, in ...store.Sent) (string, error) {
			link, err := s.ReplaceLink(ctx, a, f.Student.Person, f.Guardian.Person, in...)
			return fmt.Sprint(link.Guardian), err
		},
		"drill made": func(s *store.Store, a game.Actor, in ...store.Sent) (string, error) {
			id, err := s.KeepDrill(ctx, a, f.Drill, in...)
			return fmt.Sprint(id), err
		},
		"drill assigned": func(s *store.Store, a game.Actor, in ...store.Sent) (string, error) {
			id, err := s.Assign(ctx, a, f.Drill.ID, []game.PersonID{f.Student.Person, f.Student2.Person}, nil, in...)
			return fmt.Sprint(id), err
		},
		"starting check begun": func(s *store.Store, a game.Actor, in ...store.Sent) (string, error) {
			return "", s.BeginPlacement(ctx, a, f.Student.Person, tasks, in...)
		},
	}
}

// TestFormMakesOnce: a form that is sent many times at once, from two nodes, makes
// one thing, and every sender is told the same.
func TestFormMakesOnce(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	other, err := store.Open(ctx, url, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	f := storetest.Club(t, s, "once")
	for name, do := range makers(f) {
		count := func() int { return scan[int](t, url, "select count(*) from audit where action = $1", name) }
		before := count()
		in := store.Sent{Form: bytes.Repeat([]byte(name), 4)[:32]}
		const clicks = 6
		told := make([]string, clicks)
		var wg sync.WaitGroup
		for i := range clicks {
			wg.Add(1)
			go func() {
				defer wg.Done()
				var err error
				if told[i], err = do([]*store.Store{s, other}[i%2], f.Coach, in); err != nil {
					t.Errorf("%s, click %d: %v", name, i, err)
				}
			}()
		}
		wg.Wait()
		for i := range told {
			if told[i] != told[0] {
				t.Errorf("%s: click %d was told %s, the first %s", name, i, told[i], told[0])
			}
		}
		if made := count() - before; made != 1 {
			t.Errorf("%s: made %d times", name, made)
		}
	}
}

// TestOtherFormsMakeMore: another form, and the same form of another person, make
// a thing of their own; so does what comes of no form.
func TestOtherFormsMakeMore(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "more")
	do := makers(f)["drill made"]
	for i, c := range []struct {
		who  game.Actor
		sent []store.Sent
	}{
		{f.Coach, []store.Sent{{Form: []byte("one")}}}, {f.Coach, []store.Sent{{Form: []byte("two")}}},
		{f.Coach2, []store.Sent{{Form: []byte("one")}}},
		{f.Coach, nil}, {f.Coach, []store.Sent{{}}}, {f.Coach, []store.Sent{{}}},
	} {
		if _, err := do(s, c.who, c.sent...); err != nil {
			t.Fatal(err)
		}
		if n := scan[int](t, url, "select count(*) from drills"); n != i+2 { // the fixture has one
			t.Errorf("after %d: %d drills", i+1, n)
		}
	}
}

// TestRefusedFormIsForgotten: a form that made nothing may be sent again.
func TestRefusedFormIsForgotten(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "refused")
	in := store.Sent{Form: []byte("a form")}
	add := func(name string) (club.Card, error) {
		n := club.NewStudent{Name: name, ConsentBy: "Ann", ConsentOn: time.Now(), Consent: true}
		return s.AddStudent(ctx, f.Coach, n, in)
	}
	if _, err := add(f.Student.Name); game.KindOf(err) != game.Bad ||
		scan[int](t, url, "select count(*) from forms") != 0 {
		t.Errorf("a name that is taken: %v", err)
	}
	card, err := add("Wren")
	if err != nil || card.Token == "" {
		t.Fatal(card.Student, err)
	}
	if again, err := add("Wren"); err != nil || again.Student.ID != card.Student.ID || again.Token != "" {
		t.Errorf("again: %+v, %v", again.Student, err)
	}
}

// clocked opens a store with a clock that the test moves on.
func clocked(t *testing.T) (s *store.Store, url string, pass func(time.Duration)) {
	t.Helper()
	url = storetest.URL(t)
	var ahead atomic.Int64
	began := time.Now()
	s, err := store.Open(ctx, url, func() time.Time { return began.Add(time.Duration(ahead.Load())) })
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	return s, url, func(d time.Duration) { ahead.Add(int64(d)) }
}

// TestTidy: rows that nobody asks for any more go, and no others.
func TestTidy(t *testing.T) {
	t.Parallel()
	s, url, pass := clocked(t)
	f := storetest.Club(t, s, "tidy")
	session, _, err := s.SignIn(ctx, f.Coach)
	if err != nil {
		t.Fatal(err)
	}
	left := func() string {
		t.Helper()
		if err := s.Tidy(ctx); err != nil {
			t.Fatal(err)
		}
		return fmt.Sprint(scan[int](t, url, "select count(*) from forms"), scan[int](t, url, "select count(*) from shown"))
	}
	sent := store.Sent{Session: session, Form: []byte("a form")}
	if _, err := s.ReplaceCard(ctx, f.Coach, f.Student.Person, sent); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		pass time.Duration
		want string
	}{{store.ShownFor - time.Second, "1 1"}, {time.Second, "1 0"}, {store.FormLife - store.ShownFor, "1 0"},
		{time.Second, "0 0"}} {
		pass(c.pass)
		if got := left(); got != c.want {
			t.Errorf("after %v more: %s, want %s", c.pass, got, c.want)
		}
	}
}
