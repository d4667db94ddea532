package officer

import (
	"net/http"
	"strconv"
	"strings"
	"time"

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
	Asked            string   // "asked for by a guardian, Hanne, on Tuesday 24 November at 18:12"
	Facts            []string // what was done before
	Say              string   // when it is confirmed: "All will be erased on 14 May."
	Confirm          string   // "Confirm: erased on 14 May", empty: it is confirmed
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
	if game.KindOf(err) == game.Denied {
		s.Draw(w, r, http.StatusForbidden, notYours(page).View())
		return nil
	}
	if err != nil {
		return err
	}
	facts, err := s.Store.ErasureFacts(r.Context(), a)
	if err != nil {
		return err
	}
	m := ErasuresPage{Page: page, Owner: a.Role == game.Coach, Outside: c.Outside, Number: number, Errors: marked}
	for _, e := range rows {
		line := s.erasureLine(e, c)
		line.Facts = erasureFacts(facts[e.ID], line.Confirm != "", c, c.Local(s.Now()))
		m.Rows = append(m.Rows, line)
	}
	s.Draw(w, r, status, m.View())
	return nil
}

// notYours is what a coach reads where a welfare officer decides.
func notYours(page view.Page) view.ProblemPage {
	return view.ProblemPage{Page: page, Status: http.StatusForbidden, Say: "The welfare officer decides about erasures.",
		Do: "A coach asks for one on the page of the student.", Home: "/students", HomeLabel: "To the students"}
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
		Asked: "asked for " + by + ", on " + moment(c, e.Asked)}
	if e.Due == nil {
		line.Confirm = "Confirm: erased on " + site.ShortDay(now.AddDate(0, 0, 7), now)
	} else {
		line.Say = site.Erasing(e, c, s.Now())
	}
	return line
}

// erasureFacts says what was done before an erasure is decided; open: it waits to be.
func erasureFacts(f store.ErasureFacts, open bool, c club.Club, now time.Time) []string {
	day := func(t *time.Time) string { return site.ShortDay(c.Local(*t), now) }
	var out []string
	switch {
	case f.Fetched != nil:
		out = append(out, "An export was fetched on "+day(f.Fetched)+".")
	case f.Asked != nil:
		out = append(out, "An export was asked for on "+day(f.Asked)+", and was not fetched.")
	default:
		out = append(out, "Nobody has asked for an export. A guardian or an owner can make one before all is gone.")
	}
	if f.Before > 0 {
		say := "Asked for and stopped " + times(f.Before) + " before, last asked for on " + day(f.Last)
		if f.Stopper != "" {
			say += " and stopped by " + f.Stopper
		}
		out = append(out, say+".")
	} else {
		out = append(out, "It was never asked for before.")
	}
	if f.Mine && open {
		out = append(out, "You asked for this yourself. If there is a second officer, let them look at it first.")
	}
	return out
}

// times says how often: "once", "three times".
func times(n int) string {
	switch n {
	case 1:
		return "once"
	case 2:
		return "twice"
	}
	return game.Number(n) + " times"
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
