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
	Mode     practice.Mode
	From, To ending.Stage
	Defender string
	Starts   []string // FENs
	Rule     Rule
}

// Rule is what counts in a drill.
type Rule struct {
	Allowance int           `json:"allowance"` // moves over the start's par that still count as clean
	Backs     int           `json:"backs"`     // moves that may be taken back in a try
	Budget    int           `json:"budget"`    // own moves; 0: none but the fifty-move rule
	Help      []ending.Help `json:"help"`      // steps that may be looked at, 1 to 4
}

// RuleOf is the rule that a mode brings.
func RuleOf(m practice.Mode) Rule {
	switch m {
	case practice.Guided:
		return Rule{Allowance: 3, Backs: 1, Help: []ending.Help{ending.HelpWish, ending.HelpCover, ending.HelpMan, ending.HelpMove}}
	case practice.Practice:
		return Rule{Allowance: 3, Backs: 1, Help: []ending.Help{ending.HelpWish, ending.HelpCover}}
	case practice.Test:
	}
	return Rule{Allowance: 3}
}

// MaxStarts is the greatest number of starts of a drill.
const MaxStarts = 24

// Check holds a drill's fields against their rules, its starts aside.
func (d *Drill) Check() error {
	p := Problems{}
	plan, ok := ending.PlanOf(d.Ending)
	if !ok {
		p["ending"] = "Choose one of the endings."
		return p.Err()
	}
	from, to := plan.Index(d.From), plan.Index(d.To)
	switch {
	case from < 0:
		p["from"] = fmt.Sprintf("%s has no such stage. Choose %s.", plan.Name, stageList(plan))
	case to < 0:
		p["to"] = fmt.Sprintf("%s has no such stage. Choose %s.", plan.Name, stageList(plan))
	case to < from:
		p["to"] = "The last stage comes before the first. Choose a later one."
	}
	if _, ok := ending.DefenderOf(d.Defender); !ok {
		p["defender"] = "Choose one of the defenders."
	}
	if d.Mode != practice.Guided && d.Mode != practice.Practice && d.Mode != practice.Test {
		p["mode"] = "Choose when the verdict shows."
	}
	if d.Name = Tidy(d.Name); d.Name == "" {
		d.Name = d.Title()
	}
	p.text("name", d.Name, "a name", 80)
	for _, h := range d.Rule.Help {
		if h < ending.HelpWish || h > ending.HelpMove || d.Mode == practice.Test {
			p["help"] = "Choose steps of help from the list; a test gives none."
		}
	}
	return p.Err()
}

func stageList(p *ending.Plan) string {
	names := make([]string, len(p.Steps))
	for i, s := range p.Steps {
		names[i] = strings.ToLower(s.Stage.Name())
	}
	return strings.Join(names, " or ")
}

// Title names a drill by its ending and stages, as in "Rook, from the edge to
// mate".
func (d *Drill) Title() string {
	name := d.Ending
	if plan, ok := ending.PlanOf(d.Ending); ok {
		name = plan.Name
	}
	if d.From == d.To {
		return name + ", " + stageWord(d.From)
	}
	return fmt.Sprintf("%s, from %s to %s", name, stageWord(d.From), stageWord(d.To))
}

func stageWord(s ending.Stage) string {
	return map[ending.Stage]string{ending.Centralise: "the centre", ending.Edge: "the edge", ending.Corner: "the corner", ending.Mate: "mate"}[s]
}

// Line says the whole drill in one line.
func (d *Drill) Line() string {
	who, _ := ending.DefenderOf(d.Defender) // Check has found him
	s := fmt.Sprintf("Against a king that %s, %s", who.Does, starts(len(d.Starts)))
	switch d.Mode {
	case practice.Guided:
		return s + ", a verdict after each move."
	case practice.Practice:
		return s + ", a verdict when something goes wrong."
	case practice.Test:
		return s + ", a test."
	}
	return s + "."
}

func starts(n int) string {
	if n == 1 {
		return "one start"
	}
	return fmt.Sprintf("%d starts", n)
}

// Assignment is a drill given to students.
type Assignment struct {
	ID    game.AssignmentID
	Drill Drill
	Due   *time.Time // a day, or nil
}
