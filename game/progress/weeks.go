package progress

import (
	"time"

	"drover/game/ending"
)

// Weeks is how many weeks the picture of a student shows, this one included: as many as
// Window has.
const Weeks = 8

// EndingWeeks is an ending that was played in the last weeks, with each stage of its plan.
type EndingWeeks struct {
	Ending string
	Stages []StageWeeks
}

// StageWeeks is one stage in the last weeks.
type StageWeeks struct {
	Stage ending.Stage
	Weeks [Weeks][]bool // whether each game was clean, the oldest first; the last is this week
}

// Count is how many games of all the weeks were clean, and of how many.
func (s StageWeeks) Count() (clean, of int) {
	for _, week := range s.Weeks {
		for _, ok := range week {
			if of++; ok {
				clean++
			}
		}
	}
	return clean, of
}

// Mondays are the days on which the last weeks begin, the last one that of this week.
func (r Record) Mondays() [Weeks]Day {
	var out [Weeks]Day
	for i := range out {
		out[i] = mondayOf(r.Now) - Day(7*(Weeks-1-i))
	}
	return out
}

// mondayOf is the Monday of a time's week, in the zone that the time is given in. Days of
// the calendar are counted, not hours: a week with a change of summer time has seven, too.
func mondayOf(t time.Time) Day { return DayOf(t) - Day(weekday(t)) }

// weekOf is the place of a time among the last weeks; ok is false where it is in none.
func (r Record) weekOf(t time.Time) (week int, ok bool) {
	week = Weeks - 1 - int(mondayOf(r.Now)-mondayOf(t.In(r.Now.Location())))/7
	return week, week >= 0 && week < Weeks
}

// StagesByWeek sorts the stages of the last weeks by the week in which their games ended,
// in the club's own time: the endings that were played, in the order of the plans, with the
// stages that the stage view counts, too.
func (r Record) StagesByWeek() []EndingWeeks {
	by := map[Key]*StageWeeks{}
	played := map[string]bool{}
	for _, p := range r.Stages {
		week, ok := r.weekOf(p.Ended)
		if !ok || !p.Shown() {
			continue
		}
		k := Key{p.Ending, p.Stage}
		if by[k] == nil {
			by[k] = &StageWeeks{Stage: p.Stage}
		}
		by[k].Weeks[week] = append(by[k].Weeks[week], p.Clean)
		played[p.Ending] = true
	}
	var out []EndingWeeks
	for _, plan := range ending.Taught() {
		if !played[plan.Code] {
			continue
		}
		e := EndingWeeks{Ending: plan.Code}
		for _, step := range plan.Steps {
			row := StageWeeks{Stage: step.Stage}
			if of := by[Key{plan.Code, step.Stage}]; of != nil {
				row = *of
			}
			e.Stages = append(e.Stages, row)
		}
		out = append(out, e)
	}
	return out
}

// Spending says what time of thought went to.
type Spending int

// What time goes to.
const (
	OnSet     Spending = iota // what a coach set, its last parts, and re-checks
	WithCoach                 // games in which a coach moved the lone king
	OnOwn                     // free practice
	OnAgain                   // positions played once more
	Uncounted                 // what else counts for nothing
	spendings
)

// Spent is the time of thought of one game.
type Spent struct {
	On      Spending
	At      time.Time // when the game ended, or of the last act while it goes on
	Seconds int
}

// WeekSpent adds up the time of one week.
type WeekSpent struct {
	Seconds [spendings]int
	Days    int // on which there was any
}

// All is the time of the week.
func (w WeekSpent) All() int {
	n := 0
	for _, s := range w.Seconds {
		n += s
	}
	return n
}

// SpentByWeek adds up the time of thought of the last weeks.
func (r Record) SpentByWeek() [Weeks]WeekSpent {
	var out [Weeks]WeekSpent
	seen := map[Day]bool{}
	for _, s := range r.Spent {
		week, ok := r.weekOf(s.At)
		if !ok || s.Seconds == 0 {
			continue
		}
		out[week].Seconds[s.On] += s.Seconds
		if day := DayOf(s.At.In(r.Now.Location())); !seen[day] {
			seen[day] = true
			out[week].Days++
		}
	}
	return out
}
