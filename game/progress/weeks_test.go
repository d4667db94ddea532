package progress_test

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
)

func zone(t *testing.T, name string) *time.Location {
	t.Helper()
	z, err := time.LoadLocation(name)
	if err != nil {
		t.Fatal(err)
	}
	return z
}

// TestWeeks: a game belongs to the week, from Monday in the club's own time, in which it
// ended; also where summer time begins or ends, or a year does.
func TestWeeks(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		zone, now, ended string
		week             int // 7 is this one, -1 none
	}{
		"this Monday's first moment":             {"Europe/Oslo", "2026-11-25 12:00:00", "2026-11-23 00:00:00", 7},
		"a moment before":                        {"Europe/Oslo", "2026-11-25 12:00:00", "2026-11-22 23:59:59", 6},
		"this moment":                            {"Europe/Oslo", "2026-11-25 12:00:00", "2026-11-25 12:00:00", 7},
		"the first of eight weeks":               {"Europe/Oslo", "2026-11-25 12:00:00", "2026-10-05 00:00:00", 0},
		"before eight weeks":                     {"Europe/Oslo", "2026-11-25 12:00:00", "2026-10-04 23:59:59", -1},
		"a Sunday night, of the week that ends":  {"Europe/Oslo", "2026-11-29 23:59:59", "2026-11-23 00:00:00", 7},
		"before summer time ended, 25 October":   {"Europe/Oslo", "2026-10-26 00:00:00", "2026-10-25 23:59:59", 6},
		"seven weeks over the end of it":         {"Europe/Oslo", "2026-11-29 23:59:59", "2026-10-12 00:00:00", 1},
		"eight weeks over the end of it":         {"Europe/Oslo", "2026-11-29 23:59:59", "2026-10-11 23:59:59", 0},
		"the day on which it began, 29 March":    {"Europe/Oslo", "2026-03-30 00:00:00", "2026-03-29 23:59:59", 6},
		"a Monday over the beginning":            {"Europe/Oslo", "2026-04-05 23:59:59", "2026-03-30 00:00:00", 7},
		"New Year's Eve, a Thursday":             {"Europe/Oslo", "2027-01-01 00:30:00", "2026-12-31 23:30:00", 7},
		"the Sunday before":                      {"Europe/Oslo", "2027-01-01 00:30:00", "2026-12-27 23:59:59", 6},
		"the week of 53":                         {"Europe/Oslo", "2027-01-04 00:00:00", "2027-01-03 23:59:59", 6},
		"ahead of UTC":                           {"Pacific/Auckland", "2026-11-23 09:00:00", "2026-11-23 00:10:00", 7},
		"behind it":                              {"America/Los_Angeles", "2026-11-29 20:00:00", "2026-11-22 23:59:59", 6},
		"a night without midnight, 26 April '24": {"Africa/Cairo", "2024-04-28 12:00:00", "2024-04-22 00:00:00", 7},
	} {
		z := zone(t, c.zone)
		at := func(s string) time.Time {
			when, err := time.ParseInLocation(time.DateTime, s, z)
			if err != nil {
				t.Fatal(err)
			}
			return when
		}
		ended := at(c.ended).UTC() // as the database may give it
		of := progress.Record{Now: at(c.now), Spent: []progress.Spent{{At: ended, Seconds: 60}},
			Stages: []progress.StagePlayed{{Ending: "KRK", Stage: ending.Edge, Par: 4, Clean: true, Ended: ended}}}
		week, spent := -1, -1
		for _, e := range of.StagesByWeek() {
			for i, games := range e.Stages[1].Weeks {
				if len(games) > 0 {
					week = i
				}
			}
		}
		for i, w := range of.SpentByWeek() {
			if w.All() > 0 {
				spent = i
			}
		}
		if week != c.week || spent != c.week {
			t.Errorf("%s: week %d of stages, %d of time, want %d", name, week, spent, c.week)
		}
		if monday := of.Mondays()[7].Date(); monday.Weekday() != time.Monday || of.Now.Sub(monday.AddDate(0, 0, 8)) > 0 {
			t.Errorf("%s: the week begins on %s", name, monday)
		}
	}
}

