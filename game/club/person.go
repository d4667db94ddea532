// Package club holds the people of a club and what they may do: persons and
// their secrets, consent, drills and assignments. It knows no database.
package club

import (
	"fmt"
	"net/mail"
	"strings"
	"time"

	"drover/game"
	"drover/game/ending"
)

// Person is a member of a club, as far as any page shows one.
type Person struct {
	ID      game.PersonID
	Club    game.ClubID
	Role    game.Role
	Name    string // a student's is a nickname
	Number  int    // a student's, printed on the card; 0 for others
	Wording int    // for which age sentences are worded: ending.Eight or Fourteen
}

// Club is a club.
type Club struct {
	ID        game.ClubID
	Name      string
	Zone      string // IANA time zone in which its days begin
	Welfare   string // name of the welfare officer
	Contact   string // how to reach them
	Outside   string // whom else to turn to, outside the club; may be empty
	Emergency string // the number to call in danger; empty: that of the country
	Pace      int    // milliseconds before the defender's reply is shown
}

// Local is the club's own time of day; an unknown zone reads as UTC.
func (c Club) Local(t time.Time) time.Time {
	zone, err := time.LoadLocation(c.Zone)
	if err != nil {
		zone = time.UTC
	}
	return t.In(zone)
}

// NewClub is the first run: a club, its first coach, and whom children can
// turn to.
type NewClub struct {
	Club, Name, Email, Password, Welfare, Contact, Zone string

	Self bool // whoever sets the club up is the one to turn to, and that is meant
}

// Problems maps a field of a form to the sentence that says what is wrong
// with it.
type Problems map[string]string

// Err is nil where there are no problems; else an error that holds them.
func (p Problems) Err() error {
	if len(p) == 0 {
		return nil
	}
	return game.Wrap(game.Bad, "Please look at the marked fields.", p)
}

// Error makes the problems an error.
func (p Problems) Error() string { return fmt.Sprintf("%d fields", len(p)) }

// Validate holds a new club's fields against their rules.
func (c *NewClub) Validate() error {
	c.Club, c.Name, c.Email = Tidy(c.Club), Tidy(c.Name), strings.TrimSpace(c.Email)
	c.Welfare, c.Contact = Tidy(c.Welfare), Tidy(c.Contact)
	p := Problems{}
	p.text("club", c.Club, "the club's name", 80)
	p.text("name", c.Name, "your name", 60)
	p.welfare(c.Welfare, c.Contact)
	p.login(c.Email, c.Password, c.Club, c.Name)
	if !c.Self && SamePerson(c.Name, c.Welfare) {
		p["self"] = "You name yourself. A child who is worried about you would then have only you to tell. " +
			"Name somebody who coaches nobody here; or tick the box below, and change it as soon as there is somebody."
	}
	if c.Zone == "" {
		c.Zone = "UTC"
	}
	if _, err := time.LoadLocation(c.Zone); err != nil || c.Zone == "Local" {
		c.Zone = "UTC" // the browser's word; one that we do not know is no reason to refuse a club
	}
	return p.Err()
}

// welfare holds whom a child can turn to against the rules.
func (p Problems) welfare(name, contact string) {
	p.text("welfare", name, "who a child can turn to", 80)
	p.text("contact", contact, "how to reach them", 200)
}

// ValidateWelfare holds whom a child can turn to, and how, against the rules.
func ValidateWelfare(name, contact string) (string, string, error) {
	name, contact = Tidy(name), Tidy(contact)
	p := Problems{}
	p.welfare(name, contact)
	return name, contact, p.Err()
}

// noAddress is said of what is no e-mail address.
const noAddress = "Please write an e-mail address, such as name@club.example."

// addressed says whether a text is an e-mail address.
func addressed(email string) bool {
	a, err := mail.ParseAddress(email)
	return err == nil && a.Address == email && len(email) <= 254 && refused(email) == ""
}

