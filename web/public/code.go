package public

import (
	"net/http"
	"strconv"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// CodePage is /in/code, the second step of a coach's sign-in.
type CodePage struct {
	view.Page
	On    string // the number under which is kept where the sign-in leads
	Error string
}

// halfCookie is the name of the cookie of a sign-in that still needs a code. It opens
// nothing but the page for it.
func (s Pages) halfCookie() string { return s.Cookie() + "-half" }

func (s Pages) half(r *http.Request) club.Secret {
	c, err := r.Cookie(s.halfCookie())
	if err != nil {
		return ""
	}
	return club.Secret(c.Value)
}

// setHalf gives the browser that cookie, or takes it away.
func (s Pages) setHalf(w http.ResponseWriter, token club.Secret, seconds int) {
	http.SetCookie(w, &http.Cookie{Name: s.halfCookie(), Value: string(token), Path: "/", MaxAge: seconds,
		Secure: s.Secure, HttpOnly: true, SameSite: http.SameSiteStrictMode})
}

// passed lets a coach in whose password was right, or asks for the code first.
func (s Pages) passed(w http.ResponseWriter, r *http.Request, a game.Actor, o onward) error {
	on, err := s.Store.FactorOn(r.Context(), a)
	if err != nil {
		return err
	}
	if !on {
		return s.enter(w, r, a, o)
	}
	token, life, err := s.Store.Half(r.Context(), a)
	if err != nil {
		return err
	}
	no, err := s.Store.KeepDraft(r.Context(), token, o)
	if err != nil {
		return err
	}
	s.setHalf(w, token, int(life.Seconds()))
	http.Redirect(w, r, "/in/code?on="+strconv.FormatInt(no, 10), http.StatusSeeOther)
	return nil
}

// Code asks for the code of a second factor.
func (s Pages) Code(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	_, _, err := s.Store.HalfOf(r.Context(), s.half(r))
	if game.KindOf(err) == game.Missing {
		http.Redirect(w, r, "/in#coach", http.StatusSeeOther)
		return nil
	}
	if err != nil {
		return err
	}
	return s.Show(w, r, CodePage{On: r.URL.Query().Get("on")}.View())
}

type codeForm struct {
	Code string `schema:"code"`
	On   string `schema:"on"`
}

// CodePost takes the code, or a recovery code, and lets the coach in.
func (s Pages) CodePost(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	var f codeForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	half := s.half(r)
	a, email, err := s.Store.HalfOf(r.Context(), half)
	if game.KindOf(err) == game.Missing {
		http.Redirect(w, r, "/in#coach", http.StatusSeeOther)
		return nil
	}
	if err != nil {
		return err
	}
	err = s.CodeIn(r, a, email, f.Code)
	if say, status, refused := site.Refusal(err); refused {
		s.Draw(w, r, status, CodePage{On: f.On, Error: say}.View())
		return nil
	}
	if err != nil {
		return err
	}
	no, _ := strconv.ParseInt(f.On, 10, 64) // nothing is kept under 0
	var o onward
	err = s.Store.Shown(r.Context(), half, store.ShownDraft, no, &o)
	if err != nil && game.KindOf(err) != game.Missing {
		return err
	}
	if err := s.Store.EndHalf(r.Context(), half); err != nil {
		return err
	}
	s.setHalf(w, "", -1)
	return s.enter(w, r, a, o)
}
