package public

import (
	"net/http"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// ResetPage is /reset/password and /reset/factor, where a link leads with which a coach
// makes one of the two anew. The token comes back in a refused form; at first the page's
// module takes it from behind the #.
type ResetPage struct {
	view.Page
	Factor bool // it is the second factor
	Token  string
	Longer bool // the password is too short to stand alone
	Spent  bool // the link was used or is too old
	Error  string
	Errors view.Errors
}

// ResetPassword is the page for a new password.
func (s Pages) ResetPassword(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	return s.Show(w, r, ResetPage{}.View())
}

// ResetFactor is the page on which a second factor is turned off that nobody has any more.
func (s Pages) ResetFactor(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	return s.Show(w, r, ResetPage{Factor: true}.View())
}

type resetForm struct {
	Token    string `schema:"token"`
	Password string `schema:"password"`
	New      string `schema:"new"` // longer, in place of a short password
}

// ResetPasswordPost gives a coach a new password. It lets nobody in: the coach signs in
// with it, and with the code where there is a second factor.
func (s Pages) ResetPasswordPost(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	var f resetForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	err := s.Store.NewPassword(r.Context(), club.Secret(f.Token), f.Password) // 256 bits need no throttle
	return s.resetDone(w, r, ResetPage{Token: f.Token}, err, func() error {
		http.Redirect(w, r, "/in#coach", http.StatusSeeOther)
		return nil
	})
}

// ResetFactorPost turns a second factor off for the coach of a link, whose password is
// still asked for, and leads to setting up another.
func (s Pages) ResetFactorPost(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	var f resetForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	token := club.Secret(f.Token)
	page := ResetPage{Factor: true, Token: f.Token, Longer: club.ShortPassword(f.Password)}
	a, email, err := s.Store.ResetOf(r.Context(), token, store.ResetFactor)
	if err == nil {
		a, err = s.CoachIn(r, email, f.Password)
		err = s.TurnedAway(r, site.ByCoach, email, err)
	}
	if say, status, refused := site.Refusal(err); refused && game.KindOf(err) != game.Gone {
		page.Error, page.Longer = say, false
		s.Draw(w, r, status, page.View())
		return nil
	}
	if err == nil {
		longer := f.New
		if !page.Longer {
			longer = ""
		}
		a, err = s.Store.EndFactor(r.Context(), token, longer)
	}
	return s.resetDone(w, r, page, err, func() error { return s.enter(w, r, a, onward{Back: "/account/factor"}) })
}

// resetDone goes on after a link was used, or shows its page again.
func (s Pages) resetDone(w http.ResponseWriter, r *http.Request, page ResetPage, err error, on func() error) error {
	kind := game.KindOf(err)
	switch {
	case err == nil:
		return on()
	case kind == game.Gone:
		page.Spent = true
		s.Draw(w, r, http.StatusGone, page.View())
		return nil
	case kind == game.Conflict && page.Longer:
		page.Error = "Your password is short, which is enough only beside a code. Choose a longer one with it."
	default:
		if page.Errors, err = site.Problems(err); err != nil {
			return err
		}
	}
	s.Draw(w, r, http.StatusUnprocessableEntity, page.View())
	return nil
}
