package public

import (
	"net/http"

	"drover/game"
	"drover/game/club"
	"drover/web/site"
)

// Join is the page on which a coach who was invited joins a club.
func (s Pages) Join(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	return s.Show(w, r, JoinPage{}.View())
}

type joinForm struct {
	Token    string `schema:"token"`
	Name     string `schema:"name"`
	Email    string `schema:"email"`
	Password string `schema:"password"`
	Another  bool   `schema:"another"` // not the person of the same name
}

// JoinPost makes the coach; the link works once.
func (s Pages) JoinPost(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	var f joinForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	a, err := s.Store.Join(r.Context(), club.Secret(f.Token), club.NewCoach{Name: f.Name, Email: f.Email, Password: f.Password,
		Another: f.Another})
	page := JoinPage{Token: f.Token, Name: f.Name, Email: f.Email}
	if game.KindOf(err) == game.Gone {
		page.Spent = true
		s.Draw(w, r, http.StatusGone, page.View())
		return nil
	}
	if page.Errors, err = site.Problems(err); err != nil {
		return err
	}
	if page.Errors != nil {
		s.Draw(w, r, http.StatusUnprocessableEntity, page.View())
		return nil
	}
	if a.Role == game.Welfare { // no other page opens before
		return s.enter(w, r, a, onward{Back: "/account/factor"})
	}
	return s.enter(w, r, a, onward{})
}
