package progress

import (
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
)

// Day is a day of the calendar, counted from 1 January 1970; 0 stands for
// never.
type Day int

// DayOf is the calendar day of a time, in the zone that the time is given in.
func DayOf(t time.Time) Day {
	return Day(club.CalendarDay(t).Unix() / (24 * 60 * 60))
}

// Date is the day as a date, at midnight of no zone.
func (d Day) Date() time.Time { return time.Unix(int64(d)*24*60*60, 0).UTC() }

// Begins is the first moment of the day in a zone: one o'clock where summer time leaves
// midnight out.
func (d Day) Begins(zone *time.Location) time.Time {
	year, month, day := d.Date().Date()
	t := time.Date(year, month, day, 0, 0, 0, 0, zone)
	if DayOf(t) != d {
		t = t.Add(time.Hour)
	}
	return t
}

// Key names one stage of one ending.
type Key struct {
	Ending string
	Stage  ending.Stage
}

// Trial is one ended game in test mode, as mastery and review dates look at it.
type Trial struct {
	Game     game.GameID
	Day      Day // on which it ended, in the club's zone
	Ending   string
	From, To ending.Stage // of its drill
	Moves    int
	Result   practice.Result
	Clean    map[ending.Stage]bool // the stages that were entered: whether each was clean
}

// The re-check that makes a stage mastered comes a week after the test at the earliest,
// and one of two is enough (design 5).
const (
	recheckIn = Day(7)
	rechecks  = 2
)

// Passed says whether a trial is passed. A whole ending is passed when it is won
// alone within the plan's budget, a part of it when each of its stages was
// clean. Help of any kind, also 'someone helped me', is no pass.
func (t Trial) Passed() bool {
	if !t.Result.Alone() {
		return false
	}
	if most := club.Within(t.Ending, t.From, t.To); most > 0 {
		return t.Moves <= most
	}
	for _, s := range t.stages() {
		if clean, entered := t.Clean[s]; entered && !clean {
			return false
		}
	}
	return true
}

// stages are those of the trial's drill, in order.
func (t Trial) stages() []ending.Stage {
	plan, ok := ending.PlanOf(t.Ending)
	if !ok {
		return nil
	}
	var out []ending.Stage
	for i := max(plan.Index(t.From), 0); i <= plan.Index(t.To); i++ {
		out = append(out, plan.Steps[i].Stage)
	}
	return out
}

// weighs says whether a trial tells anything of a stage of its drill: a game that was
// lost before the stage does not.
func (t Trial) weighs(s ending.Stage) bool {
	_, entered := t.Clean[s]
	return entered || t.Passed()
}

// Mastery is how far a student is with mastering a stage, and when it is asked
// for again.
type Mastery struct {
	Tested   Day  // of the test that was passed
	Mastered Day  // of the re-check a week later, which is never taken away
	Last     Day  // of the last trial that counted
	Due      Day  // when it is asked for again; 0: not at all
	Missed   bool // the last re-check went wrong: the stage needs a game
}

// MasteryOf works out how far a student is with each stage from their trials,
// oldest first. bells are the days on which stages were noted as mastered; a
// bell stays, whatever is noted of the games later.
func MasteryOf(trials []Trial, bells map[Key]Day) map[Key]Mastery {
	walks := map[Key]*walk{}
	at := func(k Key) *walk {
		if walks[k] == nil {
			walks[k] = &walk{bell: bells[k]}
		}
		return walks[k]
	}
	for k := range bells {
		at(k)
	}
	passed := map[int]bool{}
	for _, s := range Sittings(trials) {
		passed[s.last] = s.Passed()
	}
	for i, t := range trials {
		for _, s := range t.stages() {
			w := at(Key{t.Ending, s})
			if t.weighs(s) {
				w.recheck(t)
			}
			if passed[i] {
				w.test(t)
			}
		}
	}
	out := map[Key]Mastery{}
	for k, w := range walks {
		w.ring(Day(1 << 30))
		if s := w.end(); s != (Mastery{}) {
			out[k] = s
		}
	}
	return out
}

// walk is one stage on the way through the trials.
type walk struct {
	Mastery
	bell  Day
	tries int // re-checks since the test that did not make it
	dates schedule
}

// test takes a test that was passed with this trial.
func (w *walk) test(t Trial) {
	if w.Tested == 0 && w.Mastered == 0 {
		w.Tested, w.Last, w.tries = t.Day, t.Day, 0
		w.dates = schedule{}
		w.dates.add(rated{t.Day, good, false})
	}
}

// recheck takes a trial as a re-check, if it is late enough to be one.
func (w *walk) recheck(t Trial) {
	w.ring(t.Day)
	switch {
	case w.Mastered != 0 && t.Day > w.Mastered:
	case w.Mastered == 0 && w.Tested != 0 && t.Day >= w.Tested+recheckIn:
	default:
		return
	}
	w.Last, w.Missed = t.Day, !t.Passed()
	w.dates.add(rated{t.Day, t.rating(), w.Missed})
	if w.Mastered != 0 {
		return
	}
	if w.tries++; !w.Missed {
		w.Mastered = t.Day
	} else if w.tries == rechecks {
		w.Mastery = Mastery{} // another test
	}
}

// ring takes over a bell that was noted before a day and does not follow from
// the trials, as when help was noted afterwards.
func (w *walk) ring(before Day) {
	if w.bell == 0 || w.Mastered != 0 || w.bell >= before {
		return
	}
	w.Mastered, w.Last, w.Missed = w.bell, max(w.Last, w.bell), false
	w.dates = schedule{}
	w.dates.add(rated{w.bell - recheckIn, good, false})
	w.dates.add(rated{w.bell, good, false})
}

// end adds when the stage is asked for again: one that needs a game at once.
func (w *walk) end() Mastery {
	s := w.Mastery
	switch {
	case s.Tested == 0 && s.Mastered == 0:
		return Mastery{}
	case s.Missed:
		s.Due = s.Last
	case s.Mastered == 0:
		s.Due = s.Tested + recheckIn
	default:
		s.Due = s.Last + w.dates.wait()
	}
	return s
}
