package public

import (
	"net/http"

	"drover/game"
	"drover/game/club"
	"drover/web/view"

	"github.com/go-chi/chi/v5"
)

// ConfirmPage is /confirm, where the link of the first mail leads: a person says that the
// address is theirs. A program that opens links in mails presses no button.
type ConfirmPage struct {
	view.Page
	Done, Spent bool
	Token       string
}

// Confirm asks whether an address is somebody's. The secret stands behind the #.
func (s Pages) Confirm(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	return s.Show(w, r, ConfirmPage{Done: r.URL.Query().Has("done")}.View())
}

type confirmForm struct {
	Token string `schema:"token"`
}

// ConfirmPost is the yes. Nobody need be signed in: who has the link has the address.
func (s Pages) ConfirmPost(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	var f confirmForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	_, err := s.Store.ConfirmAddress(r.Context(), club.Secret(f.Token)) // 256 bits need no throttle
	switch {
	case game.KindOf(err) == game.Gone:
		s.Draw(w, r, http.StatusGone, ConfirmPage{Spent: true}.View())
		return nil
	case err != nil:
		return err
	}
	http.Redirect(w, r, "/confirm?done=on", http.StatusSeeOther)
	return nil
}

// StopPage is /unsubscribe/{token}: the way out of the weekly mails.
type StopPage struct {
	view.Page
	At   string // the page's own address
	Done bool
	Gone bool
}

// Stop is the page with the button. It changes nothing, since programs open links too.
func (s Pages) Stop(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	return s.Show(w, r, StopPage{At: "/unsubscribe/" + chi.URLParam(r, "token")}.View())
}

// StopPost ends the mail, for a person who presses the button and for a mail provider on
// somebody's behalf (RFC 8058, 3.2), which has neither a session nor our Origin: the token is
// the authority. The provider's form is not read; all that counts stands in the address.
func (s Pages) StopPost(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	err := s.Store.StopMail(r.Context(), club.Secret(chi.URLParam(r, "token")))
	switch {
	case game.KindOf(err) == game.Gone:
		s.Draw(w, r, http.StatusGone, StopPage{Gone: true}.View())
		return nil
	case err != nil:
		return err
	}
	return s.Show(w, r, StopPage{Done: true}.View()) // no redirect: RFC 8058 forbids it
}
