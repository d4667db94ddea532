package store_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"drover/game"
	"drover/game/practice"
	"drover/store"
	"drover/store/storetest"
)

// word is why a store is not ready; empty where it is.
func word(t *testing.T, s *store.Store) string {
	t.Helper()
	short, cancel := context.WithTimeout(ctx, 900*time.Millisecond)
	defer cancel()
	err := s.Ready(short)
	var why *store.NotReady
	if err != nil && !errors.As(err, &why) {
		t.Fatalf("not ready by %v", err)
	}
	if why == nil {
		return ""
	}
	return why.Word
}

// TestListenerHearsAgainAfterSilence: the listener's line falls silent without a
// word, its other end gone; the node notices, listens anew, reads on in its games,
// and hears the next act of another node.
func TestListenerHearsAgainAfterSilence(t *testing.T) {
	t.Parallel()
	s, address := open(t)
	f := storetest.Club(t, s, "deaf")
	set := f.Setup(t, s)
	node, w := wired(t, address)
	node.Hurry(50*time.Millisecond, 50*time.Millisecond)
	heard, fresh := make(chan int, 100), make(chan struct{}, 100)
	listening, stop := context.WithCancel(ctx)
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		node.Listen(listening, store.Listener{
			Changed: func(_ context.Context, _ game.ClubID, _ game.GameID, seq int) error { heard <- seq; return nil },
			Refresh: func(context.Context) error { fresh <- struct{}{}; return nil },
			Failed:  func(error) {},
		})
	}()
	defer func() { stop(); <-ended }()
	await := func(seq int) {
		t.Helper()
		act := practice.Act{Seq: seq, Kind: practice.Helped, Client: "h"}
		if _, _, err := s.Append(ctx, f.Coach.Club, set, act, nil); err != nil {
			t.Fatal(err)
		}
		select {
		case got := <-heard:
			if got != seq {
				t.Errorf("heard of act %d, want %d", got, seq)
			}
		case <-time.After(30 * time.Second):
			t.Fatalf("act %d is not heard", seq)
		}
	}
	<-fresh
	await(1)
	w.Silence()
	select {
	case <-fresh:
	case <-time.After(30 * time.Second):
		t.Fatal("the node stays deaf")
	}
	await(2)
}

// TestNothingWaitsForever: with the database frozen each question ends with the
// sentence that it is away, and the store closes.
func TestNothingWaitsForever(t *testing.T) {
	t.Parallel()
	s, address := open(t)
	f := storetest.Club(t, s, "frozen")
	node, w := wired(t, address)
	if _, err := node.Club(ctx, f.Coach.Club); err != nil {
		t.Fatal(err)
	}
	w.Freeze(true)
	if got := word(t, node); got != store.NoDatabase {
		t.Errorf("frozen: %q", got)
	}
	if _, err := node.Club(ctx, f.Coach.Club); game.KindOf(err) != game.Away {
		t.Errorf("a question is answered %v", err)
	}
	if _, err := node.RecordOf(ctx, f.Coach.Club, f.Student.Person); game.KindOf(err) != game.Away {
		t.Errorf("a transaction ends by %v", err)
	}
	node.Close()
}

// TestReadyWords: each cause has its word; no space lasts from the first commit
// that is refused for it until one goes through.
func TestReadyWords(t *testing.T) {
	t.Parallel()
	s, address := open(t)
	f := storetest.Club(t, s, "full")
	set := f.Setup(t, s)
	if got := word(t, s); got != "" {
		t.Fatalf("at first: %q", got)
	}
	s.Heard(time.Now().Add(-time.Minute))
	if got := word(t, s); got != store.NoListener {
		t.Errorf("nothing heard for a minute: %q", got)
	}
	s.Heard(time.Now())
	storetest.Exec(t, address, `create function no_space() returns trigger language plpgsql as $$
		begin raise exception 'no space left' using errcode = '53100'; end $$`)
	storetest.Exec(t, address, `create trigger full_acts before insert on acts execute function no_space()`)
	storetest.Exec(t, address, `create trigger full_nodes before insert on nodes execute function no_space()`)
	act := practice.Act{Seq: 1, Kind: practice.Helped, Client: "h"}
	if _, _, err := s.Append(ctx, f.Coach.Club, set, act, nil); game.KindOf(err) != game.Away {
		t.Errorf("an act on a full disk: %v", err)
	}
	if got := word(t, s); got != store.NoSpace {
		t.Errorf("after a refused commit: %q", got)
	}
	if err := s.Alive(ctx); err == nil || word(t, s) != store.NoSpace {
		t.Errorf("while it is full: %v, %q", err, word(t, s))
	}
	storetest.Exec(t, address, `drop trigger full_nodes on nodes`)
	if err := s.Alive(ctx); err != nil || word(t, s) != "" {
		t.Errorf("with space again: %v, %q", err, word(t, s))
	}
}

// TestPanicCostsOneBatch: what the committer panics at is lost, and the next act is
// written.
func TestPanicCostsOneBatch(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "panic")
	set := f.Setup(t, s)
	s.Poison()
	for range 2 { // the first may stand in the batch of the poison, and is told so
		if _, won, _ := s.Append(ctx, f.Coach.Club, set, practice.Act{Seq: 1, Kind: practice.Helped, Client: "h"}, nil); won {
			return
		}
	}
	t.Error("after a panic nothing is written any more")
}

