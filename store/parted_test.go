package store_test

import (
	"context"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/store/storetest"

	"github.com/jackc/pgx/v5"
)

// erasesAll carries out every erasure that is due.
func erasesAll(t *testing.T, s *store.Store, url string) {
	t.Helper()
	due(t, url)
	for more := true; more; {
		var err error
		more, err = s.EraseDue(ctx)
		must1(t, err)
	}
}

// kin makes the fixture's guardian one of another child, too.
func kin(t *testing.T, s *store.Store, url string, f storetest.Fixture, other game.PersonID) {
	t.Helper()
	number := scan[int](t, url, `select number from people where id = $1`, f.Student.Person)
	must1(t, s.AddKin(ctx, f.Coach, other, f.Guardian.Person, number))
}

// TestPartedGuardiansWithdrawalStays: a guardian takes consent back for a child, is parted from it,
// and is erased with another child. The first child does not practise again by that, and the
// officer alone gives consent again.
func TestPartedGuardiansWithdrawalStays(t *testing.T) {
	t.Parallel()
	s, url, _ := asApp(t, time.Now)
	f := storetest.Club(t, s, "here")
	off := officer(t, s, f.Coach, "Sol")
	kin(t, s, url, f, f.Student2.Person)
	must1(t, s.WithdrawConsent(ctx, f.Guardian, f.Student2.Person))
	must1(t, s.PartGuardian(ctx, f.Coach, f.Student2.Person, f.Guardian.Person))
	confirmed(t, s, f)
	erasesAll(t, s, url)
	if n := scan[int](t, url, `select count(*) from people where id = $1`, f.Guardian.Person); n != 0 {
		t.Error("the guardian is not erased")
	}
	if may, err := s.Practises(ctx, f.Coach.Club, f.Student2.Person); err != nil || may {
		t.Errorf("the other child practises again, though nobody gave consent again: %v", err)
	}
	back, err := s.TakenBack(ctx, f.Coach.Club)
	must1(t, err)
	if len(back) != 1 || back[0].By != "a guardian" {
		t.Fatalf("taken back: %+v", back)
	}
	must1(t, s.GiveAgain(ctx, off, f.Student2.Person, back[0].ID, "Ann", time.Now().UTC()))
	if may, err := s.Practises(ctx, f.Coach.Club, f.Student2.Person); err != nil || !may {
		t.Errorf("given again from paper: %v, %v", may, err)
	}
}

// TestPartedGuardiansWordsStay: the consent that such a guardian gave, and what they told of the
// other child, stay without them.
func TestPartedGuardiansWordsStay(t *testing.T) {
	t.Parallel()
	s, url, _ := asApp(t, time.Now)
	f := storetest.Club(t, s, "here")
	off := officer(t, s, f.Coach, "Sol")
	fresh, err := s.AddStudent(ctx, f.Coach, club.NewStudent{Name: "Waits", ConsentBy: "Ann", ConsentOn: time.Now(), Consent: true, Wording: 8})
	must1(t, err)
	third := fresh.Student.ID
	storetest.Exec(t, url, `delete from consents where student_id = $1`, third) // as one who waits
	kin(t, s, url, f, third)
	must1(t, s.GiveConsent(ctx, f.Guardian, third, 0))
	must1(t, s.Tell(ctx, f.Guardian, third, "she is afraid"))
	must1(t, s.PartGuardian(ctx, f.Coach, third, f.Guardian.Person))
	confirmed(t, s, f)
	erasesAll(t, s, url)
	if may, err := s.Practises(ctx, f.Coach.Club, third); err != nil || !may {
		t.Errorf("the other child's consent is gone: %v", err)
	}
	rows, err := s.Concerns(ctx, off)
	must1(t, err)
	if len(rows) != 1 || !rows[0].ByGuardian {
		t.Fatalf("an unopened concern about another child: %+v", rows)
	}
	must1(t, s.OpenConcern(ctx, off, rows[0].ID))
	if c, err := s.Concern(ctx, off, rows[0].ID); err != nil || c.Words != "she is afraid" || c.By != "" {
		t.Errorf("opened it reads %+v, %v", c, err)
	}
}

// TestConcernToldWhileErased: a concern that is being told in the instant in which its child's
// erasure is carried out holds the erasure.
func TestConcernToldWhileErased(t *testing.T) {
	t.Parallel()
	s, url, _ := asApp(t, time.Now)
	f := storetest.Club(t, s, "here")
	confirmed(t, s, f)
	due(t, url)
	tx := ownersTx(t, url)
	_, err := tx.Exec(ctx, `insert into concerns (club_id, student_id, by_id, at, words) values ($1, $2, $2, now(), 'help')`,
		f.Coach.Club, f.Student.Person)
	must1(t, err)
	done := make(chan error)
	go func() { _, err := s.EraseDue(ctx); done <- err }()
	waitsForLock(t, url)
	must1(t, tx.Commit(ctx))
	must1(t, <-done)
	if n := scan[int](t, url, `select count(*) from concerns`); n != 1 {
		t.Error("the open concern was erased")
	}
	if n := scan[int](t, url, `select count(*) from people where id = $1`, f.Student.Person); n != 1 {
		t.Error("the child was erased while a concern is open")
	}
}

