package club_test

import (
	"errors"
	"strings"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
)

// marked are the fields that an error marks.
func marked(t *testing.T, err error) club.Problems {
	t.Helper()
	var p club.Problems
	if err != nil && (!errors.As(err, &p) || game.KindOf(err) != game.Bad ||
		game.Saying(err) != "Please look at the marked fields.") {
		t.Fatalf("%v is no error of a form", err)
	}
	return p
}

// only fails unless exactly one field is marked, with a sentence that has say;
// an empty field wants none.
func only(t *testing.T, name string, err error, field, say string) {
	t.Helper()
	p := marked(t, err)
	if field == "" && len(p) == 0 {
		return
	}
	if len(p) != 1 || !strings.Contains(p[field], say) || !strings.HasSuffix(p[field], ".") {
		t.Errorf("%s: %v, want %s: %s", name, p, field, say)
	}
}

func aClub() club.NewClub {
	return club.NewClub{Club: "Ferry Lane", Name: "Ilse", Email: "ilse@ferrylane.example", Password: "a field of heather",
		Welfare: "Marten", Contact: "in the club room"}
}

// TestNewClub has a row for each rule.
func TestNewClub(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, field, say string
		change           func(*club.NewClub)
	}{
		{"good", "", "", func(*club.NewClub) {}},
		{"a zone", "", "", func(n *club.NewClub) { n.Zone = "Europe/Oslo" }},
		{"a zone that nobody knows", "", "", func(n *club.NewClub) { n.Zone = "Europe/Nowhere" }},
		{"no club", "club", "Please write the club's name", func(n *club.NewClub) { n.Club = "  " }},
		{"long club", "club", "to 80 characters; it has 81", func(n *club.NewClub) { n.Club = strings.Repeat("é", 81) }},
		{"no name", "name", "Please write your name", func(n *club.NewClub) { n.Name = "" }},
		{"control character", "name", "on one line", func(n *club.NewClub) { n.Name = "Il\x00se" }},
		{"nobody to turn to", "welfare", "who a child can turn to", func(n *club.NewClub) { n.Welfare = "" }},
		{"no way to reach them", "contact", "how to reach them", func(n *club.NewClub) { n.Contact = "" }},
		{"no address", "email", "an e-mail address", func(n *club.NewClub) { n.Email = "ilse" }},
		{"name and address", "email", "an e-mail address",
			func(n *club.NewClub) { n.Email = "Ilse <ilse@ferrylane.example>" }},
		{"long address", "email", "an e-mail address",
			func(n *club.NewClub) { n.Email = strings.Repeat("a", 250) + "@b.example" }},
		{"short password", "password", "at least 15", func(n *club.NewClub) { n.Password = "heather" }},
		{"the club's name as password", "password", "that others know",
			func(n *club.NewClub) { n.Password = "Ferry Lane, Ferry Lane" }},
		{"the address as password", "password", "that others know", func(n *club.NewClub) { n.Password = n.Email }},
	} {
		n := aClub()
		c.change(&n)
		only(t, c.name, n.Validate(), c.field, c.say)
	}
	n := aClub()
	n.Club, n.Email = "  Ferry \t Lane ", " ilse@ferrylane.example "
	if err := n.Validate(); err != nil || n.Club != "Ferry Lane" || n.Email != "ilse@ferrylane.example" ||
		n.Zone != "UTC" {
		t.Errorf("%+v, %v", n, err)
	}
	if p := marked(t, (&club.NewClub{}).Validate()); len(p) != 6 {
		t.Errorf("an empty form marks %v", p)
	}
}

// TestNewCoach has a row for each rule.
func TestNewCoach(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, field, say string
		change           func(*club.NewCoach)
	}{
		{"good", "", "", func(*club.NewCoach) {}},
		{"no name", "name", "Please write a name", func(n *club.NewCoach) { n.Name = " " }},
		{"no address", "email", "an e-mail address", func(n *club.NewCoach) { n.Email = "bo" }},
		{"short password", "password", "at least 15", func(n *club.NewCoach) { n.Password = "heather" }},
		{"the club's name as password", "password", "that others know",
			func(n *club.NewCoach) { n.Password = "ferry-lane-2026!!" }},
		{"the own name as password", "password", "that others know",
			func(n *club.NewCoach) { n.Password = "Bo 123456789 Bo" }},
	} {
		n := club.NewCoach{Name: " Bo ", Email: " bo@ferrylane.example", Password: "another field of heather"}
		c.change(&n)
		only(t, c.name, n.Validate("Ferry Lane"), c.field, c.say)
	}
}

