package club

import (
	"fmt"
	"time"
)

// Span is when an assignment opens, and the day on which it is due, if any.
type Span struct {
	Opens time.Time
	Due   *time.Time
}

// MaxWeeks is how many weeks are given at once: a term.
const MaxWeeks = 20

// Weekly says when a drill is given that is repeated each week until a day: opened on the
// first day, and again every seven days, each time due as many days later. A week whose due
// day (or, without one, whose first day) lies in the holidays is left out. Days are those
// of a time zone; without until there is one week.
func Weekly(from time.Time, due, until *time.Time, zone *time.Location, holidays []Holiday) ([]Span, error) {
	switch {
	case due != nil && due.Before(from):
		return nil, Problems{"due": "It is due before it opens. Choose a later day."}.Err()
	case until != nil && until.Before(from):
		return nil, Problems{"until": "The last week ends before the first. Choose a later day, or leave this empty."}.Err()
	case until != nil && due != nil && due.Sub(from) > 7*24*time.Hour:
		return nil, Problems{"due": "A drill that comes each week is due within seven days of opening."}.Err()
	}
	var out []Span
	for week := range MaxWeeks + 1 {
		first := from.AddDate(0, 0, 7*week)
		if week > 0 && (until == nil || first.After(*until)) {
			break
		}
		if week == MaxWeeks {
			return nil, Problems{"until": fmt.Sprintf("That is more than %d weeks. Choose an earlier day.", MaxWeeks)}.Err()
		}
		at := Span{Opens: time.Date(first.Year(), first.Month(), first.Day(), 0, 0, 0, 0, zone)}
		day := first
		if due != nil {
			day = due.AddDate(0, 0, 7*week)
			at.Due = &day
		}
		err := ValidateHolidays(day, holidays)
		switch {
		case err != nil && until == nil && due != nil:
			return nil, err
		case err != nil && until != nil:
			continue
		}
		out = append(out, at)
	}
	if len(out) == 0 {
		return nil, Problems{"until": "Every week of these lies in the holidays. Choose a later day."}.Err()
	}
	return out, nil
}
