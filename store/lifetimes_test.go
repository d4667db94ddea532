package store_test

import (
	"testing"
	"time"

	"drover/game"
	"drover/store/storetest"
)

// TestLifetimes: how long a session of each role lasts without use, and in all however much
// it is used (OWASP ASVS 5.0, 7.3.1 and 7.3.2).
func TestLifetimes(t *testing.T) {
	t.Parallel()
	const day = 24 * time.Hour
	s, _, pass := clocked(t)
	f := storetest.Club(t, s, "lifetimes")
	for _, c := range []struct {
		who       game.Actor
		all, idle time.Duration
	}{{f.Coach, 12 * time.Hour, time.Hour}, {f.Guardian, 30 * day, 7 * day}, {f.Student, 14 * day, 2 * day}} {
		unused, used := signedIn(t, s, c.who), signedIn(t, s, c.who)
		if _, all, err := s.SignIn(ctx, c.who); err != nil || all != c.all {
			t.Errorf("%s: a session lasts %v, %v", c.who.Role, all, err)
		}
		pass(c.idle - time.Second)
		if err := s.SignedIn(ctx, unused); err != nil {
			t.Errorf("%s: just before %v without use: %v", c.who.Role, c.idle, err)
		}
		if _, err := s.Session(ctx, used); err != nil {
			t.Errorf("%s: %v", c.who.Role, err)
		}
		pass(2 * time.Second)
		if err := s.SignedIn(ctx, unused); game.KindOf(err) != game.Missing {
			t.Errorf("%s: after %v without use: %v", c.who.Role, c.idle, err)
		}
		for left := c.all - c.idle - 2*time.Second; left > 0; left -= c.idle / 2 {
			if _, err := s.Session(ctx, used); err != nil {
				t.Fatalf("%s: %v before the end: %v", c.who.Role, left, err)
			}
			pass(min(left, c.idle/2))
		}
		pass(time.Second)
		if _, err := s.Session(ctx, used); game.KindOf(err) != game.Missing {
			t.Errorf("%s: after %v in all: %v", c.who.Role, c.all, err)
		}
	}
}