// TestNewStudent has a row for each rule; without consent nothing goes.
func TestNewStudent(t *testing.T) {
	t.Parallel()
	today := time.Date(2026, 11, 5, 0, 0, 0, 0, time.UTC)
	for _, c := range []struct {
		name, field, say string
		change           func(*club.NewStudent)
	}{
		{"good", "", "", func(*club.NewStudent) {}},
		{"letters of the world", "", "", func(s *club.NewStudent) { s.Name = "Ünal-O'Shea ليلى 🐑" }},
		{"sixty letters", "", "", func(s *club.NewStudent) { s.Name = strings.Repeat("ü", 60) }},
		{"sixty-one", "name", "to 60 characters; it has 61", func(s *club.NewStudent) { s.Name = strings.Repeat("ü", 61) }},
		{"no name", "name", "a nickname", func(s *club.NewStudent) { s.Name = "" }},
		{"no guardian", "consent_by", "which guardian agreed", func(s *club.NewStudent) { s.ConsentBy = " " }},
		{"no day", "consent_on", "choose the day", func(s *club.NewStudent) { s.ConsentOn = time.Time{} }},
		{"a day to come", "consent_on", "still to come", func(s *club.NewStudent) { s.ConsentOn = today.AddDate(0, 0, 1) }},
		{"eighteen years ago", "", "", func(s *club.NewStudent) { s.ConsentOn = today.AddDate(-18, 0, 0) }},
		{"before that", "consent_on", "look at the year once more",
			func(s *club.NewStudent) { s.ConsentOn = today.AddDate(-18, 0, -2) }},
		{"a year of two figures", "consent_on", "look at the year once more",
			func(s *club.NewStudent) { s.ConsentOn = today.AddDate(-2000, 0, 0) }},
		{"no consent", "consent", "only after a guardian has agreed", func(s *club.NewStudent) { s.Consent = false }},
	} {
		s := club.NewStudent{Name: "Juniper", ConsentBy: "Hanne", ConsentOn: today, Consent: true, Wording: 14}
		c.change(&s)
		only(t, c.name, s.Validate(today), c.field, c.say)
		if s.Wording != 14 {
			t.Errorf("%s: wording became %d", c.name, s.Wording)
		}
	}
	s := club.NewStudent{Name: "Kit", ConsentBy: "Per", ConsentOn: today, Consent: true, Wording: 99}
	if err := s.Validate(today); err != nil || s.Wording != 8 {
		t.Errorf("an unknown wording: %d, %v", s.Wording, err)
	}
}

// TestCheckName: a guardian's name, tidied.
func TestCheckName(t *testing.T) {
	t.Parallel()
	if name, err := club.ValidateName("guardian", "  Hanne \n Marie "); err != nil || name != "Hanne Marie" {
		t.Errorf("%q, %v", name, err)
	}
	_, err := club.ValidateName("guardian", "")
	only(t, "no name", err, "guardian", "Please write a name")
}

func aDrill() club.Drill {
	return club.Drill{Ending: "KBNK", Mode: practice.Guided, From: ending.Centralise, To: ending.Mate, Defender: "longest",
		Rule: club.RuleOf(practice.Guided)}
}

// TestDrill has a row for each rule.
func TestDrill(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, field, say string
		change           func(*club.Drill)
	}{
		{"good", "", "", func(*club.Drill) {}},
		{"one stage", "", "", func(d *club.Drill) { d.From, d.To = ending.Corner, ending.Corner }},
		{"no such ending", "ending", "Choose one of the endings", func(d *club.Drill) { d.Ending = "KNK" }},
		{"no such first stage", "from", "Choose centralise or drive to the edge or mate",
			func(d *club.Drill) { d.Ending, d.From = "KRK", ending.Corner }},
		{"no such last stage", "to", "has no such stage", func(d *club.Drill) { d.Ending, d.To = "KBBK", ending.Mate }},
		{"backwards", "to", "comes before the first", func(d *club.Drill) { d.From, d.To = ending.Corner, ending.Edge }},
		{"no such defender", "defender", "Choose one of the defenders", func(d *club.Drill) { d.Defender = "" }},
		{"no such mode", "mode", "Choose when the verdict shows", func(d *club.Drill) { d.Mode = "loud" }},
		{"a clock of an hour", "", "", func(d *club.Drill) { d.Rule.Clock = 3600 }},
		{"a longer clock", "clock", "a number of minutes from 0 to 60", func(d *club.Drill) { d.Rule.Clock = 3660 }},
		{"a clock before 0", "clock", "a number of minutes from 0 to 60", func(d *club.Drill) { d.Rule.Clock = -60 }},
		{"a minute more for each move", "", "", func(d *club.Drill) { d.Rule.Clock, d.Rule.Increment = 60, 60 }},
		{"more than a minute", "increment", "a number from 0 to 60", func(d *club.Drill) { d.Rule.Clock, d.Rule.Increment = 60, 61 }},
		{"less than nothing", "increment", "a number from 0 to 60", func(d *club.Drill) { d.Rule.Clock, d.Rule.Increment = 60, -1 }},
		{"nothing to add to", "increment", "Write at least 1 as its minutes, or 0 here.", func(d *club.Drill) { d.Rule.Increment = 3 }},
		{"too many moves", "budget", "a number from 0 to 50", func(d *club.Drill) { d.Rule.Budget = 51 }},
		{"long name", "name", "to 80 characters", func(d *club.Drill) { d.Name = strings.Repeat("x", 81) }},
	} {
		d := aDrill()
		c.change(&d)
		only(t, c.name, d.Validate(), c.field, c.say)
	}
}

