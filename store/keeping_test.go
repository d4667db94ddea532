package store_test

import (
	"fmt"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/practice"
	"drover/store"
	"drover/store/storetest"
)

// TestOldGamesGo: games with their acts go after the months that a club has set; what they came
// to stays, and so do bells and the dates of re-checks. What is younger stays, too.
func TestOldGamesGo(t *testing.T) {
	t.Parallel()
	url, now := storetest.URL(t), time.Now().Truncate(time.Second)
	s, err := store.Open(ctx, url, func() time.Time { return now })
	must1(t, err)
	defer s.Close()
	f := full(t, s, url, now)
	other := storetest.Club(t, s, "elsewhere")
	read := func() string {
		of, err := s.RecordOf(ctx, f.Coach.Club, f.Student.Person, store.WithMastery)
		must1(t, err)
		return fmt.Sprintf("%+v %+v", of.Mastery, of.Trials)
	}
	const old = `update games set started_at = started_at - interval '25 months', ended_at = ended_at - interval '25 months'
		where ended_at is not null and club_id = $1`
	storetest.Exec(t, url, old, f.Coach.Club)
	storetest.Exec(t, url, `update games set started_at = started_at - interval '4 months' where club_id = $1`, other.Coach.Club)
	stages := scan[int](t, url, `select count(*) from stage_results`)
	going, err := s.GoingSoon(ctx, f.Coach.Club)
	if n := scan[int](t, url, `select count(*) from games where club_id = $1 and ended_at is not null`, f.Coach.Club); err != nil ||
		going.Games != n || n == 0 || going.Students != 1 {
		t.Errorf("%d games are to go, said %+v, %v", n, going, err)
	}
	before := read()
	for more := true; more; {
		more, err = s.ForgetOld(ctx)
		must1(t, err)
	}
	left := scan[int](t, url, `select count(*) from games where club_id = $1 and ended_at is not null`, f.Coach.Club)
	acts := scan[int](t, url, `select count(*) from acts a where not exists (select from games g where g.club_id = a.club_id and g.id = a.game_id)`)
	if left != 0 || acts != 0 {
		t.Errorf("%d old games and %d acts are left", left, acts)
	}
	if n := scan[int](t, url, `select count(*) from stage_results`); n != stages || n == 0 {
		t.Errorf("%d totals of stages of %d are left", n, stages)
	}
	if after := read(); after != before {
		t.Errorf("mastery was %s and is %s", before, after)
	}
	if n := scan[int](t, url, `select count(*) from games where club_id = $1`, other.Coach.Club); n != 2 {
		t.Errorf("%d games of another club are left", n)
	}
	must1(t, s.KeepKeeping(ctx, other.Coach, club.Keeping{Games: 3, Left: 12, Audit: 24}))
	must1(t, second(s.ForgetOld(ctx)))
	if n := scan[int](t, url, `select count(*) from games where club_id = $1`, other.Coach.Club); n != 0 {
		t.Errorf("%d games of a club that keeps three months are left", n)
	}
	n, err := s.RecountGames(ctx, func(practice.State) (practice.Outcome, error) { return practice.Outcome{}, nil })
	if err != nil || n != 0 {
		t.Errorf("%d games counted anew, %v", n, err)
	}
}

// TestKeepingHasLimits: a club may keep less, not more, and only an owner says so.
func TestKeepingHasLimits(t *testing.T) {
	t.Parallel()
	s, _ := open(t)
	f := storetest.Club(t, s, "keeping")
	for _, k := range []club.Keeping{{Games: 25, Left: 12, Audit: 24}, {Games: 24, Left: 0, Audit: 24}, {Games: 24, Left: 12, Audit: 6}} {
		if err := s.KeepKeeping(ctx, f.Coach, k); game.KindOf(err) != game.Bad {
			t.Errorf("%+v: %v", k, err)
		}
	}
	if err := s.KeepKeeping(ctx, f.Coach2, club.Keeping{Games: 12, Left: 6, Audit: 12}); game.KindOf(err) != game.Denied {
		t.Errorf("not an owner: %v", err)
	}
	must1(t, s.KeepKeeping(ctx, f.Coach, club.Keeping{Games: 12, Left: 6, Audit: 12}))
	if err := s.KeepKeeping(ctx, f.Coach, club.Keeping{Games: 6, Left: 6, Audit: 12}); game.KindOf(err) != game.Conflict {
		t.Errorf("from an older state: %v", err)
	}
	if k, err := s.Keeping(ctx, f.Coach.Club); err != nil || k != (club.Keeping{Games: 12, Left: 6, Audit: 12, Revision: 1}) {
		t.Errorf("%+v, %v", k, err)
	}
}

// TestOldAuditGoes: rows of the audit go after their months, also for the app's own role, which
// can delete none of them otherwise.
func TestOldAuditGoes(t *testing.T) {
	t.Parallel()
	s, url, _ := asApp(t, time.Now)
	f := storetest.Club(t, s, "audited")
	storetest.Exec(t, url, `update audit set at = at - interval '25 months' where id = (select min(id) from audit where club_id = $1)`, f.Coach.Club)
	before := scan[int](t, url, `select count(*) from audit`)
	must1(t, second(s.ForgetOld(ctx)))
	if n := scan[int](t, url, `select count(*) from audit`); n != before-1 {
		t.Errorf("%d rows of %d are left", n, before)
	}
}
