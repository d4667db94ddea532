package store_test

import (
	"strings"
	"testing"
	"time"

	"drover/store"
	"drover/store/storetest"
)

// TestOfficerIsReachableByMail: where mail goes and the last one arrived, or none had to; not
// where it was refused, is uncertain or long under way, nor where a concern waits unopened.
func TestOfficerIsReachableByMail(t *testing.T) {
	t.Parallel()
	url := storetest.URL(t)
	now := time.Date(2026, 11, 27, 0, 0, 0, 0, time.UTC)
	s, err := store.Open(ctx, url, func() time.Time { return now })
	must1(t, err)
	defer s.Close()
	f := storetest.Club(t, s, "reach")
	soon := func(what string, want bool) {
		t.Helper()
		if r, err := s.OfficerReachable(ctx, f.Coach.Club); err != nil || r.Soon != want {
			t.Errorf("%s: %+v, %v", what, r, err)
		}
	}
	sol := officer(t, s, f.Coach, "sol")
	soon("no server", false)
	s.SendMail()
	soon("nothing had to be sent", true)
	must1(t, s.Tell(ctx, f.Student, f.Student.Person, ""))
	must1(t, s.Tell(ctx, f.Student, f.Student.Person, "")) // for which the first mail stands, too
	soon("on its way", true)
	now = now.Add(61 * time.Minute)
	soon("long on its way", false)
	l, err := s.TakeLetter(ctx, f.Coach.Club, 1)
	must1(t, err)
	must1(t, s.EndLetter(ctx, f.Coach.Club, 1, *l, store.LetterSent))
	soon("sent", true)
	must1(t, s.Tell(ctx, f.Student, f.Student.Person, ""))
	l, err = s.TakeLetter(ctx, f.Coach.Club, 2)
	must1(t, err)
	must1(t, s.EndLetter(ctx, f.Coach.Club, 2, *l, store.LetterRefused))
	soon("refused", false)
	if m, err := s.OfficerMail(ctx, sol); err != nil || !m.Stopped || m.Outcome != store.LetterRefused {
		t.Errorf("%+v, %v", m, err)
	}
	must1(t, s.ChangeEmail(ctx, sol, "sol@club.example"))
	soon("given anew, but the last one was refused", false)
	must1(t, s.Tell(ctx, f.Student, f.Student.Person, ""))
	l, err = s.TakeLetter(ctx, f.Coach.Club, 3)
	must1(t, err)
	must1(t, s.EndLetter(ctx, f.Coach.Club, 3, *l, store.LetterSent))
	soon("sent again", true)
	if n := scan[int](t, url, `select count(*) from letters`); n != 3 {
		t.Errorf("%d mails", n)
	}
	now = now.Add(3 * 24 * time.Hour)
	soon("unopened for three days", false)
}

