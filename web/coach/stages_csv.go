package coach

import (
	"encoding/csv"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"drover/game"
	"drover/game/ending"
	"drover/game/progress"
)

// StagesCSV is the stage view as a table for a spreadsheet: all students who are asked for, on
// one page.
func (s Pages) StagesCSV(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	_, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	asked := stagesAskOf(r.URL.Query(), c.Local(s.Now()))
	asked.Page = 0
	table, leave, err := s.stageTable(r.Context(), a, asked.StageAsk)
	if err != nil {
		return err
	}
	defer leave()
	out := csvTo(w, "stages.csv")
	plans := shownPlans(table.Rows, asked.Stage.Ending)
	_ = out.Write(stagesHead(plans))
	for _, of := range table.Rows {
		_ = out.Write(stagesLineOf(of, plans))
	}
	out.Flush()
	return nil
}

// csvTo begins a file for a spreadsheet.
func csvTo(w http.ResponseWriter, name string) *csv.Writer {
	w.Header().Set("Content-Type", "text/csv; charset=utf-8")
	w.Header().Set("Content-Disposition", `attachment; filename="`+name+`"`)
	_, _ = w.Write([]byte("\ufeff")) // so that a spreadsheet reads accents
	return csv.NewWriter(w)
}

// stagesHead names the columns: of each stage the clean games and the games, and whether it is
// mastered.
func stagesHead(plans []ending.Plan) []string {
	head := []string{"nickname", "number"}
	for _, plan := range plans {
		for _, step := range plan.Steps {
			name := game.Lower(plan.Name) + ", " + step.Stage.Word()
			head = append(head, name+": clean", name+": games", name+": trend", name+": mastered")
		}
	}
	return append(head, "first thing to teach", "where", "evidence", "habits")
}

func stagesLineOf(of progress.Overview, plans []ending.Plan) []string {
	line := []string{plainCell(of.Student.Name), strconv.Itoa(of.Student.Number)}
	for _, plan := range plans {
		for _, step := range plan.Steps {
			c := of.Cell(progress.Key{Ending: plan.Code, Stage: step.Stage})
			mastered := ""
			if c.Bell {
				mastered = "yes"
			}
			line = append(line, strconv.Itoa(c.Clean), strconv.Itoa(c.Of), turnWords(progress.TurnOf(c.Last)), mastered)
		}
	}
	first := firstCell(of.Found)
	if first == nil {
		return append(line, silentWords(of.Found), "", "", habitWords(of))
	}
	return append(line, first.Name, first.Where, first.Counts, habitWords(of))
}

// habitWords are all habits that strike, in one cell.
func habitWords(of progress.Overview) string {
	var all []string
	for _, h := range of.Habits {
		all = append(all, habitSay(h))
	}
	return strings.Join(all, "; ")
}

// habitSay is a habit with its counts.
func habitSay(h progress.HabitAt) string {
	return fmt.Sprintf("%s, %d of %d", h.Habit.Name(), h.K, h.N)
}

// turnWords say a trend with its counts, empty where there is none.
func turnWords(t progress.Turn) string {
	switch t.Trend {
	case progress.Rising:
		return fmt.Sprintf("rising, %d to %d", t.Was, t.Is)
	case progress.Falling:
		return fmt.Sprintf("falling, %d to %d", t.Was, t.Is)
	case progress.Steady:
	}
	return ""
}
