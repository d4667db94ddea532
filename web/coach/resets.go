package coach

import (
	"fmt"
	"net/http"

	"drover/game"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// CoachPasswordReset makes a link with which another coach chooses a new password.
func (s Pages) CoachPasswordReset(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.reset(w, r, a, store.ResetPassword)
}

// CoachFactorReset makes a link with which another coach sets up another second factor.
func (s Pages) CoachFactorReset(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.reset(w, r, a, store.ResetFactor)
}

func (s Pages) reset(w http.ResponseWriter, r *http.Request, a game.Actor, what store.ResetWhat) error {
	who, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	if ok, err := s.proven(w, r, "/coaches"); !ok {
		return err
	}
	if err := s.Form(r, &site.OnceForm{}); err != nil {
		return err
	}
	if _, err := s.Store.ResetCoach(r.Context(), a, who, what, s.Sent(r)); err != nil {
		return err
	}
	http.Redirect(w, r, fmt.Sprintf("/coaches/%d/link", who), http.StatusSeeOther)
	return nil
}

// CoachLink shows such a link to the session that made it, for a while.
func (s Pages) CoachLink(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	who, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	var link store.Reset
	err = s.Store.Shown(r.Context(), s.Token(r), store.ShownReset, int64(who), &link)
	if game.KindOf(err) == game.Missing { // it is shown no longer
		http.Redirect(w, r, "/coaches", http.StatusSeeOther)
		return nil
	}
	if err != nil {
		return err
	}
	page, _, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	rows, err := s.Store.Coaches(r.Context(), a.Club)
	if err != nil {
		return err
	}
	m := ResetLinkPage{Page: page, URL: s.Link(link.Path()), Factor: link.What == store.ResetFactor}
	m.Told = nil // the page itself says it
	for _, row := range rows {
		if row.ID == who {
			m.Name = row.Name
		}
	}
	if m.QR, err = site.Pattern(m.URL); err != nil {
		return err
	}
	return s.Show(w, r, m.View())
}

// ResetLinkPage is /coaches/{id}/link.
type ResetLinkPage struct {
	view.Page
	Name, URL string
	Factor    bool
	QR        [][]bool
}
