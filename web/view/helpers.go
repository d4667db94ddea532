package view

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/a-h/templ"
)

func itoa(n int) string { return strconv.Itoa(n) }

func join(words []string) string { return strings.Join(words, " ") }

func lower(s string) string { return strings.ToLower(s) }

// isDark tells a dark man's letter, which is lower case as in a FEN.
func isDark(man string) bool { return man == lower(man) }

func wordID(no int) string { return "w" + strconv.Itoa(no) }

// first is the sentence of one field, or another where that field has none.
func (e Errors) first(field, other string) string {
	if say := e[field]; say != "" {
		return say
	}
	return other
}

func (m ProblemPage) way() Link {
	l := Link{m.Home, m.HomeLabel}
	if l.Href == "" {
		l.Href = "/"
	}
	if l.Label == "" {
		l.Label = "Go to the start"
	}
	return l
}

func (m TellPage) back() Link {
	if m.Back.Href == "" {
		return Link{"/today", "Go back"}
	}
	return m.Back
}

// mostDue is how many things a day shows at most.
const mostDue = 3

func firstDue(due []DueCard) []DueCard { return due[:min(mostDue, len(due))] }

// main is the first card with something to do, which has the main action.
func (m TodayPage) main() int {
	for i, card := range m.Due {
		if card.Waits() {
			return i
		}
	}
	return -1
}

// hasBell tells whether any stage is mastered, so that the bell is explained.
func (m TodayPage) hasBell() bool {
	for _, e := range m.Endings {
		for _, k := range e.Marks {
			if k.State == Mastered {
				return true
			}
		}
	}
	return false
}

func (c DueCard) state() State {
	if c.State == "" {
		return Reached
	}
	return c.State
}

func (c DueCard) stageSay() string {
	if c.StageSay == "" {
		return StageName(c.Stage)
	}
	return c.StageSay
}

// wordings are the two ways in which sentences are written for a student.
func wordings(chosen int) []Choice {
	return []Choice{
		{Value: "8", Label: "Short, for about age eight", Chosen: chosen != 14},
		{Value: "14", Label: "With numbers, for about age fourteen", Chosen: chosen == 14},
	}
}

// gamesWord is the word after the number of games.
func (r StudentRow) gamesWord() string {
	if r.Games == 1 {
		return " game"
	}
	return " games"
}

// cardWord is the word before the day on which the card was made.
func (r StudentRow) cardWord() string {
	if r.Card == "none yet" {
		return "card:"
	}
	return "card made"
}

// names lists up to four names and the number of the others.
func names(who []string) string {
	const most = 4
	if len(who) <= most {
		return strings.Join(who, ", ")
	}
	return fmt.Sprintf("%s and %d more", strings.Join(who[:most], ", "), len(who)-most)
}

func firstStarts(starts []StartCard, n int) []StartCard { return starts[:min(n, len(starts))] }

func (m DrillNewPage) startsHead() string {
	switch {
	case len(m.Starts) == 0:
		return "Starts"
	case len(m.Starts) == 1:
		return "The start"
	default:
		return "Two of the " + m.Count + " starts"
	}
}

// qrBox is the view box of a matrix with its quiet zone.
func qrBox(matrix [][]bool) string {
	n := len(matrix) + 8
	return fmt.Sprintf("-4 -4 %d %d", n, n)
}

// qrPath draws each run of dark modules of a row as one rectangle.
func qrPath(matrix [][]bool) string {
	var d strings.Builder
	for y, row := range matrix {
		for x := 0; x < len(row); x++ {
			run := 0
			for x+run < len(row) && row[x+run] {
				run++
			}
			if run > 0 {
				fmt.Fprintf(&d, "M%d %dh%dv1h-%dz", x, y, run, run)
				x += run
			}
		}
	}
	return d.String()
}

// plainStage says a stage to somebody who does not play chess.
func plainStage(id string) string {
	return map[string]string{
		"centralise": "shut the lone king out of the middle",
		"edge":       "drive him to the edge",
		"corner":     "drive him to the corner",
		"mate":       "mate",
		"front":      "bring the king in front of the pawn",
		"escort":     "lead the pawn to the last row",
	}[id]
}

// most is the longest day, never less than a quarter of an hour, so that a short
// week does not look like a long one.
func (m ReportPage) most() int {
	most := 15
	for _, d := range m.Days {
		most = max(most, d.Minutes)
	}
	return most
}

// dayPath is a day's bar on a picture 36 wide and 60 high.
func dayPath(minutes, most int) string {
	h := max(4, 56*minutes/max(1, most))
	return fmt.Sprintf("M2 59v-%dq0-4 4-4h24q4 0 4 4v%dz", h-2, h-2)
}

func atPly(ply int) templ.SafeURL { return templ.SafeURL("?at=" + strconv.Itoa(ply) + "#board-side") }
