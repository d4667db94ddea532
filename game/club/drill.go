package club

import (
	"fmt"
	"strings"
	"time"

	"drover/game"
	"drover/game/ending"
	"drover/game/practice"
)

// Drill is what a coach sets. A drill never changes; a change is a new version.
type Drill struct {
	ID       game.DrillID
	Name     string
	Ending   string // as in "KBNK"
	Hold     bool   // the student defends a draw; From and To are ending.HoldStage, and the defender is none
	Mode     practice.Mode
	From, To ending.Stage
	Defender string
	Starts   []string // FENs
	Rule     Rule
	Kind     string // of the starts, a code of ending.StartKinds or Pasted; empty: at random
	Trains   string // one sentence; empty: the first stage says it
	Level    int    // of a ready drill, 1 to 3; 0: none
}

// Pasted is the kind of the starts that a coach has chosen one by one.
const Pasted = "pasted"

// Task is what the drill asks of a student.
func (d *Drill) Task() practice.Task { return practice.TaskOf(d.Hold) }

// Rule is what counts in a drill.
type Rule struct {
	Allowance int           `json:"allowance"` // moves over the start's par that still count as clean
	Backs     int           `json:"backs"`     // moves that may be taken back in a try
	Budget    int           `json:"budget"`    // own moves, 0: none but the fifty-move rule; to be held, 0: ten
	Clock     int           `json:"clock"`     // seconds of own thought in each try; 0: no clock
	Increment int           `json:"increment"` // seconds that the clock gains with each own move
	Help      []ending.Help `json:"help"`      // steps that may be looked at, 1 to 4
	Need      int           `json:"need"`      // starts that must count before the drill is passed; 0: all
	Clean     bool          `json:"clean"`     // only a clean try counts; else any that is won or held
}

// The ways of passing a drill.
const (
	PassAll   = "all"   // each start won or held
	PassClean = "clean" // each start clean
	PassMost  = "most"  // three in four clean
	PassHalf  = "half"  // half of them won or held
)

// Pass sets what passes a drill of n starts; a way that is not known is PassAll.
func (r *Rule) Pass(way string, n int) {
	switch way {
	case PassClean:
		r.Clean = true
	case PassMost:
		r.Clean, r.Need = true, (3*n+3)/4
	case PassHalf:
		r.Need = (n + 1) / 2
	}
}

// PassOf is the way of passing that a rule has for a drill of n starts.
func (r Rule) PassOf(n int) string {
	for _, way := range []string{PassAll, PassClean, PassMost, PassHalf} {
		var of Rule
		of.Pass(way, n)
		if of.Clean == r.Clean && of.Need == r.Need {
			return way
		}
	}
	return PassAll
}

// MinutesOf guesses how many minutes a start of so many moves takes: a quarter of a
// minute per move, and half as many moves again as par (common practice, no source).
func MinutesOf(moves int) int { return max((moves*3/2+3)/4, 1) }

// The most that a rule may ask for.
const (
	MaxAllowance = 20
	MaxBacks     = 3
	MaxBudget    = 50   // the fifty-move rule ends it then, FIDE Laws 9.3
	MaxClock     = 3600 // seconds
	MaxIncrement = 60   // seconds
)

// RuleOf is the rule that a mode brings.
func RuleOf(m practice.Mode) Rule {
	switch m {
	case practice.Guided:
		return Rule{Allowance: 3, Backs: 1, Help: []ending.Help{ending.HelpWish, ending.HelpCover, ending.HelpMan,
			ending.HelpMove}}
	case practice.Practice:
		return Rule{Allowance: 3, Backs: 1, Help: []ending.Help{ending.HelpWish, ending.HelpCover}}
	case practice.Test:
	}
	return Rule{Allowance: 3}
}

// MaxStarts is the greatest number of starts of a drill.
const MaxStarts = 24

