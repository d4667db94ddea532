package club

import (
	"context"
	"errors"
	"testing"

	"drover/game"
)

// TestQueueRefusesAtOnce: as many run and wait as there are slots for; the next is
// refused at once, one that gives up makes room, and one that leaves lets the
// next in (OWASP ASVS 5.0, 11.4.2: a bound on what hashing may cost).
func TestQueueRefusesAtOnce(t *testing.T) {
	t.Parallel()
	q := newQueue(2, 8)
	var leave []func()
	for range 2 {
		out, err := q.enter(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		leave = append(leave, out)
	}
	waiting, cancel := context.WithCancel(t.Context())
	ended := make(chan error, 8)
	for range 8 {
		go func() {
			out, err := q.enter(waiting)
			if err == nil {
				out()
			}
			ended <- err
		}()
	}
	for len(q.wait) < 8 { // until they stand in the queue
		select {
		case err := <-ended:
			t.Fatalf("one of eight did not wait: %v", err)
		default:
		}
	}
	if _, err := q.enter(t.Context()); game.KindOf(err) != game.Busy {
		t.Errorf("the ninth is told %v", err)
	}
	leave[0]()
	if err := <-ended; err != nil {
		t.Errorf("the first in the queue was not let in: %v", err)
	}
	out, err := q.enter(t.Context()) // there is room again
	if err != nil {
		t.Fatal(err)
	}
	out()
	for len(ended) < 7 && len(q.wait) > 0 {
		leave[1]()
		leave[1] = func() {}
	}
	cancel()
	for range 7 {
		if err := <-ended; err != nil && !errors.Is(err, context.Canceled) {
			t.Errorf("a waiter ended by %v", err)
		}
	}
}

// TestStrangersDoNotHoldUpTheKnown: with all slots of strangers taken, a browser
// that knows its person has its turn.
func TestStrangersDoNotHoldUpTheKnown(t *testing.T) {
	strangers := newQueue(cap(Strangers.run), cap(Strangers.wait))
	for range cap(strangers.run) {
		if _, err := strangers.enter(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := HashPassword(t.Context(), Known, "a field of heather"); err != nil {
		t.Error(err)
	}
	gone, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := HashPassword(gone, strangers, "a field of heather"); !errors.Is(err, context.Canceled) {
		t.Errorf("who has gone is answered %v", err)
	}
	if ok, err := CheckPassword(t.Context(), Known, "", "anything"); ok || err != nil {
		t.Errorf("nobody's password matches: %v, %v", ok, err)
	}
}