// TestOneClock: a node whose clock is wrong tells the time as the database has it.
func TestOneClock(t *testing.T) {
	t.Parallel()
	_, address := open(t)
	for _, wrong := range []time.Duration{-20 * time.Second, 20 * time.Second, time.Hour} {
		s, err := store.Open(ctx, address, func() time.Time { return time.Now().Add(wrong) })
		if err != nil {
			t.Fatal(err)
		}
		if err := s.Alive(ctx); err != nil {
			t.Fatal(err)
		}
		if off := time.Since(s.Clock()).Abs(); off > 2*time.Second { // as long as the question may take
			t.Errorf("a clock wrong by %s is off by %s", wrong, off)
		}
		s.Close()
	}
}

// TestOrphans: a look over a node that has been silent is an orphan; one over a
// node that lives, one that has ended, and one in an ended game are not.
func TestOrphans(t *testing.T) {
	t.Parallel()
	s, address := open(t)
	f := storetest.Club(t, s, "orphans")
	set := f.Setup(t, s)
	add := func(seq int, kind practice.Kind, client string) {
		t.Helper()
		a := practice.Act{Seq: seq, Kind: kind, Client: client, By: f.Coach.Person}
		if _, won, err := s.Append(ctx, f.Coach.Club, set, a, nil); err != nil || !won {
			t.Fatal(won, err)
		}
	}
	orphans := func() int {
		t.Helper()
		all, err := s.Orphans(ctx)
		if err != nil {
			t.Fatal(err)
		}
		return len(all)
	}
	one, two := practice.Line{ID: "one"}, practice.Line{ID: "two"}
	add(1, practice.Watch, one.Begins())
	add(2, practice.Watch, two.Begins())
	if err := s.Alive(ctx); err != nil {
		t.Fatal(err)
	}
	storetest.Exec(t, address, `update acts set at = at - interval '1 minute'`)
	if n := orphans(); n != 0 {
		t.Errorf("of a node that lives: %d", n)
	}
	storetest.Exec(t, address, `update nodes set seen_at = seen_at - interval '16 seconds'`)
	if n := orphans(); n != 2 {
		t.Errorf("of a silent node: %d", n)
	}
	add(3, practice.Unseen, one.Ends())
	if n := orphans(); n != 1 {
		t.Errorf("after one has ended: %d", n)
	}
	if err := s.Goodbye(ctx); err != nil {
		t.Fatal(err)
	}
	storetest.Exec(t, address, `update games set ended_at = now(), result = 'not won' where id = $1`, f.Game)
	if n := orphans(); n != 0 {
		t.Errorf("in an ended game: %d", n)
	}
}

// TestGoodActsOfABadBatchAreHeard: of acts that went out together with one that cannot be
// written, the good ones are written and other nodes hear of them.
func TestGoodActsOfABadBatchAreHeard(t *testing.T) {
	t.Parallel()
	s, address := open(t)
	f := storetest.Club(t, s, "split")
	set := f.Setup(t, s)
	node, err := store.Open(ctx, address, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer node.Close()
	heard, fresh, ended := make(chan int, 10), make(chan struct{}, 10), make(chan struct{})
	listening, stop := context.WithCancel(ctx)
	go func() {
		defer close(ended)
		node.Listen(listening, store.Listener{
			Changed: func(_ context.Context, _ game.ClubID, _ game.GameID, seq int) error { heard <- seq; return nil },
			Refresh: func(context.Context) error { fresh <- struct{}{}; return nil },
			Failed:  func(error) {},
		})
	}()
	defer func() { stop(); <-ended }()
	<-fresh
	act := func(seq int) practice.Act { return practice.Act{Seq: seq, Kind: practice.Helped, Client: "h"} }
	const beyond = 40_000 // more than the column holds
	won, errs := s.Together(f.Coach.Club, set, act(1), act(beyond), act(2))
	if !won[0] || won[1] || !won[2] || errs[0] != nil || errs[1] == nil || errs[2] != nil {
		t.Fatalf("%v, %v", won, errs)
	}
	for want := 1; want <= 2; want++ {
		select {
		case got := <-heard:
			if got != want {
				t.Errorf("heard of act %d, want %d", got, want)
			}
		case <-time.After(30 * time.Second):
			t.Fatalf("act %d is not heard", want)
		}
	}
}

// TestHintsFitTheirNotification: Postgres takes notifications of less than 8000 bytes; all
// hints go out, in order, and each notification is filled before the next is begun.
func TestHintsFitTheirNotification(t *testing.T) {
	t.Parallel()
	var all []string
	for i := range 3000 {
		all = append(all, fmt.Sprintf("%d:%d:%d", 1+i%7, 100_000+i*i, i%400))
	}
	sent := store.Payloads(slices.Clone(all))
	if got := strings.Fields(strings.Join(sent, " ")); !slices.Equal(got, all) {
		t.Errorf("%d hints of %d, or not in order", len(got), len(all))
	}
	for i, p := range sent {
		if last := i == len(sent)-1; len(p) >= 8000 || !last && len(p) < 7000 {
			t.Errorf("notification %d of %d has %d bytes", i+1, len(sent), len(p))
		}
	}
}
