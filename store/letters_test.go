package store_test

import (
	"errors"
	"fmt"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/store/storetest"

	"github.com/jackc/pgx/v5"
)

// TestWeeklyMailIsDueOnSundayEvening: in the club's own time from six on, once in a week; the
// reminder on Monday morning. In Auckland Sunday evening is the morning in UTC, with summer
// time: +13 on 29 November 2026 (IANA time zone database).
func TestWeeklyMailIsDueOnSundayEvening(t *testing.T) {
	t.Parallel()
	url := storetest.URL(t)
	now := time.Date(2026, 11, 27, 0, 0, 0, 0, time.UTC)
	s, err := store.Open(ctx, url, func() time.Time { return now })
	must1(t, err)
	defer s.Close()
	s.SendMail()
	f := storetest.Club(t, s, "due")
	storetest.Exec(t, url, `update clubs set zone = 'Pacific/Auckland'`)
	must1(t, s.AskAddress(ctx, f.Guardian, "una@home.example", true))
	must1(t, s.AskAddress(ctx, f.Guardian2, "per@home.example", true)) // who does not say yes
	must1(t, s.AskReminder(ctx, f.Coach, true))
	storetest.Exec(t, url, `update addresses set confirmed_at = now() where person_id in ($1, $2)`, f.Guardian.Person, f.Coach.Person)
	for _, c := range []struct {
		at             string
		weekly, monday int
	}{
		{"2026-11-29T04:59:00Z", 0, 0}, // 17:59 on Sunday
		{"2026-11-29T05:00:00Z", 1, 0},
		{"2026-11-29T10:59:00Z", 1, 0},
		{"2026-11-29T17:59:00Z", 1, 0}, // 6:59 on Monday
		{"2026-11-29T18:00:00Z", 1, 1},
		{"2026-11-29T22:00:00Z", 1, 1},
		{"2026-12-01T18:00:00Z", 1, 1},
		{"2026-12-06T10:59:00Z", 2, 1}, // the next Sunday, a minute before midnight
		{"2026-12-06T23:00:00Z", 2, 1}, // noon on Monday: the morning is over
	} {
		if now, err = time.Parse(time.RFC3339, c.at); err != nil {
			t.Fatal(err)
		}
		for range 2 {
			must1(t, s.PutDueLetters(ctx))
		}
		const q = `select array[count(*) filter (where kind = 'weekly' and to_id = $1), count(*) filter (where kind = 'monday' and to_id = $2),
			count(*) filter (where week is not null and to_id not in ($1, $2))] from letters`
		got := scan[[]int](t, url, q, f.Guardian.Person, f.Coach.Person)
		if got[0] != c.weekly || got[1] != c.monday || got[2] != 0 {
			t.Errorf("%s: %v mails, want %d and %d", c.at, got, c.weekly, c.monday)
		}
	}
}

// TestAddressIsNoWayIn: an address for mail is nobody's to sign in with, neither with a
// password nor by a link to a new one, and takes none from a coach who has it too.
func TestAddressIsNoWayIn(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	s.SendMail()
	f := storetest.Club(t, s, "noway")
	must1(t, s.AskAddress(ctx, f.Guardian, "una@home.example", true))
	must1(t, s.AskAddress(ctx, f.Guardian2, f.Email, true)) // the coach is a guardian, too
	if _, err := s.OpenPassword(ctx, club.Known, "una@home.example", ""); game.KindOf(err) != game.Denied {
		t.Errorf("signs in: %v", err)
	}
	if a, err := s.OpenPassword(ctx, club.Known, f.Email, f.Password); err != nil || a.Person != f.Coach.Person {
		t.Errorf("%+v, %v", a, err)
	}
	if n := scan[int](t, url, `select count(*) from people where email in ('una@home.example', $1)`, f.Email); n != 1 {
		t.Errorf("%d people have such an address", n)
	}
}

