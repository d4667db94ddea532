package store_test

import (
	"context"
	"encoding/json"
	"math/rand/v2"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/progress"
	"drover/store"
	"drover/store/storetest"
)

// saying keeps an overview of a student that names something to teach first, on so many moves.
func saying(t *testing.T, url string, of game.Actor, n int) {
	t.Helper()
	said, err := json.Marshal(progress.Overview{Games: map[string]int{"KRK": n}, Found: progress.Diagnosis{
		First: &progress.First{Ending: "KRK", Stage: ending.Edge, N: n, K: n / 3}}})
	must1(t, err)
	storetest.Exec(t, url, `insert into overviews (club_id, student_id, at, first_ending, first_stage, stuck, said)
		values ($1, $2, now(), 'KRK', 'edge', false, $3) on conflict (club_id, student_id) do update set said = excluded.said`,
		of.Club, of.Person, said)
}

// TestDoneLinesReturnWithNewEvidenceOnly: on two nodes, in any order of what happens, a line
// that was done by giving a drill is not there again before there are five new games;
// withdrawn, the drill has done nothing; put off, the line is away for a week. What is
// expected is reckoned beside the store by the plain words of that rule.
func TestDoneLinesReturnWithNewEvidenceOnly(t *testing.T) {
	t.Parallel()
	for seed := range uint64(6) {
		url, now := storetest.URL(t), time.Now().Truncate(time.Second)
		var nodes [2]*store.Store
		for i := range nodes {
			var err error
			nodes[i], err = store.Open(ctx, url, func() time.Time { return now })
			must1(t, err)
			defer nodes[i].Close()
		}
		f := storetest.Club(t, nodes[0], "lines")
		rng := rand.New(rand.NewPCG(seed, 5))
		n, doneAt, task := 20, 0, game.AssignmentID(0)
		var until time.Time
		saying(t, url, f.Student, n)
		for step := range 40 {
			s := nodes[rng.IntN(2)]
			switch rng.IntN(5) {
			case 0:
				n += rng.IntN(12)
				saying(t, url, f.Student, n)
			case 1:
				seen, _ := lineOf(t, s, f, progress.LineFirst)
				id, err := s.Assign(ctx, f.Coach, f.Drill.ID, []game.PersonID{f.Student.Person}, nil)
				must1(t, err)
				task, doneAt, until = id, max(n, doneAt), time.Time{}
				if seen.Kind != "" {
					must1(t, s.Later(ctx, f.Coach2, seen)) // on a page that was open before: it stays done
				}
			case 2:
				if task != 0 {
					must1(t, second(s.Withdraw(ctx, f.Coach, task, false)))
					if task = 0; until.IsZero() {
						until = now // nothing holds it back any more
					}
				}
			case 3:
				now = now.Add(time.Duration(rng.IntN(5*24)) * time.Hour)
			case 4:
				if l, is := lineOf(t, s, f, progress.LineFirst); is {
					must1(t, s.Later(ctx, f.Coach2, l))
					until, task = now.Add(7*24*time.Hour), 0
				}
			}
			want := true
			switch {
			case !until.IsZero():
				want = !now.Before(until)
			case task != 0:
				want = n >= doneAt+5
			}
			if _, is := lineOf(t, nodes[rng.IntN(2)], f, progress.LineFirst); is != want {
				t.Fatalf("seed %d, step %d: the line is there: %v, want %v (%d of %d games, until %s)", seed, step, is, want, n, doneAt, until)
			}
		}
	}
}

// lineOf finds a line of the fixture's student.
func lineOf(t *testing.T, s *store.Store, f storetest.Fixture, kind progress.LineKind) (store.Line, bool) {
	t.Helper()
	since, err := s.SinceLooked(context.Background(), f.Coach, nil)
	must1(t, err)
	for _, l := range since.Lines {
		if l.Kind == kind && l.Subject == int64(f.Student.Person) {
			return l, true
		}
	}
	return store.Line{}, false
}

// TestSilenceKeepsToHolidays: a student is silent after seven days without a game; days of
// holidays do not count, and who may not play yet is not silent.
func TestSilenceKeepsToHolidays(t *testing.T) {
	t.Parallel()
	url, now := storetest.URL(t), time.Now().Truncate(time.Second)
	s, err := store.Open(ctx, url, func() time.Time { return now })
	must1(t, err)
	defer s.Close()
	f := storetest.Club(t, s, "silent")
	began := now
	for _, c := range []struct {
		days   int
		silent bool
	}{{6, false}, {8, true}} {
		now = began.Add(time.Duration(c.days) * 24 * time.Hour)
		if _, is := lineOf(t, s, f, progress.LineSilent); is != c.silent {
			t.Errorf("after %d days: %v", c.days, is)
		}
	}
	settings, err := s.Settings(ctx, f.Coach.Club)
	must1(t, err)
	settings.Holidays = []club.Holiday{{From: began.AddDate(0, 0, 2), To: began.AddDate(0, 0, 4), Name: "Rest"}}
	must1(t, second(s.KeepSettings(ctx, f.Coach, settings)))
	if _, is := lineOf(t, s, f, progress.LineSilent); is {
		t.Error("days of holidays count")
	}
	now = began.AddDate(0, 0, 12)
	l, is := lineOf(t, s, f, progress.LineSilent)
	if !is {
		t.Fatal("after the holidays nobody is silent")
	}
	must1(t, second(s.Assign(ctx, f.Coach, f.Drill.ID, []game.PersonID{f.Student.Person}, nil)))
	if _, is := lineOf(t, s, f, progress.LineSilent); is {
		t.Errorf("a drill was set, and the line is still there: %+v", l)
	}
}

