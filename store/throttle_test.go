package store_test

import (
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/store/storetest"
)

// TestThrottle: after five failures each next attempt has to wait longer, never
// for ever; a success forgets (OWASP ASVS 5.0, 6.3.1).
func TestThrottle(t *testing.T) {
	t.Parallel()
	url := storetest.URL(t)
	now := time.Now()
	s, err := store.Open(ctx, url, func() time.Time { return now })
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	key := club.Lookup("card", "101")
	strict := store.Throttle{Scale: 1, Forget: time.Minute}
	try := func(scale int) game.Kind {
		t.Helper()
		return game.KindOf(s.Attempt(ctx, key, store.Throttle{Scale: scale, Forget: time.Minute}))
	}
	for range 5 {
		if err := s.Attempt(ctx, key, strict); err != nil {
			t.Fatal(err)
		}
	}
	if try(1) != game.Busy {
		t.Error("a sixth attempt at once was let through")
	}
	if err := s.Attempt(ctx, key, store.Throttle{Scale: 10, Forget: time.Minute}); err != nil {
		t.Errorf("a shared key: %v", err)
	}
	now = now.Add(5 * time.Minute)
	if err := s.Attempt(ctx, key, strict); err != nil {
		t.Errorf("after five minutes: %v", err)
	}
	if err := s.Forget(ctx, key); err != nil {
		t.Fatal(err)
	}
	if err := s.Attempt(ctx, key, strict); err != nil {
		t.Errorf("after a success: %v", err)
	}
}

// TestFailuresAreForgotten: a wrong attempt every five minutes for three days never
// makes anybody wait, and after a quiet time all five are free again.
func TestFailuresAreForgotten(t *testing.T) {
	t.Parallel()
	now := time.Now()
	s, err := store.Open(ctx, storetest.URL(t), func() time.Time { return now })
	if err != nil {
		t.Fatal(err)
	}
	defer s.Close()
	key, strict := club.Lookup("card", "103"), store.Throttle{Scale: 1, Forget: time.Minute}
	for i := range 3 * 24 * 12 {
		if err := s.Attempt(ctx, key, strict); err != nil {
			t.Fatalf("attempt %d: %v", i, err)
		}
		now = now.Add(5 * time.Minute)
	}
	for range 8 {
		_ = s.Attempt(ctx, key, strict) // some are refused
	}
	now = now.Add(8 * time.Minute)
	for i := range 5 {
		if err := s.Attempt(ctx, key, strict); err != nil {
			t.Errorf("attempt %d after a quiet time: %v", i+1, err)
		}
	}
}

// TestThrottleAtOnce: of many attempts that come at the same time only the free
// ones are looked at.
func TestThrottleAtOnce(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	key, strict := club.Lookup("card", "102"), store.Throttle{Scale: 1, Forget: time.Minute}
	var wg sync.WaitGroup
	var through atomic.Int32
	for range 40 {
		wg.Add(1)
		go func() {
			defer wg.Done()
			switch err := s.Attempt(ctx, key, strict); game.KindOf(err) {
			case game.Busy:
			default:
				if err != nil {
					t.Error(err)
				}
				through.Add(1)
			}
		}()
	}
	wg.Wait()
	if n := through.Load(); n != 5 {
		t.Errorf("%d of 40 attempts at once were let through", n)
	}
}
