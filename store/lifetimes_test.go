package store_test

import (
	"slices"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
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
		if isOver(t, s, unused) {
			t.Errorf("%s: over just before %v without use", c.who.Role, c.idle)
		}
		if _, err := s.Session(ctx, used); err != nil {
			t.Errorf("%s: %v", c.who.Role, err)
		}
		pass(2 * time.Second)
		if !isOver(t, s, unused) {
			t.Errorf("%s: good after %v without use", c.who.Role, c.idle)
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

// isOver says whether a session is over, without using it.
func isOver(t *testing.T, s *store.Store, token club.Secret) bool {
	t.Helper()
	over, err := s.Over(ctx, token)
	if err != nil {
		t.Fatal(err)
	}
	return len(over) == 1 && over[0] == token
}

// TestOver: of many sessions asked for at once, those are over that have ended, are
// idle, were signed out or never were; to ask is no use.
func TestOver(t *testing.T) {
	t.Parallel()
	s, _, pass := clocked(t)
	f := storetest.Club(t, s, "over")
	coach, student, out := signedIn(t, s, f.Coach), signedIn(t, s, f.Student), signedIn(t, s, f.Guardian)
	if err := s.SignOut(ctx, out); err != nil {
		t.Fatal(err)
	}
	odd := club.NewSecret(f.Coach.Club)
	check := func(when string, want ...club.Secret) {
		t.Helper()
		over, err := s.Over(ctx, coach, student, out, odd, "nonsense")
		if want = append(want, out, odd, "nonsense"); err != nil || !slices.Equal(over, want) {
			t.Errorf("%s: %d over, not %d (%v)", when, len(over), len(want), err)
		}
	}
	check("at first")
	pass(61 * time.Minute)
	check("after the coach's hour", coach)
	pass(47 * time.Hour)
	check("after the student's two days", coach, student)
	if none, err := s.Over(ctx); err != nil || len(none) != 0 {
		t.Errorf("of none: %v, %v", none, err)
	}
}

// TestSharedDevice: a session on a device that others use, too, lasts two hours without use
// (quality bar beside OWASP ASVS 5.0, 7.3.1), as long as any other in all; on the same
// device the child's other sessions are as they were.
func TestSharedDevice(t *testing.T) {
	t.Parallel()
	s, url, pass := clocked(t)
	f := storetest.Club(t, s, "shared")
	own := signedIn(t, s, f.Student)
	shared, all, err := s.SignInShared(ctx, f.Student, "Chrome")
	if err != nil || all != 14*24*time.Hour {
		t.Fatalf("it lasts %v: %v", all, err)
	}
	used, _, err := s.SignInShared(ctx, f.Student, "Chrome")
	must1(t, err)
	coach, _, err := s.SignInShared(ctx, f.Coach, "Chrome")
	must1(t, err)
	pass(time.Hour + time.Second)
	if !isOver(t, s, coach) {
		t.Error("a coach's session is longer on a shared device")
	}
	if _, err := s.Session(ctx, used); err != nil {
		t.Fatal(err)
	}
	pass(time.Hour - 2*time.Second)
	if isOver(t, s, shared) {
		t.Error("over just before two hours without use")
	}
	pass(2 * time.Second)
	if !isOver(t, s, shared) || isOver(t, s, used) || isOver(t, s, own) {
		t.Error("after two hours: the unused one is good, or another is over")
	}
	must1(t, s.Tidy(ctx))
	const left = `select count(*) from keys where club_id = $1 and kind = 'session' and person_id = $2`
	if n := scan[int](t, url, left, f.Student.Club, f.Student.Person); n != 2 {
		t.Errorf("%d sessions are left, not the used one and that of the own device", n)
	}
	if _, err := s.Session(ctx, shared); game.KindOf(err) != game.Missing {
		t.Errorf("after two hours: %v", err)
	}
	if _, err := s.Session(ctx, used); err != nil {
		t.Errorf("used within two hours: %v", err)
	}
}
