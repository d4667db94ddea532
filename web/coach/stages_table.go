package coach

import (
	"strconv"
	"strings"

	"drover/game/progress"
	"drover/web/view"
)

// column is one column of the stage table.
type column struct {
	ending string
	StageColumn
	first bool // first of its ending
}

func (m StagesPage) columns() []column {
	var cols []column
	for _, e := range m.Endings {
		for i, s := range e.Stages {
			cols = append(cols, column{e.ID, s, i == 0})
		}
	}
	return cols
}

// chosen is the ending that a narrow page shows: the one asked for, or the first.
func (m StagesPage) chosen() string {
	for _, e := range m.Endings {
		if e.ID == m.Chosen {
			return e.ID
		}
	}
	if len(m.Endings) == 0 {
		return ""
	}
	return m.Endings[0].ID
}

func (m StagesPage) choices() []view.Choice {
	choices := make([]view.Choice, len(m.Endings))
	for i, e := range m.Endings {
		choices[i] = view.Choice{Value: e.ID, Label: e.Name, Chosen: e.ID == m.chosen()}
	}
	return choices
}

// cell is the i-th cell, or an empty one where the row is shorter.
func (r StageRow) cell(i int) StageCell {
	if i < len(r.Cells) {
		return r.Cells[i]
	}
	return StageCell{}
}

// bar is a game's bar in a cell.
type bar struct{ x, y, height string }

// drawn are the bars of a cell on a picture 60 wide and 12 high.
func (c StageCell) drawn() []bar {
	bars := c.Bars[max(0, len(c.Bars)-progress.LastGames):]
	drawn := make([]bar, len(bars))
	for i, clean := range bars {
		drawn[i] = bar{x: strconv.Itoa(i * 6), y: "9", height: "3"}
		if clean {
			drawn[i].y, drawn[i].height = "0", "12"
		}
	}
	return drawn
}

// begun are the students who have a game in the chosen ending, and idle names the
// others: a card of dashes says no more than a name.
func (m StagesPage) begun() []StageRow {
	var rows []StageRow
	for _, row := range m.Rows {
		if m.has(row) {
			rows = append(rows, row)
		}
	}
	return rows
}

func (m StagesPage) idle() string {
	var who []string
	for _, row := range m.Rows {
		if !m.has(row) {
			who = append(who, row.Name)
		}
	}
	if len(who) == 0 {
		return ""
	}
	return "No games in this ending in the last weeks: " + strings.Join(who, ", ") + "."
}

// has says whether a row has anything in the columns of the chosen ending.
func (m StagesPage) has(row StageRow) bool {
	for i, c := range m.columns() {
		if cell := row.cell(i); c.ending == m.chosen() && (cell.Of > 0 || cell.Bell) {
			return true
		}
	}
	return false
}

// asked says whether the page shows less than all: then a table without a row is no club
// without games.
func (m StagesPage) asked() bool { return m.Held || m.Tools.Find != "" || m.Leaf.Before != "" }

// sorted is what a head says of the order.
func sorted(by bool) string {
	if by {
		return "ascending"
	}
	return "none"
}
