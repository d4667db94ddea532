package web

import (
	"context"
	"fmt"
	"net/http"

	"drover/game"
	"drover/game/board"
	"drover/game/club"
	"drover/game/progress"
	"drover/web/view"
)

// newcomerCard is the starting check on a student's first page.
func newcomerCard(p progress.Placement, item progress.Item) view.DueCard {
	card := view.DueCard{
		Href: "/check", Title: "Starting check", FEN: p.Tasks[p.Next()].FEN, Action: "Start",
		Line: fmt.Sprintf("%d short tasks, about 10 minutes. You can stop at any time.", len(p.Tasks)),
	}
	if item.GoesOn {
		card.Line, card.Action = fmt.Sprintf("Task %d of %d. You can stop at any time.", p.Next()+1, len(p.Tasks)), "Go on"
	}
	return card
}

// check is the task that is asked now. A page that is loaded again, tomorrow too,
// goes on where it was.
func (s *Server) check(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.checkPage(w, r, a, http.StatusOK, nil)
}

func (s *Server) checkPage(w http.ResponseWriter, r *http.Request, a game.Actor, status int,
	notice *view.Notice) error {
	page, _, err := s.frame(r.Context(), a)
	if err != nil {
		return err
	}
	p, err := s.ownCheck(r.Context(), a)
	if err != nil {
		return err
	}
	page.Notice = notice
	m := view.CheckPage{Page: page, Of: len(p.Tasks), Finished: p.Next() < 0}
	if next := p.Next(); next >= 0 {
		t := p.Tasks[next]
		m.No, m.Ask, m.FEN, m.Action = next+1, t.Ask, t.FEN, "Play it"
		switch {
		case t.Code == progress.Question:
			m.Action = "That is my answer"
			m.Answers = []view.Choice{{Value: progress.IsStalemate, Label: "Stalemate"},
				{Value: progress.IsMate, Label: "Checkmate"}, {Value: progress.IsNeither, Label: "He can still move"}}
		case t.Game != 0:
			m.Action = "Go on"
		}
	}
	s.draw(w, r, status, m.View())
	return nil
}

// ownCheck is the starting check of a student; without one it is missing.
func (s *Server) ownCheck(ctx context.Context, a game.Actor) (*progress.Placement, error) {
	p, err := s.store.LatestPlacement(ctx, a.Club, a.Person)
	if err == nil && p == nil {
		err = missing()
	}
	return p, err
}

type answerForm struct {
	No     int    `schema:"no"`
	Answer string `schema:"answer"`
}

// checkPost takes the answer to the question, or opens the board of a task.
func (s *Server) checkPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f answerForm
	if err := s.form(r, &f); err != nil {
		return err
	}
	p, err := s.ownCheck(r.Context(), a)
	if err != nil {
		return err
	}
	back := func() error { http.Redirect(w, r, "/check", http.StatusSeeOther); return nil }
	next := p.Next()
	switch {
	case next < 0 || f.No != next+1: // an old page: it leads to the task of now
		return back()
	case p.Tasks[next].Code != progress.Question:
		g, err := s.store.PlayTask(r.Context(), a)
		if err != nil || g == 0 {
			return err
		}
		return s.goPlay(w, r, g)
	case f.Answer != progress.IsStalemate && f.Answer != progress.IsMate && f.Answer != progress.IsNeither:
		return s.checkPage(w, r, a, http.StatusUnprocessableEntity, &view.Notice{Say: "Choose one of the three answers.",
			Error: true})
	}
	position, err := board.ParseFEN(p.Tasks[next].FEN)
	if err != nil {
		return fmt.Errorf("the question's position: %w", err)
	}
	if err := s.store.AnswerTask(r.Context(), a, f.Answer, f.Answer == progress.Answer(position)); err != nil {
		return err
	}
	return back()
}

// checkBegin gives a student a starting check.
func (s *Server) checkBegin(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	student, err := id[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	if err := s.form(r, &onceForm{}); err != nil {
		return err
	}
	tasks, err := progress.NewcomerTasks(r.Context(), s.judge, s.now().UnixNano())
	if err != nil {
		return err
	}
	if err := s.store.BeginPlacement(r.Context(), a, student, tasks, s.sent(r)); err != nil {
		return err
	}
	http.Redirect(w, r, fmt.Sprintf("/students/%d#check-head", student), http.StatusSeeOther)
	return nil
}

// checkResult is the starting check as a coach sees it; nil for a student who
// never had one and whose games say more by now.
func (s *Server) checkResult(c club.Club, p *progress.Placement, games int) *view.CheckResult {
	now := c.Local(s.now())
	if p == nil {
		if games >= progress.Enough {
			return nil
		}
		return &view.CheckResult{Say: "Six short tasks show where a newcomer should begin. They take about ten minutes, and wait on the child's first page.", Begin: "Start the check"}
	}
	out := &view.CheckResult{Begin: "Do it once more"}
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
		out.Tasks = append(out.Tasks, view.CheckTask{Ask: t.Ask, Said: said})
	}
	if p.Ended == nil {
		out.Say, out.Begin = fmt.Sprintf("Begun %s; it waits on the child's first page.", ago(c.Local(p.Begun), now)), ""
		return out
	}
	out.Say = fmt.Sprintf("Finished %s. %s", ago(c.Local(*p.Ended), now), progress.Place(p.Passed()).Why)
	return out
}
