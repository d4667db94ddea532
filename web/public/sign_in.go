package public

import (
	"context"
	"net/http"
	"strconv"
	"strings"

	"drover/game"
	"drover/game/club"
	"drover/web/site"
)

// SignIn is the page with a part for each way in.
func (s Pages) SignIn(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	o := onward{Back: r.URL.Query().Get("back")}
	if o.Back == "" {
		return s.Show(w, r, o.page().View())
	}
	var err error
	if o.Whose, err = s.lastHere(r); err != nil {
		return err
	}
	return s.Show(w, r, s.signIn(o).View())
}

type cardForm struct {
	Number string `schema:"number"`
	W1     string `schema:"w1"`
	W2     string `schema:"w2"`
	W3     string `schema:"w3"`
	W4     string `schema:"w4"`
	onward
}

// SignInCard takes a card's number and words. Whether or not there is such a
// number, the answer is the same and takes as long.
func (s Pages) SignInCard(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	var f cardForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	words := [4]string{f.W1, f.W2, f.W3, f.W4}
	m := f.page()
	if m.otherDoor(f.Number) {
		s.Draw(w, r, http.StatusUnprocessableEntity, m.View())
		return nil
	}
	a, err := s.Attempt(r, site.ByCard, f.Number, func(ctx context.Context, q *game.Queue) (game.Actor, error) {
		return s.Store.OpenPhrase(ctx, q, f.Number, words)
	})
	err = s.TurnedAway(r, site.ByCard, f.Number, err)
	if say, status, refused := site.Refusal(err); refused {
		m.Number, m.Words, m.Error = f.Number, words, say
		s.Draw(w, r, status, m.View())
		return nil
	}
	if err != nil {
		return err
	}
	return s.passed(w, r, a, f.onward)
}

// otherDoor shows the right part of the page to who typed at another one: an address with
// an @ is a coach's, figures alone are a card's, and a private link is opened and not
// typed. A link's secret is not given back.
func (m *SignInPage) otherDoor(typed string) bool {
	typed = strings.TrimSpace(typed)
	_, token := club.Secret(typed).Club()
	switch {
	case token || strings.Contains(typed, "/open"):
		m.LinkError = "That is a private link. Paste it into the line at the very top of the browser, where addresses stand."
	case strings.Contains(typed, "@"):
		m.Email, m.CoachError = typed, "That is an e-mail address. A coach signs in here, with a password."
	default:
		return false
	}
	return true
}

// cardDoor shows the part for a card to who typed its number as an address.
func (m *SignInPage) cardDoor(typed string) bool {
	typed = strings.TrimSpace(typed)
	if _, err := strconv.ParseUint(typed, 10, 32); err != nil {
		return false
	}
	m.Number, m.Error = typed, "That is the number of a card. A child comes in here, with the four words."
	return true
}

// CoachSignIn leads to the part of the page for coaches.
func (s Pages) CoachSignIn(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	http.Redirect(w, r, "/in#coach", http.StatusSeeOther)
	return nil
}

// OfficerSignIn leads welfare officers to the same part.
func (s Pages) OfficerSignIn(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.CoachSignIn(w, r, a)
}

type passwordForm struct {
	Email    string `schema:"email"`
	Password string `schema:"password"`
	onward
}

// CoachSignInPost takes a coach's e-mail address and password.
func (s Pages) CoachSignInPost(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	var f passwordForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	m := f.page()
	if !strings.Contains(f.Email, "@") && (m.cardDoor(f.Email) || m.otherDoor(f.Email)) {
		s.Draw(w, r, http.StatusUnprocessableEntity, m.View())
		return nil
	}
	a, err := s.CoachIn(r, f.Email, f.Password)
	err = s.TurnedAway(r, site.ByCoach, f.Email, err)
	if say, status, refused := site.Refusal(err); refused {
		m.Email, m.CoachError = f.Email, say
		s.Draw(w, r, status, m.View())
		return nil
	}
	if err != nil {
		return err
	}
	return s.passed(w, r, a, f.onward)
}

// wordID is the id of the field of one word of a card.
func wordID(no int) string { return "w" + strconv.Itoa(no) }