// TestDrillTitle: a drill without a name is named by what it is; every ending
// with every pair of stages has a title that fits.
func TestDrillTitle(t *testing.T) {
	t.Parallel()
	d := aDrill()
	if err := d.Validate(); err != nil || d.Name != "Bishop and knight: centralise, and so on to mate" {
		t.Errorf("%q, %v", d.Name, err)
	}
	titles := map[string]bool{}
	for _, plan := range ending.Plans() {
		for i, from := range plan.Steps {
			for _, to := range plan.Steps[i:] {
				d := club.Drill{Ending: plan.Code, From: from.Stage, To: to.Stage, Mode: practice.Test, Defender: "centre"}
				if err := d.Validate(); err != nil || titles[d.Name] || !strings.HasPrefix(d.Name, plan.Name+": ") {
					t.Errorf("%s, %s to %s: %q, %v", plan.Code, from.Stage, to.Stage, d.Name, err)
				}
				titles[d.Name] = true
			}
		}
	}
}

// TestDrillLine: one line says defender, starts and mode.
func TestDrillLine(t *testing.T) {
	t.Parallel()
	d := aDrill()
	d.Starts = []string{"4k3/8/8/8/8/8/8/2B1K1N1 w - - 0 1"}
	if got := d.Line(); got != "Against a king that holds out longest, one start, a verdict after each move." {
		t.Error(got)
	}
	d.Starts, d.Defender, d.Mode = append(d.Starts, d.Starts[0]), "centre", practice.Practice
	if got := d.Line(); got != "Against a king that seeks the centre, 2 starts, a verdict when something goes wrong." {
		t.Error(got)
	}
	for increment, want := range map[int]string{0: " 5 minutes to think in each try.", 1: "try, and 1 second more for each move.",
		3: " 5 minutes to think in each try, and 3 seconds more for each move."} {
		d.Rule.Clock, d.Rule.Increment = 300, increment
		if got := d.Line(); !strings.HasSuffix(got, want) {
			t.Error(got)
		}
	}
	d.Rule = club.Rule{}
	d.Mode = practice.Test
	if got := d.Line(); !strings.HasSuffix(got, ", a test.") {
		t.Error(got)
	}
}

// TestRules: a test has no take-back and no help; every mode has the allowance.
func TestRules(t *testing.T) {
	t.Parallel()
	for _, m := range []practice.Mode{practice.Guided, practice.Practice, practice.Test} {
		r := club.RuleOf(m)
		if alone := m == practice.Test; (r.Backs == 0) != alone || (len(r.Help) == 0) != alone || r.Allowance != 3 {
			t.Errorf("%s: %+v", m, r)
		}
	}
}

// TestPass: what passes a drill follows the way and the number of its starts.
func TestPass(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		way   string
		n     int
		clean bool
		need  int
	}{
		{club.PassAll, 5, false, 0}, {"", 5, false, 0}, {club.PassClean, 5, true, 0}, {club.PassMost, 4, true, 3},
		{club.PassMost, 5, true, 4},
		{club.PassMost, 1, true, 1}, {club.PassHalf, 5, false, 3}, {club.PassHalf, 4, false, 2},
	} {
		var r club.Rule
		if r.Pass(c.way, c.n); r.Clean != c.clean || r.Need != c.need {
			t.Errorf("%q of %d: clean %v, need %d", c.way, c.n, r.Clean, r.Need)
		}
	}
	if club.MinutesOf(16) != 6 || club.MinutesOf(0) != 1 {
		t.Errorf("minutes: %d for 16 moves, %d for none", club.MinutesOf(16), club.MinutesOf(0))
	}
}
