package public

import (
	"net/http"
	"strings"

	"drover/game"
	"drover/game/club"
	"drover/web/site"
)

// Setup is the page on which a new club and its first coach are made.
func (s Pages) Setup(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	return s.Show(w, r, SetupPage{}.View())
}

type setupForm struct {
	Token    string `schema:"token"`
	Club     string `schema:"club"`
	Name     string `schema:"name"`
	Email    string `schema:"email"`
	Password string `schema:"password"`
	Welfare  string `schema:"welfare"`
	Contact  string `schema:"contact"`
	Zone     string `schema:"zone"`
	Self     bool   `schema:"self"` // who sets the club up is the welfare officer, and knows what that costs
}

// SetupPost makes the club and its first coach; the link works once. Whoever
// sends the same page twice is the coach who was just made, which the address
// and the password on the page prove.
func (s Pages) SetupPost(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	var f setupForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	a, err := s.Store.CreateClub(r.Context(), club.Secret(f.Token), club.NewClub{
		Club: f.Club, Name: f.Name, Email: f.Email, Password: f.Password, Welfare: f.Welfare, Contact: f.Contact,
		Zone: f.Zone, Self: f.Self,
	})
	made := err == nil
	page := SetupPage{Token: f.Token, Club: f.Club, Name: f.Name, Email: f.Email, Welfare: f.Welfare,
		Contact: f.Contact}
	if game.KindOf(err) == game.Gone {
		a, err = s.CoachIn(r, strings.TrimSpace(f.Email), f.Password)
		err = s.TurnedAway(r, site.ByCoach, f.Email, err)
	}
	if _, status, refused := site.Refusal(err); refused {
		if page.Spent = true; status == http.StatusForbidden {
			status = http.StatusGone
		}
		s.Draw(w, r, status, page.View())
		return nil
	}
	if page.Errors, err = site.Problems(err); err != nil {
		return err
	}
	if page.Errors != nil {
		s.Draw(w, r, http.StatusUnprocessableEntity, page.View())
		return nil
	}
	if made {
		if err := s.FillShelf(r.Context(), a); err != nil { // the page of drills has a button for it, too
			s.Log.Warn("fill the shelf of a new club", "request", site.RequestID(r), "err", err)
		}
		return s.enter(w, r, a, onward{Back: "/account/factor"})
	}
	return s.passed(w, r, a, onward{Back: "/account/factor"})
}
