package public

import (
	"context"
	"net/http"

	"drover/game"
	"drover/web/site"
	"drover/web/view"
)

// ForgottenPage is /in/forgotten, where a coach or an officer asks for a link to a new password.
type ForgottenPage struct {
	view.Page
	Sends bool // mail can be sent
	Asked bool // a link was asked for
	Email string
	Error string
}

// Forgotten is the page on which a link is asked for.
func (s Pages) Forgotten(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	return s.Show(w, r, ForgottenPage{Sends: s.Store.SendsMail(), Asked: r.URL.Query().Has("asked")}.View())
}

type forgottenForm struct {
	Email string `schema:"email"`
}

// asked counts in the throttle like a sign-in that failed: each time is a try.
var asked = game.Fail(game.Denied, "A link was asked for.")

// ForgottenPost asks for the link. The answer is the same, and takes as long, whether or not
// anybody has the address.
func (s Pages) ForgottenPost(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	var f forgottenForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	_, err := s.Attempt(r, site.ByMail, f.Email, func(ctx context.Context, _ *game.Queue) (game.Actor, error) {
		if err := s.Store.AskReset(ctx, f.Email); err != nil {
			return game.Actor{}, err
		}
		return game.Actor{}, asked
	})
	switch game.KindOf(err) {
	case game.Denied:
		http.Redirect(w, r, "/in/forgotten?asked=on", http.StatusSeeOther)
		return nil
	case game.Busy:
		s.Draw(w, r, http.StatusTooManyRequests,
			ForgottenPage{Sends: s.Store.SendsMail(), Email: f.Email, Error: game.Saying(err)}.View())
		return nil
	}
	return err
}