// login holds an e-mail address and a new password against their rules; names are
// those of the club and the person.
func (p Problems) login(email, password string, names ...string) {
	if !addressed(email) {
		p["email"] = noAddress
	}
	if say := WeakPassword(password, append(names, addresses(email)...)...); say != "" {
		p["password"] = say
	}
}

// NewCoach is a coach or a welfare officer who joins a club.
type NewCoach struct {
	Name, Email, Password string

	Another bool // somebody of this name has another part in the club, and is another person
}

// Validate holds a new coach's fields against their rules; to is the club's name.
func (c *NewCoach) Validate(to string) error {
	c.Name, c.Email = Tidy(c.Name), strings.TrimSpace(c.Email)
	p := Problems{}
	p.text("name", c.Name, "a name", 60)
	p.login(c.Email, c.Password, to, c.Name)
	return p.Err()
}

// NewStudent is a student to be added. Only a nickname is kept of the child;
// consent is the guardian's, noted by the coach.
type NewStudent struct {
	Name      string
	ConsentBy string
	ConsentOn time.Time
	Consent   bool
	Version   int // of the notice that was agreed to; 0: that of its day; -1: the program's own words
	Wording   int
	Same      bool // another child of the club has this nickname, and that is meant
}

// Validate holds a new student's fields against their rules. today is a time in the club's zone.
func (s *NewStudent) Validate(today time.Time) error {
	s.Name = Tidy(s.Name)
	p := ConsentProblems(s, today)
	p.text("name", s.Name, "a nickname", 60)
	if !s.Consent {
		p["consent"] = "A child may practise only after a guardian has agreed."
	}
	if s.Wording != ending.Eight && s.Wording != ending.Fourteen {
		s.Wording = ending.Eight
	}
	return p.Err()
}

// ConsentProblems holds who agreed, and when, against their rules. today is a time in the
// club's zone.
func ConsentProblems(s *NewStudent, today time.Time) Problems {
	return consentProblems(s, today, "which guardian agreed", "Please choose the day on which the guardian agreed.",
		"This day is still to come. Choose the day on which the guardian agreed.")
}

// WithdrawalProblems is ConsentProblems of a consent that was taken back.
func WithdrawalProblems(s *NewStudent, today time.Time) Problems {
	const day = "Choose the day on which consent was taken back, today or earlier."
	return consentProblems(s, today, "who takes consent back", day, day)
}

// AgainProblems is ConsentProblems of a consent that was taken back and is given again.
func AgainProblems(s *NewStudent, today time.Time) Problems {
	const day = "Choose the day on which consent was given again, today or earlier."
	return consentProblems(s, today, "which guardian agreed", day, day)
}

// consentProblems holds who said so and the day against their rules; none and later are said
// of a day that is missing and of one that is still to come.
func consentProblems(s *NewStudent, today time.Time, who, none, later string) Problems {
	s.ConsentBy = Tidy(s.ConsentBy)
	p := Problems{}
	p.text("consent_by", s.ConsentBy, who, 60)
	switch {
	case s.ConsentOn.IsZero():
		p["consent_on"] = none
	case CalendarDay(s.ConsentOn).After(CalendarDay(today)):
		p["consent_on"] = later
	case s.ConsentOn.Before(today.AddDate(-18, 0, -1)):
		p["consent_on"] = "This day is more than eighteen years ago. Please look at the year once more."
	}
	return p
}

// Twice is the question about a nickname that the club has already, as a problem
// of the field in which it is answered.
func Twice(name string) error {
	return Problems{"same": "There is a " + name + " in the club already. Is this another child? " +
		"Write something more that tells the two apart, or tick the box below."}.Err()
}

// ValidateName checks a single name, such as a guardian's.
func ValidateName(field, name string) (string, error) {
	name = Tidy(name)
	p := Problems{}
	p.text(field, name, "a name", 60)
	return name, p.Err()
}
