package review

import (
	"fmt"
	"strconv"

	"drover/game"
	"drover/web/view"

	"github.com/a-h/templ"
)

func atPly(ply int) templ.SafeURL { return templ.SafeURL("?at=" + strconv.Itoa(ply) + "#board-side") }

func (m GamePage) index() int { return max(0, min(m.At, len(m.Positions)-1)) }

func (m GamePage) now() Position {
	if len(m.Positions) == 0 {
		return Position{}
	}
	return m.Positions[m.index()]
}

func (m GamePage) sketch() view.Sketch {
	p := m.now()
	return view.Sketch{FEN: p.FEN, Last: p.UCI, Check: p.Check, Ways: p.Ways, Corners: m.Corners, Black: m.Black,
		Framed: true}
}

func (m GamePage) side() string {
	if m.Black {
		return "b"
	}
	return "w"
}

// to is the address of the position some steps away, or of this one at an end.
func (m GamePage) to(steps int) templ.SafeURL {
	i := max(0, min(m.index()+steps, len(m.Positions)-1))
	if len(m.Positions) == 0 {
		return atPly(0)
	}
	return atPly(m.Positions[i].Ply)
}

// edge tells a link that leads nowhere, as the attribute's value.
func (m GamePage) edge(steps int) string {
	i := m.index() + steps
	return strconv.FormatBool(i < 0 || i >= len(m.Positions))
}

// back leads to the page above.
func (m GamePage) back() string {
	if m.Own {
		return "Back to today"
	}
	if m.Bare { // an officer's page above is the list itself
		return "All " + game.Lower(m.Up.Label)
	}
	return "All games of " + m.Up.Label
}

func (m GamePage) looksHead() string {
	switch len(m.Looks) {
	case 0:
		return "No move to look at"
	case 1:
		return "One move to look at"
	default:
		return fmt.Sprintf("%s moves to look at", game.Upper(game.Number(len(m.Looks))))
	}
}

func gradeName(grade string) string {
	return map[string]string{"on course": "On course", "no nearer": "No nearer", "detour": "Detour", "slip": "Slip",
		"win gone": "Win gone", "held": "Held", "draw gone": "Draw gone"}[grade]
}

// chartWide is the width of the chart; a row is 26 high. A character of a label is at
// most labelChar wide, on paper too.
const (
	chartWide = 300
	labelChar = 9.5
)

// trackRowView is one row with its piece of the chart: the line comes in at the
// top, meets the dot in the middle and leaves at the bottom, so rows join.
type trackRowView struct {
	move                  TrackMove
	bad                   bool
	number                string
	rules                 []string
	line, back            string
	x, r                  string
	label, labelX, anchor string
}

// farthest is the greatest number of moves to mate in the game.
func (m GamePage) farthest() int {
	far := 4
	for _, g := range m.Groups {
		for _, t := range g.Moves {
			far = max(far, t.Before, t.After)
		}
	}
	return far
}

// across is where a number of moves to mate stands: right is nearer.
func (m GamePage) across(moves int) float64 {
	far := float64(m.farthest())
	return chartWide * (1 - float64(moves)/(far+1.5))
}

// rule is an upright line of the chart.
type rule struct{ id, x string }

// rules are the upright lines of the chart with their numbers.
func (m GamePage) rules() []rule {
	var rules []rule
	if m.Hold {
		return nil
	}
	for _, n := range []int{30, 20, 10, 5} {
		if n <= m.farthest() {
			rules = append(rules, rule{id: strconv.Itoa(n), x: view.Num(round(m.across(n)))})
		}
	}
	return rules
}

// rowsOf draws a visit's part of the chart.
func (m GamePage) rowsOf(g TrackGroup) []trackRowView {
	rows := make([]trackRowView, len(g.Moves))
	for i, t := range g.Moves {
		rows[i] = m.row(t)
		if !t.Away {
			rows[i].line = m.lineOf(beside(g.Moves, i, -1), t, beside(g.Moves, i, 1))
		}
		if !rows[i].bad && i%3 != 0 && t.Note == "" {
			rows[i].label = ""
		}
	}
	return rows
}

// beside is the next move before or after one that was not taken back.
func beside(moves []TrackMove, i, step int) *TrackMove {
	for i += step; i >= 0 && i < len(moves); i += step {
		if !moves[i].Away {
			return &moves[i]
		}
	}
	return nil
}

func (m GamePage) row(t TrackMove) trackRowView {
	v := trackRowView{move: t, bad: t.Grade != "" && t.Grade != "on course" && t.Grade != "held", number: t.number()}
	for _, r := range m.rules() {
		v.rules = append(v.rules, r.x)
	}
	if t.Note != "" {
		v.label, v.labelX, v.anchor = t.Note, "12", "start"
	}
	if t.Before == 0 || t.Away {
		return v
	}
	x, bar := m.across(t.Before), m.across(t.Before)
	v.x, v.r, v.label = view.Num(round(x)), "4", v.number
	if v.bad {
		v.r, bar = "5.5", m.end(t)
	}
	v.labelX, v.anchor, bar = besideBar(v.label, x, bar)
	if v.bad {
		v.back = fmt.Sprintf("M%g 13H%g", round(x), round(bar))
	}
	return v
}

// besideBar finds a place for a label beside the dot at x, from which a bar goes left
// as far as bar: right of the dot, left of the bar, or at the left end of the chart,
// where the bar then stops short of it. A label never lies over a bar.
func besideBar(label string, x, bar float64) (at, anchor string, end float64) {
	wide := labelChar * float64(len(label))
	switch {
	case x+12+wide <= chartWide:
		return view.Num(round(x + 12)), "start", bar
	case bar-12 >= wide:
		return view.Num(round(bar - 12)), "end", bar
	default:
		return "4", "start", max(bar, 4+wide+4)
	}
}

// end is where a row's line leaves: after a move that cost something it starts
// again from the new distance; where the win is gone, from the far end.
func (m GamePage) end(t TrackMove) float64 {
	switch {
	case t.Grade == "win gone":
		return 0
	case t.After > t.Before:
		return m.across(t.After)
	default:
		return m.across(t.Before)
	}
}

func (m GamePage) lineOf(before *TrackMove, t TrackMove, after *TrackMove) string {
	if t.Before == 0 {
		return ""
	}
	x, d := m.across(t.Before), ""
	if before != nil && before.Before > 0 {
		d = fmt.Sprintf("M%g 0L%g 13", round((m.end(*before)+x)/2), round(x))
	}
	switch {
	case t.Mate:
		d += fmt.Sprintf("M%g 13L%d 26", round(x), chartWide)
	case after != nil && after.Before > 0 && t.Grade != "win gone":
		d += fmt.Sprintf("M%g 13L%g 26", round(m.end(t)), round((m.end(t)+m.across(after.Before))/2))
	}
	return d
}

// number is the distance in words: "14", "5 > gone"; after a move that cost
// something "9 > 12": how many moves it was before, and how many after.
func (t TrackMove) number() string {
	switch {
	case t.Note != "":
		return t.Note
	case t.Before == 0:
		return "-"
	case t.Grade == "win gone":
		return fmt.Sprintf("%d > gone", t.Before)
	case t.Grade == "slip" || t.Grade == "detour":
		return fmt.Sprintf("%d > %d", t.Before, t.After)
	default:
		return strconv.Itoa(t.Before)
	}
}

func round(f float64) float64 { return float64(int(f*10+0.5)) / 10 }
