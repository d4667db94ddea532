package progress

import (
	"time"

	"drover/game/club"
	"drover/game/practice"

	fsrs "github.com/open-spaced-repetition/go-fsrs/v4"
)

// waits are the days between re-checks as a plain default (common practice), while
// there is too little to go by: the first after a stage was brought back, the
// second after a test, the third after the re-check that made it mastered.
var waits = []Day{3, 7, 21, 60}

const (
	enough  = 4   // re-checks from which on the model of memory sets the date
	longest = 180 // days: a season; more would be another child
)

// The ratings of a re-check, as the model of memory knows them.
const (
	again = fsrs.Again
	hard  = fsrs.Hard
	good  = fsrs.Good
)

// rating weighs a trial: clean is good, over par or helped is hard, not won is
// again.
func (t Trial) rating() fsrs.Rating {
	switch t.Result {
	case practice.Clean:
		return good
	case practice.OverPar, practice.WonHelped:
		return hard
	case practice.NotWon:
	}
	return again
}

// rated is one test or re-check: when, how well, and whether it went wrong.
type rated struct {
	day    Day
	rating fsrs.Rating
	missed bool
}

// schedule is the tests and re-checks of one stage with how each went.
type schedule struct {
	all  []rated
	step int // of waits
}

func (s *schedule) add(r rated) {
	s.all = append(s.all, r)
	switch {
	case r.missed:
		s.step = -1 // the next that goes well begins anew
	case len(s.all) == 1:
		s.step = 1
	default:
		s.step = min(s.step+1, len(waits)-1)
	}
}

// wait is the number of days from the last re-check to the next.
func (s *schedule) wait() Day {
	if len(s.all) < enough {
		return waits[max(s.step, 0)]
	}
	p := fsrs.DefaultParam()
	p.EnableShortTerm, p.EnableFuzz, p.MaximumInterval = false, false, longest
	model := fsrs.NewFSRS(p)
	card := fsrs.NewCard(at(s.all[0].day))
	for _, r := range s.all {
		next, err := model.Next(card, at(r.day), r.rating)
		if err != nil { // a rating or a day that the model refuses: the plain default stands
			return waits[max(s.step, 0)]
		}
		card = next.Card
	}
	return max(Day(min(card.ScheduledDays, longest)), 1)
}

// AfterHolidays is a day, or the first after the holidays that it lies in; 0 stays 0.
func AfterHolidays(d Day, holidays []club.Holiday) Day {
	if d == 0 {
		return d
	}
	return DayOf(club.AfterHolidays(d.Date(), holidays))
}

// at is noon of a day.
func at(d Day) time.Time { return d.Date().Add(12 * time.Hour) }