// ownersTx begins a transaction of the owner's role, on a connection of its own.
func ownersTx(t *testing.T, url string) pgx.Tx {
	t.Helper()
	conn, err := pgx.Connect(ctx, url)
	must1(t, err)
	t.Cleanup(func() { _ = conn.Close(context.WithoutCancel(ctx)) })
	tx, err := conn.Begin(ctx)
	must1(t, err)
	return tx
}

// waitsForLock waits until somebody waits for a row.
func waitsForLock(t *testing.T, url string) {
	t.Helper()
	tick := time.NewTicker(10 * time.Millisecond)
	defer tick.Stop()
	for end := time.Now().Add(30 * time.Second); scan[int](t, url, `select count(*) from pg_locks l
		join pg_stat_activity a on a.pid = l.pid and a.datname = current_database() where not l.granted`) == 0; <-tick.C {
		if time.Now().After(end) {
			t.Fatal("nobody waits")
		}
	}
}

// TestClubExportWaitsForErasure: an export of the whole club that is asked for while a child is
// erased is made without that child.
func TestClubExportWaitsForErasure(t *testing.T) {
	t.Parallel()
	s, url, _ := asApp(t, time.Now)
	f := storetest.Club(t, s, "here")
	confirmed(t, s, f)
	due(t, url)
	tx := ownersTx(t, url)
	var id *int64
	must1(t, tx.QueryRow(ctx, `select erase_next()`).Scan(&id))
	done := make(chan error)
	go func() { done <- s.AskExport(ctx, f.Coach, 0) }()
	waitsForLock(t, url)
	must1(t, tx.Commit(ctx))
	must1(t, <-done)
	row, err := s.Export(ctx, f.Coach.Club, scan[int64](t, url, `select max(id) from exports`))
	must1(t, err)
	all, err := s.StudentsOf(ctx, f.Coach.Club, row)
	must1(t, err)
	for _, who := range all {
		if who == f.Student.Person {
			t.Error("the export has the child who was erased")
		}
	}
}

// TestErasureLeavesOtherWords: a guardian's own name, and a nickname that is a word of the game, are
// not taken out of what others are called and have written.
func TestErasureLeavesOtherWords(t *testing.T) {
	t.Parallel()
	s, url, _ := asApp(t, time.Now)
	f := storetest.Club(t, s, "here")
	for _, q := range []string{`update people set name = 'Mother' where id = $1`, `update people set name = 'Mother of Kim' where id = $2`,
		`update people set name = 'Queen' where id = $3`, `update consents set given_by = 'Mother' where student_id = $4`,
		`update drills set name = 'Queen: drive to the edge'`} {
		storetest.Exec(t, url, `with who as (select $1::bigint, $2::bigint, $3::bigint, $4::bigint) `+q,
			f.Guardian.Person, f.Guardian2.Person, f.Student.Person, f.Student2.Person)
	}
	confirmed(t, s, f)
	erasesAll(t, s, url)
	for want, q := range map[string]string{
		"Mother of Kim":            `select name from people where role = 'guardian'`,
		"Mother":                   `select given_by from consents`,
		"Queen: drive to the edge": `select max(name) from drills`,
	} {
		if got := scan[string](t, url, q); got != want {
			t.Errorf("%s: %q", want, got)
		}
	}
}

// TestHeldIsNotShown: a child who left longer ago than the club keeps them, and whom a concern
// holds, is in no coach's list and in no count, as if erased; one who left lately is in both.
func TestHeldIsNotShown(t *testing.T) {
	t.Parallel()
	s, url, _ := asApp(t, time.Now)
	f := storetest.Club(t, s, "here")
	must1(t, s.Tell(ctx, f.Student, f.Student.Person, "help"))
	must1(t, second(s.ArchiveStudent(ctx, f.Coach, f.Student.Person)))
	sees := func(when string, days, rows, soon int) {
		t.Helper()
		storetest.Exec(t, url, `update people set archived_at = now() - make_interval(days => $1) where archived_at is not null`, days)
		left, err := s.Roster(ctx, f.Coach.Club, store.RosterAsk{Archived: true})
		must1(t, err)
		going, err := s.GoingSoon(ctx, f.Coach.Club)
		must1(t, err)
		if wards, err := s.LeftWards(ctx, f.Guardian); err != nil || len(wards) != rows {
			t.Errorf("%s: a guardian sees %d who left: %v", when, len(wards), err)
		}
		if len(left.Rows) != rows || left.Total != rows || left.Old != rows || going.Left != soon {
			t.Errorf("%s: %d in the list, %d and %d counted, %d go soon", when, len(left.Rows), left.Total, left.Old, going.Left)
		}
	}
	sees("lately", 100, 1, 0)
	sees("soon", 355, 1, 1)
	sees("held", 400, 0, 0)
	must1(t, second(s.EraseDue(ctx)))
	if n := scan[int](t, url, `select count(*) from concerns`); n != 1 {
		t.Error("the concern is gone")
	}
}
