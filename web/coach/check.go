package coach

import (
	"fmt"
	"net/http"

	"drover/game"
	"drover/game/club"
	"drover/game/progress"
	"drover/web/site"
)

// CheckBegin gives a student a starting check.
func (s Pages) CheckBegin(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	student, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	if err := s.Form(r, &site.OnceForm{}); err != nil {
		return err
	}
	tasks, err := progress.PickPlacement(r.Context(), s.Judge, s.Now().UnixNano())
	if err != nil {
		return err
	}
	if err := s.Store.BeginPlacement(r.Context(), a, student, tasks, s.Sent(r)); err != nil {
		return err
	}
	http.Redirect(w, r, fmt.Sprintf("/students/%d#check-head", student), http.StatusSeeOther)
	return nil
}

// checkResult is the starting check as a coach sees it; nil for a student who
// never had one and whose games say more by now.
func (s Pages) checkResult(c club.Club, p *progress.Placement, games int) *CheckResult {
	now := c.Local(s.Now())
	if p == nil {
		if games >= progress.Enough {
			return nil
		}
		return &CheckResult{Say: "Six short tasks show where a newcomer should begin. They take about ten minutes, and wait on the child's first page.", Begin: "Start the check"}
	}
	out := &CheckResult{Begin: "Do it once more"}
	for i, t := range p.Tasks {
		said := "not reached"
		switch {
		case t.Passed != nil && *t.Passed:
			said = "found"
		case t.Passed != nil:
			said = "not yet"
		case p.Ended == nil && i == p.Next():
			said = "comes next"
		}
		out.Tasks = append(out.Tasks, CheckTask{Ask: t.Ask, Said: said})
	}
	if p.Ended == nil {
		out.Say, out.Begin = fmt.Sprintf("Begun %s; it waits on the child's first page.", site.Ago(c.Local(p.Begun), now)), ""
		return out
	}
	out.Say = fmt.Sprintf("Finished %s. %s", site.Ago(c.Local(*p.Ended), now), progress.PlacementResultOf(p.Passed()).Why)
	return out
}