// TestLinkIsForItsAddressAlone: where an address changes at the very moment in which a mail
// begins to be sent, or somebody says yes, the mail goes to the new address, and the link that
// was sent to the old one confirms nothing; nor does it choose a new password.
func TestLinkIsForItsAddressAlone(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	s.SendMail()
	f := storetest.Club(t, s, "moment")
	conn, err := pgx.Connect(ctx, url)
	must1(t, err)
	defer conn.Close(ctx)
	meanwhile := func(does func() error, who game.Actor, change string) {
		t.Helper()
		held, err := conn.Begin(ctx)
		must1(t, err)
		const hold = `select from people where club_id = $1 and id = $2 for update`
		must1(t, second(held.Exec(ctx, hold, who.Club, who.Person)))
		must1(t, second(held.Exec(ctx, `select from addresses for update`)))
		done := make(chan error)
		go func() { done <- does() }()
		queued(t, held, 1)
		must1(t, second(held.Exec(ctx, change+`; delete from keys where kind in ('confirm', 'password')`)))
		must1(t, errors.Join(held.Commit(ctx), <-done))
	}
	var l *store.Letter
	take := func(id int64) func() error {
		return func() (err error) { l, err = s.TakeLetter(ctx, f.Coach.Club, id); return err }
	}
	const moves = `update addresses set email = 'new@home.example', confirmed_at = null`
	must1(t, s.AskAddress(ctx, f.Guardian, "old@home.example", true))
	meanwhile(take(1), f.Guardian, moves)
	if l == nil || l.Email != "new@home.example" {
		t.Errorf("a link for the new address goes to %+v", l)
	}
	storetest.Exec(t, url, `update addresses set email = 'old@home.example'`)
	must1(t, s.PutOffLetter(ctx, f.Coach.Club, 1))
	must1(t, take(1)())
	var said error
	meanwhile(func() error { _, said = s.ConfirmAddress(ctx, l.Token); return nil }, f.Guardian, moves)
	if own, err := s.Address(ctx, f.Guardian); err != nil || own.Confirmed || game.KindOf(said) != game.Gone {
		t.Errorf("%s is confirmed with a link to another: %t, %v, %v", own.Email, own.Confirmed, said, err)
	}
	must1(t, s.AskReset(ctx, "helper-"+f.Email))
	meanwhile(take(2), f.Coach2, fmt.Sprintf(`update people set email = 'new@club.example' where id = %d`, f.Coach2.Person))
	if l == nil || l.Email != "new@club.example" {
		t.Errorf("a link to a new password goes to %+v", l)
	}
}

// TestMondayMailIsTriedAgain: where what it counts cannot be read, nothing is noted and nothing
// was sent, so the next try sends it.
func TestMondayMailIsTriedAgain(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	s.SendMail()
	f := storetest.Club(t, s, "counts")
	must1(t, s.AskReminder(ctx, f.Coach, true))
	storetest.Exec(t, url, `update addresses set confirmed_at = now();
		insert into letters (club_id, id, to_id, kind, week, at) select club_id, 9, person_id, 'monday', '2026-11-23', now() from addresses;
		alter table attended rename to elsewhere`)
	if l, err := s.TakeLetter(ctx, f.Coach.Club, 9); err == nil {
		t.Fatalf("%+v, though nothing can be counted", l)
	}
	storetest.Exec(t, url, `alter table elsewhere rename to attended`)
	if l, err := s.TakeLetter(ctx, f.Coach.Club, 9); err != nil || l == nil || l.Token == "" {
		t.Errorf("%+v, %v", l, err)
	}
}

