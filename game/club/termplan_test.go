package club_test

import (
	"testing"
	"time"

	"drover/game/club"
)

// TestPlanWeeks: a plan begins on the Monday of the week of its first day (ISO 8601), a week
// rests when all its days from Monday to Friday are holidays, and what is due is due on its
// last free day. 23 November 2026 is a Monday.
func TestPlanWeeks(t *testing.T) {
	t.Parallel()
	day := func(d int) time.Time { return time.Date(2026, 11, d, 0, 0, 0, 0, time.UTC) }
	for d := 23; d <= 29; d++ {
		if got := club.Monday(day(d)); !got.Equal(day(23)) {
			t.Errorf("the Monday of the %d is the %d", d, got.Day())
		}
	}
	p := club.TermPlan{Title: " Autumn ", From: day(26), Weeks: 12}
	if err := p.Validate(); err != nil || !p.From.Equal(day(23)) || p.Title != "Autumn" {
		t.Errorf("%+v, %v", p, err)
	}
	if at := p.At(day(23).AddDate(0, 0, 13)); at != 1 {
		t.Errorf("the day before the third week lies in week %d", at)
	}
	if at := p.At(day(22)); at >= 0 {
		t.Errorf("the day before the plan lies in week %d", at)
	}
	rest := []club.Holiday{{From: day(23), To: day(25), Name: "One"}, {From: day(26), To: day(27), Name: "Two"}, {From: day(29), To: day(29), Name: "Sunday"}}
	if name, is := club.Resting(day(23), rest); !is || name != "Two" {
		t.Errorf("a week of holidays: %q, %v", name, is)
	}
	if _, is := club.Resting(day(23), rest[:1]); is {
		t.Error("a week with two free days rests")
	}
	if due := club.DueIn(day(23), rest); !due.Equal(day(28)) {
		t.Errorf("due on the %d", due.Day())
	}
	bad := club.TermPlan{Weeks: 31}
	if m := marked(t, bad.Validate()); len(m) != 3 {
		t.Errorf("%v", m)
	}
	for _, c := range []club.PlanCell{{Week: 0, Shelf: 1, Ending: "KRK"}, {Week: 0}, {Week: 12, Shelf: 1}, {Week: -1, Shelf: 1}, {Ending: "KXK"}} {
		if c.Validate(12) == nil {
			t.Errorf("%+v passes", c)
		}
	}
}

// TestMovedWeeksJumpOverHolidays: weeks that are moved keep their order, none comes to rest
// in the holidays, and the plan grows; at thirty weeks it is refused.
func TestMovedWeeksJumpOverHolidays(t *testing.T) {
	t.Parallel()
	monday := time.Date(2026, 11, 23, 0, 0, 0, 0, time.UTC)
	p := club.TermPlan{From: monday, Weeks: 4}
	rest := []club.Holiday{{From: monday.AddDate(0, 0, 14), To: monday.AddDate(0, 0, 20), Name: "Winter"}} // the third week
	to, weeks, err := p.Moved([]int{0, 1, 3}, 1, rest)
	if err != nil || weeks != 5 || len(to) != 2 || to[1] != 3 || to[3] != 4 {
		t.Errorf("%v, %d weeks, %v", to, weeks, err)
	}
	p.Weeks = 30
	if _, _, err := p.Moved([]int{29}, 0, nil); err == nil {
		t.Error("a thirty-first week")
	}
}