// TestConcernIsMailedAtOnce: a mail to an officer stands for another concern only while it is on
// its way. One that was put off, or whose job is lost, stands for none, and neither the desk nor
// the child's page counts on it; the first that is sent stands for all of before.
func TestConcernIsMailedAtOnce(t *testing.T) {
	t.Parallel()
	url := storetest.URL(t)
	now := time.Date(2026, 11, 27, 0, 0, 0, 0, time.UTC)
	s, err := store.Open(ctx, url, func() time.Time { return now })
	must1(t, err)
	defer s.Close()
	s.SendMail()
	f := storetest.Club(t, s, "once")
	sol := officer(t, s, f.Coach, "sol")
	tell := func(jobs int) {
		t.Helper()
		must1(t, s.Tell(ctx, f.Student, f.Student.Person, ""))
		if n := scan[int](t, url, `select count(*) from river.river_job where kind = 'letter'`); n != jobs {
			t.Errorf("%d mails, want %d", n, jobs)
		}
	}
	is := func(slow, soon bool) {
		t.Helper()
		m, err := s.OfficerMail(ctx, sol)
		must1(t, err)
		r, err := s.OfficerReachable(ctx, f.Coach.Club)
		if err != nil || m.Slow != slow || r.Soon != soon {
			t.Errorf("%+v, %+v, %v", m, r, err)
		}
	}
	tell(1)
	now = now.Add(4 * time.Minute)
	tell(1)
	is(false, true)
	l, err := s.TakeLetter(ctx, f.Coach.Club, 1)
	if err != nil || l == nil {
		t.Fatalf("%+v, %v", l, err)
	}
	must1(t, s.PutOffLetter(ctx, f.Coach.Club, 1))
	now = now.Add(time.Minute)
	is(true, false)
	tell(2)
	is(false, false) // the second is on its way, and the first has shown that it may not get far
	now = now.Add(time.Hour)
	tell(3)
	l, err = s.TakeLetter(ctx, f.Coach.Club, 2)
	must1(t, err)
	now = now.Add(time.Second)
	must1(t, s.EndLetter(ctx, f.Coach.Club, 2, *l, store.LetterSent))
	is(false, true)
	if got := scan[string](t, url, `select string_agg(outcome, ' ' order by id) from letters`); got != "dropped sent dropped" {
		t.Errorf("the mails: %s", got)
	}
}

// TestOfficerIsReminded: while a concern is unopened an officer has a mail again, once a day,
// also after one that could not be sent; not where mail to the officer was refused, and not
// once the concern is opened.
func TestOfficerIsReminded(t *testing.T) {
	t.Parallel()
	url := storetest.URL(t)
	now := time.Date(2026, 11, 27, 0, 0, 0, 0, time.UTC)
	s, err := store.Open(ctx, url, func() time.Time { return now })
	must1(t, err)
	defer s.Close()
	s.SendMail()
	f, other := storetest.Club(t, s, "reminds"), storetest.Club(t, s, "nothing")
	sol := officer(t, s, f.Coach, "sol")
	officer(t, s, other.Coach, "lou")
	mails := func(want string) {
		t.Helper()
		for range 2 {
			must1(t, s.PutDueLetters(ctx))
		}
		got := scan[string](t, url, `select string_agg(coalesce(outcome, '-'), ' ' order by id) from letters`)
		if jobs := scan[int](t, url, `select count(*) from river.river_job where kind = 'letter'`); got != want ||
			jobs != len(strings.Fields(want)) {
			t.Errorf("%s with %d jobs, want %s", got, jobs, want)
		}
	}
	take := func(id int64, how store.Outcome) {
		t.Helper()
		l, err := s.TakeLetter(ctx, f.Coach.Club, id)
		if err != nil || l == nil {
			t.Fatalf("%+v, %v", l, err)
		}
		must1(t, s.EndLetter(ctx, f.Coach.Club, id, *l, how))
	}
	must1(t, s.Tell(ctx, f.Student, f.Student.Person, ""))
	mails("-")
	now = now.Add(24*time.Hour + time.Second)
	must1(t, second(s.EndLate(ctx, f.Coach.Club, 1)))
	mails("late -")
	if r, err := s.OfficerReachable(ctx, f.Coach.Club); err != nil || r.Soon {
		t.Errorf("after a day without a mail: %+v, %v", r, err)
	}
	take(2, store.LetterSent)
	now = now.Add(24*time.Hour - time.Second)
	mails("late sent")
	now = now.Add(time.Second)
	mails("late sent -")
	take(3, store.LetterRefused)
	now = now.Add(24 * time.Hour)
	mails("late sent refused")
	must1(t, s.ChangeEmail(ctx, sol, "sol@club.example"))
	mails("late sent refused -")
	rows, err := s.Concerns(ctx, sol)
	must1(t, err)
	must1(t, s.OpenConcern(ctx, sol, rows[0].ID))
	now = now.Add(26 * time.Hour)
	must1(t, s.ForgetLetters(ctx)) // ends the one whose job was lost
	mails("late sent refused late")
}