// TestStagesByWeek: endings in the order of the plans, each with all its stages; what had
// next to nothing to do is not drawn, and an ending of which nothing is drawn is not there.
func TestStagesByWeek(t *testing.T) {
	t.Parallel()
	stage := func(code string, s ending.Stage, par, days int, clean bool) progress.StagePlayed {
		return progress.StagePlayed{Ending: code, Stage: s, Par: par, Clean: clean, Ended: now.AddDate(0, 0, -days)}
	}
	of := progress.Record{Now: now, Stages: []progress.StagePlayed{
		stage("KRK", ending.Edge, 4, 9, true), stage("KRK", ending.Edge, 4, 8, false), stage("KRK", ending.Edge, 4, 0, true),
		stage("KRK", ending.Mate, 1, 0, true), stage("KBBK", ending.Corner, 1, 0, true), stage("KBNK", ending.Corner, 9, 300, true),
		stage("KQK", ending.Mate, 2, 50, false),
	}}
	got := ""
	for _, e := range of.StagesByWeek() {
		for _, s := range e.Stages {
			clean, all := s.Count()
			got += fmt.Sprintf("%s %s %d of %d %v\n", e.Ending, s.Stage, clean, all, s.Weeks)
		}
	}
	const want = `KQK edge 0 of 0 [[] [] [] [] [] [] [] []]
KQK mate 0 of 1 [[false] [] [] [] [] [] [] []]
KRK centralise 0 of 0 [[] [] [] [] [] [] [] []]
KRK edge 2 of 3 [[] [] [] [] [] [] [true false] [true]]
KRK mate 0 of 0 [[] [] [] [] [] [] [] []]
`
	if got != want {
		t.Errorf("got\n%swant\n%s", got, want)
	}
}

// TestSpentByWeek: whatever was played when, the weeks add up to the games of the weeks,
// and a day is counted once.
func TestSpentByWeek(t *testing.T) {
	t.Parallel()
	rng := rand.New(rand.NewPCG(5, 26))
	for _, name := range []string{"UTC", "Europe/Oslo", "America/Santiago", "Australia/Lord_Howe"} {
		z := zone(t, name)
		for range 50 {
			of := progress.Record{Now: time.Date(2026, time.Month(1+rng.IntN(12)), 1+rng.IntN(28), rng.IntN(24), 5, 0, 0, z)}
			first := of.Mondays()[0].Begins(z)
			want, days := 0, map[progress.Day]bool{}
			for range rng.IntN(40) {
				s := progress.Spent{On: progress.Spending(rng.IntN(3)), Seconds: rng.IntN(900),
					At: of.Now.Add(-time.Duration(rng.Int64N(int64(70 * 24 * time.Hour))))}
				if of.Spent = append(of.Spent, s); !s.At.Before(first) {
					want += s.Seconds
					days[progress.DayOf(s.At)] = days[progress.DayOf(s.At)] || s.Seconds > 0
				}
			}
			got, on := 0, 0
			for _, w := range of.SpentByWeek() {
				got, on = got+w.All(), on+w.Days
			}
			for _, played := range days {
				if played {
					on--
				}
			}
			if got != want || on != 0 {
				t.Fatalf("%s at %s: %d seconds, want %d, and %d days too many", name, of.Now, got, want, on)
			}
		}
	}
}

// TestDayBegins: a day begins where the calendar turns, on every day of two years.
func TestDayBegins(t *testing.T) {
	t.Parallel()
	for _, name := range []string{"UTC", "Europe/Oslo", "Africa/Cairo", "America/Santiago", "Pacific/Auckland"} {
		z := zone(t, name)
		for d := progress.DayOf(time.Date(2024, 1, 1, 0, 0, 0, 0, z)); d < progress.DayOf(time.Date(2026, 1, 1, 0, 0, 0, 0, z)); d++ {
			if at := d.Begins(z); progress.DayOf(at) != d || progress.DayOf(at.Add(-time.Second)) != d-1 {
				t.Errorf("%s: %s begins at %s", name, d.Date(), at)
			}
		}
	}
}

// TestStruck: of the habits that strike often enough the one that costs most is named; one
// slip is no habit.
func TestStruck(t *testing.T) {
	t.Parallel()
	tally := func(n, k, class, made int) practice.Tally {
		out := practice.Tally{N: n, K: k, Of: n}
		out.Weights.Made[class] = made
		return out
	}
	for name, c := range map[string]struct {
		in   practice.Habitual
		want practice.Habit
	}{
		"nothing":      {nil, ""},
		"once":         {practice.Habitual{practice.Stalemates: tally(1, 1, 5, 1)}, ""},
		"too seldom":   {practice.Habitual{practice.Checks: tally(10, 2, 2, 2)}, ""},
		"often enough": {practice.Habitual{practice.Checks: tally(10, 3, 2, 3)}, practice.Checks},
		"the dearer": {practice.Habitual{practice.Checks: tally(4, 4, 1, 4), practice.KingHome: tally(4, 2, 3, 2)},
			practice.KingHome},
	} {
		if h, tally, ok := progress.Struck(c.in); h != c.want || ok != (c.want != "") || tally.K != c.in[h].K {
			t.Errorf("%s: %q, %+v, %v", name, h, tally, ok)
		}
	}
}
