package club

import (
	"time"

	"drover/game"
	"drover/game/ending"
)

// TermPlan is a plan of weeks and groups.
type TermPlan struct {
	ID    game.PlanID
	Title string
	From  time.Time // the Monday of the first week
	Weeks int
}

// MaxPlanWeeks is the greatest number of weeks of a plan.
const MaxPlanWeeks = 30

// Validate holds a plan against the rules; its first day becomes the Monday of its week.
func (p *TermPlan) Validate() error {
	bad := Problems{}
	p.Title = Tidy(p.Title)
	bad.text("title", p.Title, "a title", 60)
	if p.From.IsZero() {
		bad["from"] = "Choose the first day of the term."
	} else {
		p.From = Monday(p.From)
	}
	if p.Weeks < 1 || p.Weeks > MaxPlanWeeks {
		bad["weeks"] = "Choose from 1 to 30 weeks."
	}
	return bad.Err()
}

// Monday is the Monday of a day's week (ISO 8601).
func Monday(day time.Time) time.Time { return day.AddDate(0, 0, -int(day.Weekday()+6)%7) }

// Week is the Monday of a week of the plan, from 0.
func (p *TermPlan) Week(no int) time.Time { return p.From.AddDate(0, 0, 7*no) }

// At is the week of the plan in which a day lies, from 0; below 0 or beyond the last where
// it lies in none.
func (p *TermPlan) At(day time.Time) int {
	days := int(Monday(day).Sub(p.From).Hours() / 24)
	return days / 7
}

// Resting says whether a whole week from a Monday lies in holidays, and in which: all its
// days from Monday to Friday.
func Resting(monday time.Time, holidays []Holiday) (name string, is bool) {
	for i := range 5 {
		held := false
		for _, h := range holidays {
			if h.Holds(monday.AddDate(0, 0, i)) {
				held, name = true, h.Name
			}
		}
		if !held {
			return "", false
		}
	}
	return name, true
}

// Moved says where weeks of a plan go that are moved by one, from a week on: each to the
// next week that does not rest, so that their order stays; and how many weeks the plan has
// then.
func (p *TermPlan) Moved(filled []int, from int, holidays []Holiday) (to map[int]int, weeks int, err error) {
	to, weeks = map[int]int{}, p.Weeks
	last := -1
	for _, week := range filled { // in order
		if week < from {
			continue
		}
		next := max(week, last) + 1
		for name, rests := Resting(p.Week(next), holidays); rests && name != ""; name, rests = Resting(p.Week(next), holidays) {
			next++
		}
		to[week], last = next, next
	}
	if weeks = max(weeks, last+1); weeks > MaxPlanWeeks {
		return nil, 0, Problems{"week": "A plan has 30 weeks at most, and the last ones are full."}.Err()
	}
	return to, weeks, nil
}

// DueIn is the last day of a week from a Monday on which something can be due: its Sunday,
// or the day before where that is a holiday; the Monday where all are.
func DueIn(monday time.Time, holidays []Holiday) time.Time {
	for i := 6; i > 0; i-- {
		if day := monday.AddDate(0, 0, i); ValidateHolidays(day, holidays) == nil {
			return day
		}
	}
	return monday
}

// PlanCell is what is planned for a group in a week: a place on the shelf, or an ending of
// which each child gets what comes next.
type PlanCell struct {
	Week   int
	Group  game.GroupID
	Shelf  int64  // 0: an ending
	Ending string // a code of ending.Taught; empty: a place on the shelf
}

// Validate holds a cell against the rules.
func (c PlanCell) Validate(weeks int) error {
	_, taught := ending.PlanOf(c.Ending)
	if c.Week < 0 || c.Week >= weeks || (c.Shelf == 0) == (c.Ending == "") || c.Ending != "" && !taught {
		return Problems{"what": "Choose a drill or an ending from the list."}.Err()
	}
	return nil
}
