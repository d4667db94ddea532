package web_test

import (
	"fmt"
	"testing"
	"time"

	"drover/game"
	"drover/game/live"
	"drover/game/practice"
	"drover/store"
	"drover/store/storetest"
	"drover/web"

	"github.com/gorilla/websocket"
)

// refuse has the database of a site refuse the acts for which a condition holds.
func refuse(t *testing.T, address, when string) {
	t.Helper()
	storetest.Exec(t, address, `create function refuse() returns trigger language plpgsql as $$ begin raise exception 'no' using errcode = '57014'; end $$`)
	storetest.Exec(t, address,
		`create trigger refuse before insert on acts for each row when (`+when+`) execute function refuse()`)
}

// node is a site on a database that others may run on too.
func node(t *testing.T, address string) *site {
	t.Helper()
	st, err := store.Open(ctx, address, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(st.Close)
	return startOn(t, st, time.Now, web.Config{})
}

// kinds lists the kinds of act of a game.
func (s *site) kinds(f storetest.Fixture) []practice.Kind {
	s.Helper()
	acts, err := s.store.Load(ctx, f.Student.Club, f.Game, 0)
	if err != nil {
		s.Fatal(err)
	}
	var out []practice.Kind
	for _, a := range acts {
		out = append(out, a.Kind)
	}
	return out
}

// TestNobodyWatchesUnseen: where it cannot be written that a coach watches, the
// coach gets no frame of the game, and no page of one that goes on is drawn.
func TestNobodyWatchesUnseen(t *testing.T) {
	t.Parallel()
	address := storetest.URL(t)
	s := node(t, address)
	f := storetest.Club(t, s.store, "unseen")
	refuse(t, address, "new.kind = 'watch'")
	coach := s.as(f.Coach).board(f.Game)
	if _, data, err := coach.ReadMessage(); !websocket.IsCloseError(err, websocket.CloseTryAgainLater) {
		t.Errorf("a coach who is not noted is sent %s, %v", data, err)
	}
	for _, path := range []string{"/games/%d", "/games/%d.pgn"} {
		got := s.as(f.Coach).get(fmt.Sprintf(path, f.Game))
		if want := fmt.Sprintf("/watch/%d", f.Game); got.status != 303 || got.header.Get("Location") != want {
			t.Errorf("%s: %d to %s", path, got.status, got.header.Get("Location"))
		}
	}
	if kinds := s.kinds(f); len(kinds) != 0 {
		t.Errorf("acts: %v", kinds)
	}
}

// TestCutLineIsNoNewLook: a coach's line that breaks and comes back within the
// grace writes nothing; one that is closed ends the look at once; one that does not
// come back ends it after the grace.
func TestCutLineIsNoNewLook(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "cut")
	coach := s.as(f.Coach)
	first := coach.board(f.Game)
	first.next()
	_ = first.Conn.Close() // without a word
	second := coach.board(f.Game)
	second.next()
	second.goodbye()
	s.until("the look has ended", func() bool { return len(s.kinds(f)) == 2 })
	if kinds := fmt.Sprint(s.kinds(f)); kinds != "[watch unseen]" {
		t.Errorf("acts: %s", kinds)
	}
	s.hub.SetGrace(time.Millisecond)
	third := coach.board(f.Game)
	third.next()
	_ = third.Conn.Close()
	s.until("the look has ended after the grace", func() bool { return len(s.kinds(f)) == 4 })
	if kinds := fmt.Sprint(s.kinds(f)); kinds != "[watch unseen watch unseen]" {
		t.Errorf("acts: %s", kinds)
	}
}

// TestTwoPagesAreOneLook: two pages of one coach are one look, and it lasts as long
// as either.
func TestTwoPagesAreOneLook(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "pages")
	one, two := s.as(f.Coach).board(f.Game), s.as(f.Coach).board(f.Game)
	one.next()
	two.next()
	one.goodbye()
	two.say(`{`)
	two.next() // the line is alive, and nothing has come before its answer
	two.goodbye()
	s.until("the look has ended", func() bool { return len(s.kinds(f)) >= 2 })
	if kinds := fmt.Sprint(s.kinds(f)); kinds != "[watch unseen]" {
		t.Errorf("acts: %s", kinds)
	}
}