// Validate checks a drill's fields against their rules, except its starts.
func (d *Drill) Validate() error {
	p := Problems{}
	d.validateTask(p)
	if d.Mode != practice.Guided && d.Mode != practice.Practice && d.Mode != practice.Test {
		p["mode"] = "Choose when the verdict shows."
	}
	if d.Name = Tidy(d.Name); d.Name == "" {
		d.Name = d.Title()
	}
	p.text("name", d.Name, "a name", 80)
	if d.Kind == "" {
		d.Kind = ending.AtRandom
	}
	d.validateRule(p)
	return p.Err()
}

// ValidateDrillName holds a drill's new name against the rules.
func ValidateDrillName(name string) (string, error) {
	name = Tidy(name)
	p := Problems{}
	p.text("name", name, "a name", 80)
	return name, p.Err()
}

// validateTask holds ending, stages and defender against what the drill's task has. A
// task without stages has one, and no defender to choose.
func (d *Drill) validateTask(p Problems) {
	_, ok := d.Task().Name(d.Ending)
	if !ok {
		p["ending"] = "Choose one of the endings."
	}
	if !d.Task().Staged() {
		d.From, d.To, d.Defender = ending.HoldStage, ending.HoldStage, ""
	} else if plan, found := ending.PlanOf(d.Ending); ok && found {
		d.validateStages(plan, p)
	}
}

func (d *Drill) validateStages(plan *ending.Plan, p Problems) {
	from, to := plan.Index(d.From), plan.Index(d.To)
	switch {
	case from < 0:
		p["from"] = fmt.Sprintf("%s has no such stage. Choose %s.", plan.Name, stageList(plan))
	case to < 0:
		p["to"] = fmt.Sprintf("%s has no such stage. Choose %s.", plan.Name, stageList(plan))
	case plan.Pawn && d.From == ending.Mate:
		p["from"] = "With a pawn on the board the last part is not reached yet. " +
			"Choose an earlier stage, or the queen's own drill."
	case to < from:
		p["to"] = "The last stage comes before the first. Choose a later one."
	}
	if _, ok := ending.DefenderOf(d.Defender); !ok {
		p["defender"] = "Choose one of the defenders."
	}
}

func (d *Drill) validateRule(p Problems) {
	r := &d.Rule
	for _, h := range r.Help {
		if h < ending.HelpWish || h > ending.HelpMove || d.Mode == practice.Test {
			p["help"] = "Choose steps of help from the list; a test gives none."
		}
	}
	within := func(field string, n, most int) {
		if n < 0 || n > most {
			p[field] = fmt.Sprintf("Choose a number from 0 to %d.", most)
		}
	}
	within("allowance", r.Allowance, MaxAllowance)
	within("backs", r.Backs, MaxBacks)
	within("budget", r.Budget, MaxBudget)
	if r.Clock < 0 || r.Clock > MaxClock {
		p["clock"] = fmt.Sprintf("Choose a number of minutes from 0 to %d.", MaxClock/60)
	}
	within("increment", r.Increment, MaxIncrement)
	if r.Increment > 0 && r.Clock == 0 {
		p["increment"] = "There is no clock to add to. Write at least 1 as its minutes, or 0 here."
	}
	within("pass", r.Need, MaxStarts)
	if d.Mode == practice.Test && r.Backs > 0 {
		p["backs"] = "In a test no move can be taken back."
	}
	if d.Task().Defends() { // there is no par to go over
		r.Allowance = 0
	}
}

func stageList(p *ending.Plan) string {
	names := make([]string, len(p.Steps))
	for i, s := range p.Steps {
		names[i] = strings.ToLower(s.Stage.Name())
	}
	return strings.Join(names, " or ")
}

// Title names a drill by its ending and stages, as in "Rook: drive to the edge,
// then mate". The words say what is done in each stage, not where the king
// stands.
func (d *Drill) Title() string {
	name, ok := d.Task().Name(d.Ending)
	switch {
	case !ok:
		name = d.Ending
	case !d.Task().Staged():
		return name
	}
	return name + ": " + doing(d.From) + d.Onward()
}

