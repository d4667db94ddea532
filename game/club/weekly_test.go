package club_test

import (
	"testing"
	"time"

	"drover/game/club"
)

// TestWeeklyKeepsTheDay: a weekly drill opens at midnight in the club, on the same day of
// the week, also where the clocks change; weeks in the holidays are left out. The change of
// the clocks is that of Europe/Oslo on 25 October 2026 (IANA time zone database).
func TestWeeklyKeepsTheDay(t *testing.T) {
	t.Parallel()
	zone, err := time.LoadLocation("Europe/Oslo")
	if err != nil {
		t.Fatal(err)
	}
	day := func(m time.Month, d int) time.Time { return time.Date(2026, m, d, 0, 0, 0, 0, time.UTC) }
	due, until := day(10, 16), day(11, 3)
	rest := []club.Holiday{{From: day(10, 30), To: day(10, 30), Name: "Market day"}}
	got, err := club.Weekly(day(10, 13), &due, &until, zone, rest)
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"2026-10-13T00:00:00+02:00 16", "2026-10-20T00:00:00+02:00 23", "2026-11-03T00:00:00+01:00 6"}
	for i, at := range got {
		if say := at.Opens.Format(time.RFC3339) + " " + at.Due.Format("2"); i >= len(want) || say != want[i] {
			t.Errorf("week %d: %s", i+1, say)
		}
	}
	if len(got) != len(want) {
		t.Errorf("%d weeks", len(got))
	}
}

// TestWeeklyRefuses: what cannot be is said at its field.
func TestWeeklyRefuses(t *testing.T) {
	t.Parallel()
	from := time.Date(2026, 10, 13, 0, 0, 0, 0, time.UTC)
	in := func(days int) *time.Time { day := from.AddDate(0, 0, days); return &day }
	rest := []club.Holiday{{From: from, To: from.AddDate(0, 0, 60), Name: "Winter"}}
	for name, c := range map[string]struct {
		due, until *time.Time
		holidays   []club.Holiday
		field      string
	}{
		"due before it opens":  {in(-1), nil, nil, "due"},
		"until before it":      {nil, in(-1), nil, "until"},
		"due too late":         {in(8), in(30), nil, "due"},
		"more than a term":     {nil, in(7 * 21), nil, "until"},
		"due in the holidays":  {in(3), nil, rest, "due"},
		"all of it in holiday": {nil, in(20), rest, "until"},
	} {
		_, err := club.Weekly(from, c.due, c.until, time.UTC, c.holidays)
		if p := marked(t, err); p[c.field] == "" {
			t.Errorf("%s: %v", name, p)
		}
	}
	if got, err := club.Weekly(from, nil, nil, time.UTC, rest); err != nil || len(got) != 1 || got[0].Due != nil {
		t.Errorf("one week without a day in the holidays: %v, %v", got, err)
	}
}
