package store_test

import (
	"bytes"
	"os/exec"
	"strings"
	"sync"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/store/storetest"

	"github.com/pquerna/otp/totp"
)

// factored is a club whose coach has a second factor, with its secret and recovery codes.
func factored(t *testing.T, s *store.Store, name string, now game.Clock) (f storetest.Fixture, secret string, codes []string) {
	t.Helper()
	f = storetest.Club(t, s, name)
	session, _, err := s.SignIn(ctx, f.Coach)
	if err != nil {
		t.Fatal(err)
	}
	factor, err := s.BeginFactor(ctx, f.Coach, session)
	if err != nil {
		t.Fatal(err)
	}
	if err := s.ConfirmFactor(ctx, f.Coach, session, code(t, factor.Secret, now())); err != nil {
		t.Fatal(err)
	}
	if err := s.Shown(ctx, session, store.ShownCodes, int64(f.Coach.Person), &codes); err != nil || len(codes) != 10 {
		t.Fatalf("%d codes, %v", len(codes), err)
	}
	return f, factor.Secret, codes
}

func code(t *testing.T, secret string, at time.Time) string {
	t.Helper()
	text, err := totp.GenerateCode(secret, at)
	if err != nil {
		t.Fatal(err)
	}
	return text
}

// TestCodesWorkOnce: a code of the phone is good once, also of two that come at once, the
// one that turned the factor on included; so is a recovery code. Neither is another
// coach's.
func TestCodesWorkOnce(t *testing.T) {
	t.Parallel()
	at := time.Now()
	now := func() time.Time { return at }
	s := storetest.New(t, now)
	f, secret, codes := factored(t, s, "once", now)
	if err := s.UseCode(ctx, f.Coach, code(t, secret, at)); game.KindOf(err) != game.Denied {
		t.Errorf("the code that turned it on again: %v", err)
	}
	for name, typed := range map[string]string{"a code": code(t, secret, at.Add(30*time.Second)), "a recovery code": codes[3]} {
		if err := s.UseCode(ctx, f.Coach2, typed); game.KindOf(err) != game.Denied {
			t.Errorf("%s for another coach: %v", name, err)
		}
		var wg sync.WaitGroup
		var errs [4]error
		for i := range errs {
			wg.Go(func() { errs[i] = s.UseCode(ctx, f.Coach, typed) })
		}
		wg.Wait()
		good := 0
		for _, err := range errs {
			if err == nil {
				good++
			} else if game.KindOf(err) != game.Denied {
				t.Errorf("%s: %v", name, err)
			}
		}
		if good != 1 {
			t.Errorf("%s is good %d times", name, good)
		}
	}
	own, err := s.Account(ctx, f.Coach)
	if err != nil || own.Codes != 9 || !own.Factor {
		t.Errorf("%+v, %v", own, err)
	}
}

// TestDumpHoldsNoSecret: what is stored gives away neither the secret nor a recovery code
// nor a token, and with another key the secret opens to nobody.
func TestDumpHoldsNoSecret(t *testing.T) {
	t.Parallel()
	s := storetest.New(t, time.Now)
	f, secret, codes := factored(t, s, "dump", time.Now)
	half, _, err := s.Half(ctx, f.Coach)
	if err != nil {
		t.Fatal(err)
	}
	reset, err := s.ResetCoach(ctx, f.Coach, f.Coach2.Person, store.ResetPassword)
	if err != nil {
		t.Fatal(err)
	}
	var dump bytes.Buffer
	cmd := exec.CommandContext(ctx, "pg_dump", "--inserts", storetest.Address(s))
	cmd.Stdout = &dump
	if err := cmd.Run(); err != nil {
		t.Fatalf("pg_dump: %v", err)
	}
	hex := func(text string) string {
		const digits = "0123456789abcdef"
		var b strings.Builder
		for _, c := range []byte(text) {
			b.WriteByte(digits[c>>4])
			b.WriteByte(digits[c&15])
		}
		return b.String()
	}
	text := dump.String()
	if !strings.Contains(text, "INSERT INTO public.factors") {
		t.Fatal("the dump has no row of factors")
	}
	for _, plain := range []string{secret, codes[0], strings.ReplaceAll(codes[0], "-", ""), string(half), string(reset.Token)} {
		if strings.Contains(text, plain) || strings.Contains(text, hex(plain)) {
			t.Errorf("the dump holds %q", plain)
		}
	}
	other, _ := club.NewVault([]byte(strings.Repeat("another ", 4)))
	s.Unlock(other)
	if err := s.UseCode(ctx, f.Coach, code(t, secret, time.Now().Add(30*time.Second))); game.KindOf(err) != game.Internal {
		t.Errorf("with another key: %v", err)
	}
}

