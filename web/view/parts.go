package view

import (
	"context"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/a-h/templ"
)

// Hidden is a field of a form that nobody sees.
type Hidden struct{ Name, Value string }

// EndingMarks is one row of 'Your endings'.
type EndingMarks struct {
	Ending Ending
	Say    string // "3 of 5 stages alone"
	Marks  []Mark
	Guide  string // the address of its guide, may be empty
	Paper  string // the address of its certificate, once every stage is mastered
}

// coachMenu is a coach's menu in its order; the value is the path below the root.
var coachMenu = []Choice{
	{Value: "since", Label: "Since last look"},
	{Value: "students", Label: "Students"},
	{Value: "groups", Label: "Groups"},
	{Value: "drills", Label: "Drills"},
	{Value: "stages", Label: "Stage view"},
}

// officerMenu is a welfare officer's.
var officerMenu = []Choice{
	{Value: "welfare", Label: "Desk"},
	{Value: "welfare/concerns", Label: "Concerns"},
	{Value: "welfare/erasures", Label: "Erasures"},
	{Value: "welfare/consents", Label: "Consents"},
	{Value: "welfare/access", Label: "Access"},
	{Value: "welfare/reads", Label: "Who read what"},
}

// entries are the menu of the person.
func (p Page) entries() []Choice {
	if p.Who.Role == Officer {
		return officerMenu
	}
	return coachMenu
}

// Input is a field of a form.
type Input struct {
	Name, Label, Value string
	ID                 string // of the field, made of its name if empty
	Kind               string // text if empty
	Hint, Error        string
	Fill               string // autocomplete, off if empty
	Min, Max           string
	Mode               string // which keys a touch screen offers, the usual ones if empty
	Rows               int    // of a field of several lines, 5 if none
	Required           bool
	Focus              bool // the page begins in this field
}

func (f Input) id() string {
	if f.ID != "" {
		return f.ID
	}
	return "f-" + f.Name
}

// rows is how many lines a field of several lines shows.
func (f Input) rows() string {
	if f.Rows == 0 {
		return "5"
	}
	return strconv.Itoa(f.Rows)
}

func (f Input) kind() string {
	if f.Kind == "" {
		return "text"
	}
	return f.Kind
}

func (f Input) fillIn() string {
	if f.Fill == "" {
		return "off"
	}
	return f.Fill
}

// ChipID is the drawing of a grade, empty for a grade that has none.
func ChipID(grade string) string {
	switch grade {
	case "on course":
		return "course"
	case "no nearer":
		return "stuck"
	case "win gone":
		return "gone"
	case "draw gone":
		return "let-go"
	case "detour", "slip", "held":
		return grade
	}
	return ""
}

// sayOf is the sentence of the choice that is made, or of the first.
func sayOf(choices []Choice) string {
	for _, c := range choices {
		if c.Chosen {
			return c.Say
		}
	}
	if len(choices) == 0 {
		return ""
	}
	return choices[0].Say
}

// Sentence writes parts as one run of text. It is written by hand because a
// template puts white space between its parts, and a comma must not stand alone.
func Sentence(parts []Part) templ.Component {
	return templ.ComponentFunc(func(ctx context.Context, w io.Writer) error {
		for _, part := range parts {
			if err := writePart(ctx, w, part); err != nil {
				return fmt.Errorf("write a sentence: %w", err)
			}
		}
		return nil
	})
}

func writePart(ctx context.Context, w io.Writer, part Part) error {
	text := templ.EscapeString(part.Text)
	if part.Stage != "" { // the mark stays with its first word, whatever the width of the line
		if _, err := io.WriteString(w, `<span class="mark-word">`); err != nil {
			return err
		}
		if err := BareMark(part.Stage, Reached).Render(ctx, w); err != nil {
			return err
		}
		first, rest, more := strings.Cut(text, " ")
		text = first + "</span>"
		if more {
			text += " " + rest
		}
	}
	if part.Bold {
		text = "<b>" + text + "</b>"
	}
	_, err := io.WriteString(w, text)
	return err
}

// ExportLine says how an export stands.
type ExportLine struct {
	ID, Say string
	Of      string // whose it is, where a page has several
	Ready   bool
}
