package guardian

import (
	"fmt"
	"net/http"
	"strconv"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// CardPage is /report/{id}/card: a new card for the own child, or the way to make one.
type CardPage struct {
	view.Page
	Child, Name string
	Card        *view.PressCard // nil: none is shown
	Waits       bool            // nobody has agreed to practice yet
}

// Card shows a new card to the session that made it, for a while; else it offers to make one.
func (s Pages) Card(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	child, _, err := s.ward(r, a)
	if err != nil {
		return err
	}
	of, err := s.Store.ConsentOf(r.Context(), a.Club, child.ID)
	if err != nil {
		return err
	}
	m := CardPage{Page: page, Child: strconv.FormatInt(int64(child.ID), 10), Name: child.Name, Waits: of.Waits()}
	var card club.Card
	err = s.Store.Shown(r.Context(), s.Token(r), store.ShownCard, int64(child.ID), &card)
	if game.KindOf(err) == game.Missing {
		return s.Show(w, r, m.View())
	}
	if err != nil {
		return err
	}
	press, err := s.Press(card, c.Name)
	if err != nil {
		return err
	}
	m.Card = &press
	return s.Show(w, r, m.View())
}

// CardPost makes a new card for the own child; the old one ends, and a coach reads that.
func (s Pages) CardPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	child, _, err := s.ward(r, a)
	if err != nil {
		return err
	}
	if err := s.Form(r, &site.OnceForm{}); err != nil {
		return err
	}
	if _, err := s.Store.ReplaceCard(r.Context(), a, child.ID, s.Sent(r)); err != nil {
		return err
	}
	http.Redirect(w, r, fmt.Sprintf("/report/%d/card", child.ID), http.StatusSeeOther)
	return nil
}