// TestNobodyIsAskedTooOften: an address is asked a few times a day at most whether it is
// somebody's, by one person or by several, and a link with which it says yes works once, for
// three days, and for that address alone.
func TestNobodyIsAskedTooOften(t *testing.T) {
	t.Parallel()
	url := storetest.URL(t)
	now := time.Date(2026, 11, 27, 0, 0, 0, 0, time.UTC)
	s, err := store.Open(ctx, url, func() time.Time { return now })
	must1(t, err)
	defer s.Close()
	f := storetest.Club(t, s, "often")
	if err := s.AskAddress(ctx, f.Guardian, "una@home.example", true); game.KindOf(err) != game.Conflict {
		t.Errorf("without a server: %v", err)
	}
	s.SendMail()
	for _, bad := range []string{"", "una", "una@", "una@home.example\r\nBcc: per@home.example", "Una <una@home.example>"} {
		if err := s.AskAddress(ctx, f.Guardian, bad, true); game.KindOf(err) != game.Bad {
			t.Errorf("%q: %v", bad, err)
		}
	}
	must1(t, s.AskAddress(ctx, f.Guardian, "wrong@home.example", true))
	first, err := s.TakeLetter(ctx, f.Coach.Club, 1)
	must1(t, err)
	for range 4 {
		must1(t, s.AskAddress(ctx, f.Guardian, "una@home.example", true))
	}
	if err := s.AskAddress(ctx, f.Guardian, "una@home.example", true); game.KindOf(err) != game.Busy {
		t.Errorf("the sixth: %v", err)
	}
	l, err := s.TakeLetter(ctx, f.Coach.Club, 5)
	must1(t, err)
	if l == nil || l.Email != "una@home.example" {
		t.Fatalf("%+v", l)
	}
	if _, err := s.ConfirmAddress(ctx, first.Token); game.KindOf(err) != game.Gone {
		t.Errorf("the link of another address: %v", err)
	}
	now = now.Add(3 * 24 * time.Hour)
	if _, err := s.ConfirmAddress(ctx, l.Token); game.KindOf(err) != game.Gone {
		t.Errorf("after three days: %v", err)
	}
	now = now.Add(-time.Minute)
	must1(t, second(s.ConfirmAddress(ctx, l.Token)))
	for _, token := range []club.Secret{l.Token, "", "1.x", f.Link} {
		if _, err := s.ConfirmAddress(ctx, token); game.KindOf(err) != game.Gone {
			t.Errorf("%q: %v", token, err)
		}
		if err := s.StopMail(ctx, token); game.KindOf(err) != game.Gone {
			t.Errorf("%q stops mail: %v", token, err)
		}
	}
}

// TestForgottenPassword: the link that comes by mail works once, for an hour, and not after the
// address or the password has changed. It ends the sessions and is told to the person and to
// the owner. Nobody who is barred, has left or has no password gets one, and nobody many.
func TestForgottenPassword(t *testing.T) {
	t.Parallel()
	url := storetest.URL(t)
	now := time.Date(2026, 11, 27, 9, 0, 0, 0, time.UTC)
	s, err := store.Open(ctx, url, func() time.Time { return now })
	must1(t, err)
	defer s.Close()
	f := storetest.Club(t, s, "forgot")
	sol := officer(t, s, f.Coach, "sol")
	helper := "helper-" + f.Email
	must1(t, s.AskReset(ctx, helper))
	if n := scan[int](t, url, `select count(*) from river.river_job where kind = 'letter'`); n != 0 {
		t.Errorf("%d jobs without a mail server", n)
	}
	s.SendMail()
	letters := func() int { return scan[int](t, url, `select count(*) from letters`) }
	jobs := func() int { return scan[int](t, url, `select count(*) from river.river_job where kind = 'letter'`) }
	must1(t, s.AskReset(ctx, "nobody@club.example"))
	if letters() != 0 || jobs() != 1 {
		t.Errorf("for nobody: %d mails, %d jobs", letters(), jobs())
	}
	link := func() store.Letter {
		t.Helper()
		now = now.Add(2 * time.Hour)
		before := letters()
		must1(t, s.AskReset(ctx, " "+helper+" "))
		l, err := s.TakeLetter(ctx, f.Coach.Club, int64(before+1))
		if err != nil || l == nil || l.Email != helper {
			t.Fatalf("%+v, %v", l, err)
		}
		return *l
	}
	dead := func(what string, token club.Secret) {
		t.Helper()
		if err := s.NewPassword(ctx, token, "another long sentence"); game.KindOf(err) != game.Gone {
			t.Errorf("%s: %v", what, err)
		}
	}
	l := link()
	now = now.Add(time.Hour)
	dead("after an hour", l.Token)
	l = link()
	session, _, err := s.SignIn(ctx, f.Coach2)
	must1(t, err)
	must1(t, s.ChangePassword(ctx, f.Coach2, session, "the third long sentence"))
	dead("after the password was changed", l.Token)
	l = link()
	other := link()
	now = now.Add(-2 * time.Hour) // while both work
	session, _, err = s.SignIn(ctx, f.Coach2)
	must1(t, err)
	must1(t, second(s.Session(ctx, session))) // nothing has ended yet
	must1(t, s.NewPassword(ctx, l.Token, "another long sentence"))
	dead("again", l.Token)
	dead("the other one", other.Token)
	if _, err := s.Session(ctx, session); game.KindOf(err) != game.Missing {
		t.Errorf("the session goes on: %v", err)
	}
	must1(t, second(s.OpenPassword(ctx, club.Known, helper, "another long sentence")))
	for _, who := range []game.Actor{f.Coach, f.Coach2} {
		if told, err := s.Notices(ctx, who); err != nil || len(told) != 1 || told[0].What != store.Forgotten || told[0].AboutID != f.Coach2.Person {
			t.Errorf("%s is told %+v, %v", who.Name, told, err)
		}
	}
	l = link()
	must1(t, s.ChangeEmail(ctx, f.Coach2, "new@club.example"))
	dead("after the address was changed", l.Token)
	helper = "new@club.example"
	l = link()
	must1(t, s.Bar(ctx, sol, f.Coach2.Person, "Why"))
	if err := s.NewPassword(ctx, l.Token, "the last long sentence"); game.KindOf(err) != game.Denied {
		t.Errorf("barred: %v", err)
	}
	for range 5 {
		must1(t, s.AskReset(ctx, "SOL@club.example"))
	}
	must1(t, s.AskReset(ctx, helper)) // who is barred
	const q = `select count(*) from letters where kind = 'password' and at >= $1`
	if n := scan[int](t, url, q, now); n != 3+1 { // the first of them is the one before the bar
		t.Errorf("%d mails", n)
	}
}

