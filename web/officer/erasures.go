package officer

import (
	"net/http"
	"strconv"
	"strings"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// ErasuresPage is /welfare/erasures.
type ErasuresPage struct {
	view.Page
	Rows    []ErasureLine
	Outside string // to an owner who decides, since the club has no officer: whom else to ask
	Owner   bool   // who looks is that owner
	Number  string
	Errors  view.Errors
}

// ErasureLine is one that is asked for or waited for.
type ErasureLine struct {
	ID, Number, Name string
	Asked            string // "asked for by a guardian, 22 November"
	Say              string // when it is confirmed: "All will be erased on 14 May."
	Confirm          string // "Confirm: erased on 14 May", empty: it is confirmed
}

// Erasures is the page on which the welfare officer decides whether a child is erased.
func (s Pages) Erasures(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.erasures(w, r, a, http.StatusOK, "", nil)
}

func (s Pages) erasures(w http.ResponseWriter, r *http.Request, a game.Actor, status int, number string, marked view.Errors) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	rows, err := s.Store.Erasures(r.Context(), a)
	if err != nil {
		return err
	}
	m := ErasuresPage{Page: page, Owner: a.Role == game.Coach, Outside: c.Outside, Number: number, Errors: marked}
	for _, e := range rows {
		m.Rows = append(m.Rows, s.erasureLine(e, c))
	}
	s.Draw(w, r, status, m.View())
	return nil
}

func (s Pages) erasureLine(e store.Erasure, c club.Club) ErasureLine {
	now := c.Local(s.Now())
	by := "by somebody who has left"
	switch e.Role {
	case game.Guardian:
		by = "by a guardian, " + e.By
	case game.Coach, game.Welfare:
		by = "by " + e.By
	case game.Student:
	}
	line := ErasureLine{ID: strconv.FormatInt(e.ID, 10), Number: strconv.Itoa(e.Number), Name: e.Name,
		Asked: "asked for " + by + ", " + site.ShortDay(c.Local(e.Asked), now)}
	if e.Due == nil {
		line.Confirm = "Confirm: erased on " + site.ShortDay(now.AddDate(0, 0, 7), now)
	} else {
		line.Say = site.Erasing(e, c, s.Now())
	}
	return line
}

// ErasuresPost asks for the erasure of a student by number.
func (s Pages) ErasuresPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f struct {
		Number string `schema:"number"`
	}
	if err := s.Form(r, &f); err != nil {
		return err
	}
	n, _ := strconv.Atoi(strings.TrimSpace(f.Number)) // what is no number is nobody's
	err := s.Store.AskErasureOf(r.Context(), a, n)
	if game.KindOf(err) == game.Missing {
		return s.erasures(w, r, a, http.StatusUnprocessableEntity, f.Number,
			view.Errors{"number": "Nobody in the club has this number. It stands on the card, and on the student's page."})
	}
	return s.erasureDone(w, r, err)
}

// ErasureConfirm decides that a child is erased.
func (s Pages) ErasureConfirm(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	id, err := site.ID[int64](r, "id")
	if err == nil {
		err = s.Store.ConfirmErasure(r.Context(), a, id)
	}
	return s.erasureDone(w, r, err)
}

// ErasureStop stops one.
func (s Pages) ErasureStop(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	id, err := site.ID[int64](r, "id")
	if err == nil {
		err = s.Store.StopErasure(r.Context(), a, id)
	}
	return s.erasureDone(w, r, err)
}

func (s Pages) erasureDone(w http.ResponseWriter, r *http.Request, err error) error {
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/welfare/erasures", http.StatusSeeOther)
	return nil
}