// TestHalfSignedInOpensNothing: the token of a sign-in that needs a code is no session,
// and ends within ten minutes.
func TestHalfSignedInOpensNothing(t *testing.T) {
	t.Parallel()
	at := time.Now()
	s := storetest.New(t, func() time.Time { return at })
	f := storetest.Club(t, s, "half")
	half, _, err := s.Half(ctx, f.Coach)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.Session(ctx, half); game.KindOf(err) != game.Missing {
		t.Errorf("it is a session: %v", err)
	}
	if over, err := s.Over(ctx, half); err != nil || len(over) != 1 {
		t.Errorf("sockets take it: %v", err)
	}
	if _, err := s.Open(ctx, half); game.KindOf(err) != game.Gone {
		t.Errorf("it opens as a link: %v", err)
	}
	if ok, err := s.Proved(ctx, half); err != nil || ok {
		t.Errorf("it proves who somebody is: %v", err)
	}
	if a, email, err := s.HalfOf(ctx, half); err != nil || a != f.Coach || email != f.Email {
		t.Errorf("%v, %q, %v", a, email, err)
	}
	at = at.Add(11 * time.Minute)
	if _, _, err := s.HalfOf(ctx, half); game.KindOf(err) != game.Missing {
		t.Errorf("after eleven minutes: %v", err)
	}
	if err := s.Tidy(ctx); err != nil {
		t.Error(err)
	}
}

// TestShortPasswordKeepsTheFactorOn: beside a second factor a password of 8 characters is
// enough; the factor cannot be turned off before there is a longer one.
func TestShortPasswordKeepsTheFactorOn(t *testing.T) {
	t.Parallel()
	s := storetest.New(t, time.Now)
	f, _, _ := factored(t, s, "short", time.Now)
	change := func(password string) error { return s.ChangePassword(ctx, f.Coach, "", password) }
	if err := s.ChangePassword(ctx, f.Coach2, "", "vexlampo"); game.KindOf(err) != game.Bad {
		t.Errorf("without a factor: %v", err)
	}
	if err := change("football"); game.KindOf(err) != game.Bad {
		t.Errorf("a common one: %v", err)
	}
	if err := change("vexlampo"); err != nil {
		t.Fatal(err)
	}
	if err := s.DropFactor(ctx, f.Coach); game.KindOf(err) != game.Conflict {
		t.Errorf("turned off beside a short password: %v", err)
	}
	if err := change("vexlamp otter moon"); err != nil {
		t.Fatal(err)
	}
	if err := s.DropFactor(ctx, f.Coach); err != nil {
		t.Error(err)
	}
	if own, err := s.Account(ctx, f.Coach); err != nil || own.Factor || own.Codes != 0 || own.Short {
		t.Errorf("%+v, %v", own, err)
	}
}

// TestOwnersNeedTheirFactorInAWeek: an owner without one is asked from the seventh day on;
// a coach who owns nothing is not.
func TestOwnersNeedTheirFactorInAWeek(t *testing.T) {
	t.Parallel()
	at := time.Now()
	s := storetest.New(t, func() time.Time { return at })
	f := storetest.Club(t, s, "week")
	due := func(a game.Actor) bool {
		t.Helper()
		ok, err := s.FactorDue(ctx, a)
		if err != nil {
			t.Fatal(err)
		}
		return ok
	}
	at = at.Add(store.FactorWithin - time.Minute)
	if due(f.Coach) {
		t.Error("before a week is over")
	}
	at = at.Add(2 * time.Minute)
	if !due(f.Coach) || due(f.Coach2) {
		t.Error("after a week")
	}
	if err := s.MakeOwner(ctx, f.Coach, f.Coach2.Person); err != nil || !due(f.Coach2) {
		t.Errorf("a new owner: %v", err)
	}
	f2, _, _ := factored(t, s, "week2", func() time.Time { return at })
	if due(f2.Coach) {
		t.Error("with a second factor")
	}
}

