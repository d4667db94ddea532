package club

import (
	"fmt"
	"time"

	"drover/game"
	"drover/game/ending"
)

// Group is a group of students of a club.
type Group struct {
	ID   game.GroupID
	Name string
}

// ValidateGroup checks the name of a group.
func ValidateGroup(name string) (string, error) { return ValidateName("name", name) }

// StudentEdit is what a coach changes of a student.
type StudentEdit struct {
	Name     string
	Wording  int
	Groups   []game.GroupID
	Same     bool // another child of the club has this nickname, and that is meant
	Revision int  // of the student, as the form was drawn
}

// Validate holds the fields against their rules.
func (e *StudentEdit) Validate() error {
	e.Name = Tidy(e.Name)
	p := Problems{}
	p.text("name", e.Name, "a nickname", 60)
	if e.Wording != ending.Fourteen {
		e.Wording = ending.Eight
	}
	return p.Err()
}

// Holiday is a time in which nothing is due.
type Holiday struct {
	From, To time.Time // days, both included
	Name     string
}

// Holds says whether a day lies in the holiday.
func (h Holiday) Holds(day time.Time) bool { return !day.Before(h.From) && !day.After(h.To) }

// AfterHolidays is a day, or the first after the holidays that it lies in.
func AfterHolidays(day time.Time, holidays []Holiday) time.Time {
	for moved := true; moved; {
		moved = false
		for _, h := range holidays {
			if h.Holds(day) {
				day, moved = h.To.AddDate(0, 0, 1), true
			}
		}
	}
	return day
}

// ValidateHolidays refuses a due day that lies in a holiday.
func ValidateHolidays(day time.Time, holidays []Holiday) error {
	for _, h := range holidays {
		if h.Holds(day) {
			return Problems{"due": fmt.Sprintf("This day is in the holidays (%s, %s to %s). Choose an earlier or a later one.", h.Name,
				h.From.Format("2 January"), h.To.Format("2 January"))}.Err()
		}
	}
	return nil
}

// Settings are what a coach changes of a club.
type Settings struct {
	Name      string
	Zone      string
	Outside   string // whom to turn to outside the club
	Emergency string // whom to call in danger; empty: the emergency number of the country
	Holidays  []Holiday
	Revision  int
}

// mostHolidays is how many holidays a club keeps.
const mostHolidays = 40

// Validate holds the fields against their rules.
func (s *Settings) Validate() error {
	s.Name = Tidy(s.Name)
	p := Problems{}
	p.text("name", s.Name, "the club's name", 80)
	if s.Outside = Tidy(s.Outside); s.Outside != "" {
		p.text("outside", s.Outside, "", 400)
	}
	if s.Emergency = Tidy(s.Emergency); s.Emergency != "" {
		p.text("emergency", s.Emergency, "", 60)
	}
	if _, err := time.LoadLocation(s.Zone); err != nil || s.Zone == "" || s.Zone == "Local" {
		p["zone"] = "Choose a time zone, such as Europe/Oslo."
	}
	if len(s.Holidays) > mostHolidays {
		p["holidays"] = "A club keeps 40 holidays. Take out those that are over."
	}
	for i := range s.Holidays {
		h := &s.Holidays[i]
		h.Name = Tidy(h.Name)
		p.text("holidays", h.Name, "a name for each holiday", 60)
		if h.To.Before(h.From) {
			p["holidays"] = h.Name + " ends before it begins."
		}
	}
	return p.Err()
}
