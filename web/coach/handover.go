package coach

import (
	"net/http"
	"strconv"
	"strings"

	"drover/game"
	"drover/game/ending"
	"drover/game/progress"
	"drover/store"
	"drover/web/site"
)

// Handover says to who stands in, student by student, what was done, what comes next and
// how far the stages are.
func (s Pages) Handover(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	group := forGroup(r.URL.Query())
	roster, err := s.Store.Roster(r.Context(), a.Club, store.RosterAsk{Reader: a.Person, Group: group})
	if err != nil {
		return err
	}
	found := map[game.PersonID]progress.Overview{}
	table, err := s.Store.StageTable(r.Context(), a, store.StageAsk{Group: group})
	if err != nil {
		return err
	}
	for _, of := range table.Rows {
		found[of.Student.ID] = of
	}
	m := HandoverPage{Page: page}
	if m.Groups, err = s.groupChoices(r.Context(), a, group); err != nil {
		return err
	}
	now := c.Local(s.Now())
	for _, row := range roster.Rows {
		line := HandoverLine{ID: strconv.FormatInt(int64(row.ID), 10), Name: row.Name, Done: "No game yet."}
		if row.Last != nil {
			line.Done = game.Upper(site.Ago(c.Local(*row.Last), now)) + ": " + playedPart(row.Ending, row.Stage, row.Hold) + ". " +
				game.Upper(game.Count(row.Games, "game")) + " in all."
		}
		if of, ok := found[row.ID]; ok {
			line.Next, line.Stages = firstLine(of.Found), stagesLine(of)
		}
		m.Rows = append(m.Rows, line)
	}
	return s.Show(w, r, m.View())
}

// stagesLine says of each ending that was begun how many of its stages are clean most of the time.
func stagesLine(of progress.Overview) string {
	var say []string
	for _, plan := range ending.Taught() {
		begun, clean := 0, 0
		for _, c := range of.Cells {
			if c.Ending != plan.Code {
				continue
			}
			begun++
			if c.Bell || 2*c.Clean > c.Of {
				clean++
			}
		}
		if begun > 0 {
			say = append(say, plan.Name+" "+strconv.Itoa(clean)+" of "+strconv.Itoa(len(plan.Steps)))
		}
	}
	if len(say) == 0 {
		return ""
	}
	return "Stages that are clean most of the time: " + strings.Join(say, ", ") + "."
}