// TestSilentDaysAreTheClubsOwn: a day of holidays is one of the club's calendar, which may
// be a day ahead of the server's. Pacific/Kiritimati is 14 hours ahead of UTC (IANA time zone
// database).
func TestSilentDaysAreTheClubsOwn(t *testing.T) {
	t.Parallel()
	url, now := storetest.URL(t), time.Date(2026, 11, 18, 18, 0, 0, 0, time.UTC)
	s, err := store.Open(ctx, url, func() time.Time { return now })
	must1(t, err)
	defer s.Close()
	f := storetest.Club(t, s, "ahead")
	settings, err := s.Settings(ctx, f.Coach.Club)
	must1(t, err)
	rest := time.Date(2026, 11, 26, 0, 0, 0, 0, time.UTC)
	settings.Zone, settings.Holidays = "Pacific/Kiritimati", []club.Holiday{{From: rest, To: rest, Name: "Rest"}}
	must1(t, second(s.KeepSettings(ctx, f.Coach, settings)))
	now = time.Date(2026, 11, 26, 12, 0, 0, 0, time.UTC) // the 27th there: the holiday was yesterday
	if _, is := lineOf(t, s, f, progress.LineSilent); is {
		t.Error("yesterday's holiday counts as a day of silence")
	}
}

// TestLookedIsOneVisit: a page that is loaded again within a visit shows the same; after it
// the last look counts.
func TestLookedIsOneVisit(t *testing.T) {
	t.Parallel()
	url, now := storetest.URL(t), time.Now().Truncate(time.Second)
	s, err := store.Open(ctx, url, func() time.Time { return now })
	must1(t, err)
	defer s.Close()
	f := storetest.Club(t, s, "visit")
	look := func(after time.Duration) *time.Time {
		now = now.Add(after)
		before, err := s.Looked(ctx, f.Coach)
		must1(t, err)
		return before
	}
	if look(0) != nil || look(time.Minute) != nil {
		t.Error("a first visit has one before it")
	}
	last := now
	if got := look(20 * time.Hour); got == nil || !got.Equal(last) {
		t.Errorf("the next day: %v, want %v", got, last)
	}
	if got := look(time.Minute); got == nil || !got.Equal(last) {
		t.Errorf("loaded again: %v, want %v", got, last)
	}
}

// TestBellsOfTheClubsOwnDay: what was mastered on the day of the last look, or later, has changed
// since, by the club's calendar. Los Angeles is 8 hours behind UTC in November, Auckland 13 ahead
// (IANA time zone database).
func TestBellsOfTheClubsOwnDay(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "bells")
	storetest.Exec(t, url, `insert into bells (club_id, student_id, ending, stage, rung_on) values ($1, $2, 'KRK', 'mate', '2026-11-26')`,
		f.Coach.Club, f.Student.Person)
	for _, c := range []struct {
		zone, looked string
		want         int
	}{
		{"America/Los_Angeles", "2026-11-27T04:00:00Z", 1}, // eight in the evening of the 26th
		{"America/Los_Angeles", "2026-11-27T08:00:00Z", 0},
		{"Pacific/Auckland", "2026-11-26T10:59:00Z", 1},
		{"Pacific/Auckland", "2026-11-26T11:00:00Z", 0}, // midnight
	} {
		storetest.Exec(t, url, `update clubs set zone = $2 where id = $1`, f.Coach.Club, c.zone)
		looked, err := time.Parse(time.RFC3339, c.looked)
		must1(t, err)
		since, err := s.SinceLooked(ctx, f.Coach, &looked)
		if err != nil || len(since.Bells) != c.want {
			t.Errorf("%s, looked at %s: %d bells, want %d, %v", c.zone, c.looked, len(since.Bells), c.want, err)
		}
	}
}

// TestStuckAnew: who was helped after eight tries that were not won, has won since, and is stuck
// again after three, is there again.
func TestStuckAnew(t *testing.T) {
	t.Parallel()
	s, url := open(t)
	f := storetest.Club(t, s, "anew")
	stuck := func(lost int, last game.GameID) {
		said, err := json.Marshal(progress.Overview{Stuck: []progress.StuckAt{{Ending: "KRK", Lost: lost, Game: last}}})
		must1(t, err)
		storetest.Exec(t, url, `insert into overviews (club_id, student_id, at, stuck, said) values ($1, $2, now(), true, $3)
			on conflict (club_id, student_id) do update set said = excluded.said`, f.Coach.Club, f.Student.Person, said)
	}
	there := func(want bool, when string) {
		t.Helper()
		if _, is := lineOf(t, s, f, progress.LineStuck); is != want {
			t.Errorf("%s the line is there: %v", when, is)
		}
	}
	stuck(8, 208)
	there(true, "after eight tries")
	_, err := s.Assign(ctx, f.Coach, f.Drill.ID, []game.PersonID{f.Student.Person}, nil)
	must1(t, err)
	there(false, "after a drill was set")
	stuck(3, 214)
	there(true, "after three more")
}