// TestMailEndsAfterADay: a mail that could not be sent for a day ends, and a weekly one whose
// sending was begun ends as uncertain. What is old is forgotten: that a mail was sent, and an
// address to which nobody said yes.
func TestMailEndsAfterADay(t *testing.T) {
	t.Parallel()
	url := storetest.URL(t)
	now := time.Date(2026, 11, 29, 19, 0, 0, 0, time.UTC)
	s, err := store.Open(ctx, url, func() time.Time { return now })
	must1(t, err)
	defer s.Close()
	s.SendMail()
	f := storetest.Club(t, s, "late")
	officer(t, s, f.Coach, "sol")
	must1(t, s.AskAddress(ctx, f.Guardian, "una@home.example", true))
	must1(t, s.AskAddress(ctx, f.Guardian2, "per@home.example", true)) // who does not say yes
	storetest.Exec(t, url, `update addresses set confirmed_at = now() where person_id = $1`, f.Guardian.Person)
	must1(t, s.Tell(ctx, f.Student, f.Student.Person, "")) // number 3
	must1(t, s.PutDueLetters(ctx))                         // number 4
	if l, err := s.TakeLetter(ctx, f.Coach.Club, 4); err != nil || l == nil {
		t.Fatalf("%+v, %v", l, err)
	}
	outcomes := func() string {
		return scan[string](t, url, `select string_agg(kind || ' ' || coalesce(outcome, '-'), ', ' order by id) from letters`)
	}
	now = now.Add(24 * time.Hour)
	must1(t, second(s.EndLate(ctx, f.Coach.Club, 3)))
	if got := outcomes(); got != "confirm -, confirm -, concern -, weekly -" {
		t.Errorf("after a day: %s", got)
	}
	now = now.Add(time.Second)
	must1(t, second(s.EndLate(ctx, f.Coach.Club, 4)))
	for _, id := range []int64{2, 3, 4, 5} {
		if l, err := s.TakeLetter(ctx, f.Coach.Club, id); err != nil || l != nil {
			t.Errorf("%d after more than a day: %+v, %v", id, l, err)
		}
	}
	must1(t, second(s.EndLate(ctx, f.Coach.Club, 1)))
	if got := outcomes(); got != "confirm late, confirm late, concern late, weekly unknown" {
		t.Errorf("after more than a day: %s", got)
	}
	left := func() []int {
		return scan[[]int](t, url, `select array[(select count(*) from letters), (select count(*) from addresses),
			(select count(*) from keys where kind in ('confirm', 'stop'))]`)
	}
	must1(t, s.ForgetLetters(ctx))
	if got := left(); got[0] != 4 || got[1] != 2 || got[2] != 1 {
		t.Errorf("after a day are left %v", got)
	}
	now = now.Add(3 * 24 * time.Hour)
	must1(t, s.ForgetLetters(ctx))
	if got := left(); got[0] != 4 || got[1] != 1 {
		t.Errorf("after four days are left %v", got)
	}
	now = now.Add(180 * 24 * time.Hour)
	must1(t, s.ForgetLetters(ctx))
	if got := left(); got[0] != 0 || got[1] != 1 || got[2] != 0 {
		t.Errorf("after half a year are left %v", got)
	}
}
