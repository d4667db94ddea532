package coach

import (
	"fmt"
	"strconv"

	"drover/game"
	"drover/game/ending"
	"drover/game/progress"
	"drover/web/site"
	"drover/web/view"
)

// drawsHeld is the table of hold drills below the stage view: the endings that
// somebody has played, and those who have.
func drawsHeld(rows []progress.Overview, cells []progress.HoldsPlayed) HoldsTable {
	var t HoldsTable
	by := map[game.PersonID]map[string]progress.HoldsPlayed{}
	played := map[string]bool{}
	for _, c := range cells {
		if by[c.Student] == nil {
			by[c.Student] = map[string]progress.HoldsPlayed{}
		}
		by[c.Student][c.Ending], played[c.Ending] = c, true
	}
	for _, h := range ending.Holds() {
		if played[h.Code] {
			t.Names = append(t.Names, view.Link{Href: site.GuidePath(h.Code, true), Label: h.Name})
		}
	}
	for _, of := range rows {
		p := of.Student
		if by[p.ID] == nil {
			continue
		}
		row := HoldRow{ID: strconv.FormatInt(int64(p.ID), 10), Name: p.Name}
		for _, h := range ending.Holds() {
			if played[h.Code] {
				row.Cells = append(row.Cells, holdCell(by[p.ID][h.Code]))
			}
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

func holdCell(c progress.HoldsPlayed) HoldCell {
	if len(c.Alone) == 0 {
		return HoldCell{Say: "-"}
	}
	cell := HoldCell{Bars: c.Alone[max(0, len(c.Alone)-progress.LastGames):], Say: fmt.Sprintf("%d of %d held", c.Held,
		len(c.Alone))}
	if alone := c.Unaided(); alone < c.Held {
		cell.Say += fmt.Sprintf(", %d alone", alone)
	}
	return cell
}