// TestResetsEndSessionsAndLeaveTheOther: a reset ends the coach's sessions and known
// browsers, and nobody else's; it resets one thing, and the other is still asked for. Only
// an owner may, and nobody of another club is found.
func TestResetsEndSessionsAndLeaveTheOther(t *testing.T) {
	t.Parallel()
	at := time.Now()
	s := storetest.New(t, func() time.Time { return at })
	f, secret, _ := factored(t, s, "reset", func() time.Time { return at })
	other := storetest.Club(t, s, "elsewhere")
	if err := s.MakeOwner(ctx, f.Coach, f.Coach2.Person); err != nil {
		t.Fatal(err)
	}
	for name, by := range map[string]game.Actor{"oneself": f.Coach, "of another club": other.Coach, "no owner": other.Coach2} {
		who := f.Coach.Person
		if name == "no owner" {
			who = other.Coach.Person
		}
		if _, err := s.ResetCoach(ctx, by, who, store.ResetPassword); game.KindOf(err) != game.Missing {
			t.Errorf("%s: %v", name, err)
		}
	}
	for i, what := range []store.ResetWhat{store.ResetPassword, store.ResetFactor} {
		by := []game.Actor{f.Coach2, {Club: f.Coach.Club}}[i]
		session, _, err1 := s.SignIn(ctx, f.Coach)
		mine, _, err2 := s.SignIn(ctx, f.Coach2)
		seen, err3 := s.Remember(ctx, f.Coach, nil)
		if err1 != nil || err2 != nil || err3 != nil {
			t.Fatal(err1, err2, err3)
		}
		r, err := s.ResetCoach(ctx, by, f.Coach.Person, what)
		if err != nil {
			t.Fatal(err)
		}
		if _, err := s.Session(ctx, session); game.KindOf(err) != game.Missing {
			t.Errorf("%s: the session goes on: %v", what, err)
		}
		if _, err := s.Session(ctx, mine); err != nil {
			t.Errorf("%s: another coach's session: %v", what, err)
		}
		if hash, err := s.Device(ctx, seen, "", f.Email); err != nil || hash != nil {
			t.Errorf("%s: the browser is still known: %v", what, err)
		}
		for _, a := range []game.Actor{f.Coach, f.Coach2} {
			rows, err := s.Notices(ctx, a)
			if err != nil || len(rows) == 0 || rows[len(rows)-1].What != store.NoticeWhat(what) || rows[len(rows)-1].ByID != by.Person {
				t.Errorf("%s: %s is told %+v, %v", what, a.Name, rows, err)
			}
		}
		switch what {
		case store.ResetPassword:
			passwordAnew(t, s, f, r)
		case store.ResetFactor:
			factorAnew(t, s, f, r, secret)
		}
	}
}

// passwordAnew uses a link for a new password: the old one has stopped, the second factor
// is still asked for, and the link works once.
func passwordAnew(t *testing.T, s *store.Store, f storetest.Fixture, r store.Reset) {
	t.Helper()
	if _, err := s.OpenPassword(ctx, club.Known, f.Email, f.Password); game.KindOf(err) != game.Denied {
		t.Errorf("the old password: %v", err)
	}
	if _, err := s.EndFactor(ctx, r.Token, ""); game.KindOf(err) != game.Gone {
		t.Errorf("the link for a password turns the factor off: %v", err)
	}
	if err := s.NewPassword(ctx, r.Token, "football"); game.KindOf(err) != game.Bad {
		t.Errorf("a common password: %v", err)
	}
	if err := s.NewPassword(ctx, r.Token, f.Password); err != nil {
		t.Fatal(err)
	}
	if err := s.NewPassword(ctx, r.Token, f.Password); game.KindOf(err) != game.Gone {
		t.Errorf("the link again: %v", err)
	}
	if on, err := s.FactorOn(ctx, f.Coach); err != nil || !on {
		t.Errorf("the second factor is gone: %v", err)
	}
	if a, err := s.OpenPassword(ctx, club.Known, f.Email, f.Password); err != nil || a != f.Coach {
		t.Errorf("the new password: %v", err)
	}
}

// factorAnew uses a link that turns the second factor off: until then it is asked for, the
// password stays, and the link works once.
func factorAnew(t *testing.T, s *store.Store, f storetest.Fixture, r store.Reset, secret string) {
	t.Helper()
	if on, err := s.FactorOn(ctx, f.Coach); err != nil || !on || secret == "" {
		t.Errorf("before the link is used: %v, %v", on, err)
	}
	if err := s.NewPassword(ctx, r.Token, f.Password); game.KindOf(err) != game.Gone {
		t.Errorf("the link for a factor makes a password: %v", err)
	}
	if a, err := s.EndFactor(ctx, r.Token, ""); err != nil || a != f.Coach {
		t.Fatal(err)
	}
	if _, err := s.EndFactor(ctx, r.Token, ""); game.KindOf(err) != game.Gone {
		t.Errorf("the link again: %v", err)
	}
	if on, err := s.FactorOn(ctx, f.Coach); err != nil || on {
		t.Errorf("afterwards: %v, %v", on, err)
	}
	if _, err := s.OpenPassword(ctx, club.Known, f.Email, f.Password); err != nil {
		t.Errorf("the password: %v", err)
	}
}
