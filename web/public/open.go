package public

import (
	"net/http"

	"drover/game"
	"drover/game/club"
	"drover/web/site"
)

// Open is where a card's pattern or a private link arrives; the secret stands
// behind the # and never reaches a log.
func (s Pages) Open(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	return s.Show(w, r, OpenPage{Shared: r.URL.Query().Get("shared") == "on",
		Guardian: r.URL.Query().Get("for") == guardianLink}.View())
}

// guardianLink is what a guardian's private link says of itself, so that one that was stopped
// leads to a sentence made for guardians. It opens nothing by itself.
const guardianLink = "guardian"

type tokenForm struct {
	Token string `schema:"token"`
	Go    string `schema:"go"`  // on: sign out whoever is signed in
	For   string `schema:"for"` // guardian: what the link says of itself

	Shared bool `schema:"shared"` // a child says that others use the device, too
}

// OpenPost signs in with a card's pattern or a private link. It replaces nobody's
// session without being asked to, nor at all where the card or link has ended.
func (s Pages) OpenPost(w http.ResponseWriter, r *http.Request, in game.Actor) error {
	var f tokenForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	a, err := s.Store.Open(r.Context(), club.Secret(f.Token)) // 256 bits need no throttle
	err = s.TurnedAway(r, site.ByLink, f.Token, err)
	if game.KindOf(err) == game.Gone {
		s.Draw(w, r, http.StatusGone, OpenPage{Expired: true, Guardian: f.For == guardianLink}.View())
		return nil
	}
	if err != nil {
		return err
	}
	same := a.Club == in.Club && a.Person == in.Person
	switch {
	case same && a.Role == game.Student:
		http.Redirect(w, r, site.FirstPage(a.Role), http.StatusSeeOther)
		return nil
	case in.Person != 0 && !same && f.Go == "":
		s.Draw(w, r, http.StatusConflict, OpenPage{In: in.Name, Token: f.Token, Shared: f.Shared, Guardian: f.For == guardianLink}.View())
		return nil
	}
	if a.Role == game.Coach {
		return s.passed(w, r, a, onward{})
	}
	return s.enter(w, r, a, onward{Shared: f.Shared})
}