// Training is one sentence on what the drill trains: its own, or else the aim of its first
// stage.
func (d *Drill) Training() string {
	if d.Trains != "" {
		return d.Trains
	}
	if h, ok := ending.HoldOf(d.Ending); ok && d.Hold {
		return h.Aim
	}
	if plan, ok := ending.PlanOf(d.Ending); ok && plan.Index(d.From) >= 0 {
		return plan.Steps[plan.Index(d.From)].Aim
	}
	return ""
}

// Onward says how a drill goes on after its first stage, as in ", then mate"; it is
// empty where it does not.
func (d *Drill) Onward() string {
	plan, ok := ending.PlanOf(d.Ending)
	switch {
	case d.From == d.To:
		return ""
	case ok && plan.Index(d.To) == plan.Index(d.From)+1:
		if d.From == ending.Edge && d.To == ending.Corner {
			return ", then to " + d.To.Goal() // 'drive' is not said twice
		}
		return ", then " + doing(d.To)
	}
	return ", and so on to " + d.To.Goal()
}

// doing is what is done in a stage, inside a sentence.
func doing(s ending.Stage) string { return game.Lower(s.Name()) }

// Line says the whole drill in one line.
func (d *Drill) Line() string {
	s := d.Task().Line(practice.Setup{Budget: d.Rule.Budget, Defender: d.Defender}) + ", " + starts(len(d.Starts))
	switch d.Mode {
	case practice.Guided:
		s += ", a verdict after each move"
	case practice.Practice:
		s += ", a verdict when something goes wrong"
	case practice.Test:
		s += ", a test"
	}
	if d.OfFive() {
		return s + "." + d.fiveLine()
	}
	return s + "." + d.Rule.line(len(d.Starts))
}

// line says what of a rule is not plain: clock, budget and what passes.
func (r Rule) line(n int) string {
	s := ""
	switch {
	case r.Clock > 0 && r.Increment > 0:
		s += fmt.Sprintf(" %s to think in each try, and %s more for each move.", Minutes(r.Clock),
			game.Count(r.Increment, "second"))
	case r.Clock > 0:
		s += fmt.Sprintf(" %s to think in each try.", Minutes(r.Clock))
	}
	switch {
	case r.Need > 0 && r.Need < n && r.Clean:
		s += fmt.Sprintf(" Passed with %d of %d clean.", r.Need, n)
	case r.Clean:
		s += " Passed when each start is clean."
	case r.Need > 0 && r.Need < n:
		s += fmt.Sprintf(" Passed with %d of %d.", r.Need, n)
	}
	return s
}

// Minutes writes a time on the clock, as in "5 minutes" or "90 seconds".
func Minutes(seconds int) string {
	switch {
	case seconds == 60:
		return "1 minute"
	case seconds%60 == 0:
		return fmt.Sprintf("%d minutes", seconds/60)
	}
	return fmt.Sprintf("%d seconds", seconds)
}

func starts(n int) string {
	if n == 1 {
		return "one start"
	}
	return fmt.Sprintf("%d starts", n)
}

// CalendarDay is the day of a time, where that is, as a date of the database and of a form
// is read: its midnight in UTC.
func CalendarDay(t time.Time) time.Time {
	return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC)
}

// Midnight is when the day of a time begins, where that is.
func Midnight(t time.Time) time.Time {
	return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, t.Location())
}

// ValidateDue checks a day, such as that on which a drill is due, against today's date in
// the club; field is that of the form.
func ValidateDue(field string, day, today time.Time) error {
	first := CalendarDay(today)
	switch {
	case day.Before(first):
		return Problems{field: "This day is over. Choose today or a later day, or leave this empty."}.Err()
	case day.After(first.AddDate(1, 0, 0)):
		return Problems{field: "This day is more than a year away. Choose an earlier one, or leave this empty."}.Err()
	}
	return nil
}

// Assignment is a drill given to students.
type Assignment struct {
	ID    game.AssignmentID
	Drill Drill
	Due   *time.Time // a day, or nil
}
