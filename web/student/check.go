package student

import (
	"context"
	"fmt"
	"net/http"

	"drover/game"
	"drover/game/board"
	"drover/game/progress"
	"drover/web/site"
	"drover/web/view"
)

// newcomerCard is the starting check on a student's first page.
func newcomerCard(p progress.Placement, item progress.Item) DueCard {
	card := DueCard{
		Href: "/check", Title: "Starting check", FEN: p.Tasks[p.Next()].FEN, Action: "Start",
		Line: fmt.Sprintf("%d short tasks, about 10 minutes. You can stop at any time.", len(p.Tasks)),
	}
	if item.GoesOn {
		card.Line, card.Action = fmt.Sprintf("Task %d of %d. You can stop at any time.", p.Next()+1, len(p.Tasks)), "Go on"
	}
	return card
}

// Check is the task that is asked now. A page that is loaded again, tomorrow too,
// goes on where it was.
func (s Pages) Check(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.checkPage(w, r, a, http.StatusOK, nil)
}

func (s Pages) checkPage(w http.ResponseWriter, r *http.Request, a game.Actor, status int,
	notice *view.Notice) error {
	page, _, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	p, err := s.ownCheck(r.Context(), a)
	if err != nil {
		return err
	}
	page.Notice = notice
	m := CheckPage{Page: page, Of: len(p.Tasks), Finished: p.Next() < 0}
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
	s.Draw(w, r, status, m.View())
	return nil
}

// ownCheck is the starting check of a student; without one it is missing.
func (s Pages) ownCheck(ctx context.Context, a game.Actor) (*progress.Placement, error) {
	p, err := s.Store.LatestPlacement(ctx, a.Club, a.Person)
	if err == nil && p == nil {
		err = site.Missing()
	}
	return p, err
}

type answerForm struct {
	No     int    `schema:"no"`
	Answer string `schema:"answer"`
}

// CheckPost takes the answer to the question, or opens the board of a task.
func (s Pages) CheckPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f answerForm
	if err := s.Form(r, &f); err != nil {
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
		g, err := s.Store.PlayTask(r.Context(), a)
		if err != nil || g == 0 {
			return err
		}
		return s.GoPlay(w, r, g)
	case f.Answer != progress.IsStalemate && f.Answer != progress.IsMate && f.Answer != progress.IsNeither:
		return s.checkPage(w, r, a, http.StatusUnprocessableEntity, &view.Notice{Say: "Choose one of the three answers.",
			Error: true})
	}
	position, err := board.ParseFEN(p.Tasks[next].FEN)
	if err != nil {
		return fmt.Errorf("the question's position: %w", err)
	}
	if err := s.Store.AnswerTask(r.Context(), a, f.Answer, f.Answer == progress.Answer(position)); err != nil {
		return err
	}
	return back()
}