// TestKilledNodeStopsWatching: a node over which a coach watches dies without a
// word; another one notices that it is silent, and the student's page hears that
// nobody watches.
func TestKilledNodeStopsWatching(t *testing.T) {
	t.Parallel()
	address := storetest.URL(t)
	dead, alive := node(t, address), node(t, address)
	f := storetest.Club(t, alive.store, "killed")
	if err := dead.store.Alive(ctx); err != nil {
		t.Fatal(err)
	}
	dead.as(f.Coach).board(f.Game).next()
	student := alive.as(f.Student).board(f.Game)
	if now, _ := student.next()["now"].(map[string]any); now["seen"] != true {
		t.Fatalf("the student is not told: %v", now)
	}
	alive.web.Round(ctx)
	if kinds := fmt.Sprint(alive.kinds(f)); kinds != "[watch]" {
		t.Errorf("while both live: %s", kinds)
	}
	storetest.Exec(t, address,
		`update nodes set seen_at = now() - interval '16 seconds' where id in (select node from acts where kind = 'watch')`)
	storetest.Exec(t, address, `update acts set at = at - interval '16 seconds'`)
	alive.web.Round(ctx)
	got := student.next()
	act, _ := got["act"].(map[string]any)
	now, _ := got["now"].(map[string]any)
	if act["kind"] != "unseen" || now["seen"] != nil {
		t.Errorf("the student hears %v", got)
	}
}

// TestHelpTwiceIsOnce: the same step of help for the same position is one act, and
// the second question is answered with the first's.
func TestHelpTwiceIsOnce(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "twice")
	b := s.as(f.Student).board(f.Game)
	b.next()
	for i := range 5 {
		b.say(fmt.Sprintf(`{"do":"help","id":"h%d","ply":0,"step":1}`, i))
		act, _ := b.next()["act"].(map[string]any)
		if act["id"] != fmt.Sprintf("h%d", i) || act["seq"] != 1.0 || act["hint"] == nil {
			t.Errorf("question %d: %v", i, act)
		}
	}
	if kinds := s.kinds(f); len(kinds) != 1 {
		t.Errorf("acts: %v", kinds)
	}
}

// TestAllowanceIsAPersons: what a person may say in a minute is counted over all
// sockets of a node.
func TestAllowanceIsAPersons(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "allowance")
	one, two := s.as(f.Student).board(f.Game), s.as(f.Student).board(f.Game)
	one.next()
	two.next()
	busy := 0
	for range 65 {
		for _, b := range []socket{one, two} {
			b.say(`{"do":"fly"}`)
			if b.next()["no"] == "busy" {
				busy++
			}
		}
	}
	if busy < 20 {
		t.Errorf("of 130 commands over two sockets %d were refused", busy)
	}
}

// TestBadGameCostsNobody: a game whose log cannot be read is complained of once; the
// others are read on, and a game that was left is ended all the same.
func TestBadGameCostsNobody(t *testing.T) {
	t.Parallel()
	address := storetest.URL(t)
	s := node(t, address)
	f := storetest.Club(t, s.store, "bad")
	hub := live.New(s.store, judge, time.Now) // another node's
	for _, a := range []struct {
		who game.Actor
		id  game.GameID
	}{{f.Student, f.Game}, {f.Student2, f.Game2}} {
		w, _, err := hub.Join(ctx, a.who, a.id, live.About{}, 0)
		if err != nil {
			t.Fatal(err)
		}
		defer hub.Leave(w)
	}
	var complaints []game.GameID
	hub.Complain(func(_ game.ClubID, id game.GameID, _ error) { complaints = append(complaints, id) })
	storetest.Exec(t, address,
		`insert into acts (club_id, game_id, seq, kind, by_id, client_id, move) values ($1, $2, 1, 'move', $3, 'x', 'a1a1')`,
		f.Student.Club, f.Game, f.Student.Person)
	s.does(f.Student2, f.Game2, practice.Helped, "")
	if err := hub.Refresh(ctx); err != nil {
		t.Fatal(err)
	}
	state, err := hub.State(ctx, f.Student2.Club, f.Game2)
	if err != nil || state.Seq() != 1 {
		t.Errorf("the other game stands at act %d, %v", state.Seq(), err)
	}
	if len(complaints) != 1 || complaints[0] != f.Game {
		t.Errorf("complaints of %v", complaints)
	}
	storetest.Exec(t, address, `update games set started_at = now() - interval '3 days'`)
	storetest.Exec(t, address, `update acts set at = at - interval '2 days'`)
	s.working()
	s.until("the good game that was left is ended", func() bool {
		info, err := s.store.Game(ctx, f.Student2.Club, f.Game2)
		return err == nil && info.End == practice.Abandoned
	})
}
