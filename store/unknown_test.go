package store_test

import (
	"fmt"
	"testing"
	"time"

	"drover/game"
	"drover/game/practice"
	"drover/store"
	"drover/store/storetest"
)

// wired opens a store whose connections go through a wire.
func wired(t *testing.T, address string) (*store.Store, *storetest.Wire) {
	t.Helper()
	w := storetest.NewWire(t, address)
	s, err := store.Open(ctx, w.URL, time.Now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Close)
	return s, w
}

// groups are the two ways in which acts are written: in one statement, which is cut
// where it is sent, and in a transaction with what an end brings, which is cut at its
// commit.
var groups = map[string]struct {
	at   string
	acts []practice.Act
}{
	"one statement": {"helped", []practice.Act{{Seq: 1, Kind: practice.Helped, Client: "a"},
		{Seq: 2, Kind: practice.Helped, Client: "b"}}},
	"a transaction": {"", []practice.Act{{Seq: 1, Kind: practice.Helped, Client: "a"},
		{Seq: 2, Kind: practice.Resign, Client: "b", End: practice.Resigned}}},
}

// TestUnknownCommitIsNotWrittenAgain: where nobody knows whether a group was
// committed, each of its acts is told so, and none is written a second time: the
// repeat of the command finds out.
func TestUnknownCommitIsNotWrittenAgain(t *testing.T) {
	t.Parallel()
	for name, g := range groups {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s, address := open(t)
			f := storetest.Club(t, s, "unknown")
			set := f.Setup(t, s)
			node, w := wired(t, address)
			if err := node.Alive(ctx); err != nil {
				t.Fatal(err) // the wire carries what it does not cut
			}
			w.At = g.at
			w.Cut.Store(1)
			won, errs := node.Together(f.Coach.Club, set, g.acts...)
			for i, err := range errs {
				if won[i] || game.KindOf(err) != game.Away {
					t.Errorf("act %d: won %v, %v", i, won[i], err)
				}
			}
			if w.Cut.Load() != 0 {
				t.Errorf("%d writes were sent", 1-w.Cut.Load())
			}
			if log, err := s.Load(ctx, f.Coach.Club, f.Game, 0); err != nil || len(log) != 0 {
				t.Errorf("the log holds %+v, %v", log, err)
			}
			w.Cut.Store(0)
			for i, a := range g.acts { // the repeat of the command
				if _, won, err := node.Append(ctx, f.Coach.Club, set, a, nil); err != nil || !won {
					t.Errorf("the repeat of act %d: %v, %v", i, won, err)
				}
			}
		})
	}
}

// TestUnheardCommitIsThereOnce: a group that was committed unheard is in the log
// once, and the repeats of its commands are told that the numbers are taken.
func TestUnheardCommitIsThereOnce(t *testing.T) {
	t.Parallel()
	for name, g := range groups {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			s, address := open(t)
			f := storetest.Club(t, s, "unheard")
			set := f.Setup(t, s)
			node, w := wired(t, address)
			w.Pass, w.At = true, g.at
			w.Cut.Store(1)
			_, errs := node.Together(f.Coach.Club, set, g.acts...)
			for i, err := range errs {
				if game.KindOf(err) != game.Away {
					t.Errorf("act %d: %v", i, err)
				}
			}
			for i, a := range g.acts {
				if _, won, err := s.Append(ctx, f.Coach.Club, set, a, nil); err != nil || won {
					t.Errorf("the repeat of act %d: %v, %v", i, won, err)
				}
			}
			log, err := s.Load(ctx, f.Coach.Club, f.Game, 0)
			if err != nil || len(log) != 2 || fmt.Sprint(log[0].Client, log[1].Client) != "ab" {
				t.Errorf("the log holds %+v, %v", log, err)
			}
		})
	}
}
