package guardian

import (
	"context"
	"fmt"
	"net/http"
	"strconv"

	"drover/game"
	"drover/game/club"
	"drover/web/site"
	"drover/web/view"
)

// EraseBox is what the report says of erasing all about a child.
type EraseBox struct {
	Child string // the number
	Name  string // the nickname
	Say   string // how it stands, empty: nobody has asked
}

// ErasePage is /report/{id}/erase: asking for it, with the export first.
type ErasePage struct {
	view.Page
	EraseBox
}

// eraseBox says how the erasure of a child stands. It names nobody.
func (s Pages) eraseBox(ctx context.Context, c club.Club, child club.Person) (EraseBox, error) {
	box := EraseBox{Child: strconv.FormatInt(int64(child.ID), 10), Name: child.Name}
	e, err := s.Store.Erasing(ctx, c.ID, child.ID)
	if err == nil && e != nil {
		box.Say = site.Erasing(*e, c, s.Now())
	}
	return box, err
}

// Erase is the page on which a guardian asks that all about the child be erased.
func (s Pages) Erase(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	child, err := s.kept(r, a)
	if err != nil {
		return err
	}
	box, err := s.eraseBox(r.Context(), c, child)
	if err != nil {
		return err
	}
	return s.Show(w, r, ErasePage{page, box}.View())
}

// ErasePost asks for it.
func (s Pages) ErasePost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	child, err := s.kept(r, a)
	if err != nil {
		return err
	}
	if err := s.Store.AskErasure(r.Context(), a, child.ID); err != nil {
		return err
	}
	http.Redirect(w, r, fmt.Sprintf("/report/%d/erase", child.ID), http.StatusSeeOther)
	return nil
}

// EraseStop stops it, whoever asked.
func (s Pages) EraseStop(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	child, err := s.kept(r, a)
	if err != nil {
		return err
	}
	if err := s.Store.StopErasureOf(r.Context(), a, child.ID); err != nil {
		return err
	}
	http.Redirect(w, r, fmt.Sprintf("/report/%d?said=%s", child.ID, saidStopped), http.StatusSeeOther)
	return nil
}
