package site

import (
	"fmt"

	"drover/game/ending"
	"drover/game/progress"
	"drover/web/view"
)

// pictures are the pictures of the marks.
var pictures = [...]view.State{
	progress.NotBegun: view.NotBegun,
	progress.InWork:   view.InWork,
	progress.Reached:  view.Reached,
	progress.Mastered: view.Mastered,
}

// Picture is the picture of a mark.
func Picture(m progress.Mark) view.State { return pictures[m] }

// Standing puts a row of marks into words; what is mastered is named before what is
// done alone.
func Standing(marks []view.Mark, parts string) string {
	begun, reached, bells := 0, 0, 0
	for _, m := range marks {
		switch m.State {
		case view.Mastered:
			bells++
			reached++
			begun++
		case view.Reached:
			reached++
			begun++
		case view.InWork, view.LostAgain:
			begun++
		case view.NotBegun:
		}
	}
	switch {
	case begun == 0:
		return "not begun"
	case bells == len(marks):
		return "mastered"
	case bells > 0:
		return fmt.Sprintf("%d of %d %s mastered", bells, len(marks), parts)
	case reached == 0:
		return "in progress"
	case reached == len(marks):
		return "all " + parts + " alone"
	}
	return fmt.Sprintf("%d of %d %s alone", reached, len(marks), parts)
}

// EndingMarks draws how far a student is with each ending of the ladder.
func EndingMarks(of progress.Record) []view.EndingMarks {
	marks := of.Marks()
	var out []view.EndingMarks
	for _, plan := range ending.Taught() {
		row := view.EndingMarks{Ending: view.Ending{ID: plan.Code, Name: plan.Name}, Guide: GuidePath(plan.Code, false)}
		for _, step := range plan.Steps {
			k := progress.Key{Ending: plan.Code, Stage: step.Stage}
			row.Marks = append(row.Marks, view.Mark{Stage: string(step.Stage), State: Picture(marks[k])})
		}
		row.Say = Standing(row.Marks, "stages")
		if missed(plan, of.Mastery) {
			row.Say += ", needs a game"
		}
		out = append(out, row)
	}
	for _, h := range of.Holds {
		out = append(out, heldMarks(h))
	}
	return out
}

// Papers gives the endings that are mastered the addresses of their certificates, which stand
// below one path.
func Papers(rows []view.EndingMarks, of progress.Record, below string) []view.EndingMarks {
	for i := range rows {
		plan, ok := ending.PlanOf(rows[i].Ending.ID)
		if !ok || rows[i].Marks[0].Stage == string(ending.HoldStage) {
			continue
		}
		if _, missing := of.CertificateOf(*plan); len(missing) == 0 {
			rows[i].Paper = below + "/certificate/" + plan.Code
		}
	}
	return rows
}

// heldMarks says how often a draw was held: what is held has no stages.
func heldMarks(h progress.HoldsPlayed) view.EndingMarks {
	row := view.EndingMarks{Ending: view.Ending{ID: h.Ending, Name: TaskName(h.Ending, true)}, Guide: GuidePath(h.Ending, true),
		Say: fmt.Sprintf("held alone %d of %d", h.Unaided(), len(h.Alone))}
	row.Marks = []view.Mark{{Stage: string(ending.HoldStage), State: Picture(progress.MarkOf(h.Alone, false))}}
	return row
}

// missed says whether a stage of the plan needs a game.
func missed(plan ending.Plan, standings map[progress.Key]progress.Mastery) bool {
	for _, step := range plan.Steps {
		if standings[progress.Key{Ending: plan.Code, Stage: step.Stage}].Missed {
			return true
		}
	}
	return false
}
