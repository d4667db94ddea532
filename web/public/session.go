package public

import (
	"net/http"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/web/site"
)

// enter opens a session for a person and leads to where they were going.
func (s Pages) enter(w http.ResponseWriter, r *http.Request, a game.Actor, o onward) error {
	if old := s.Token(r); old != "" {
		if err := s.Store.SignOut(r.Context(), old); err != nil {
			return err
		}
	}
	if a.Role != game.Guardian { // who has nothing to type
		if err := s.Remember(w, r, a); err != nil {
			return err
		}
	}
	token, life, err := s.session(r, a, o.Shared)
	if err != nil {
		return err
	}
	http.SetCookie(w, &http.Cookie{
		Name: s.Cookie(), Value: string(token), Path: "/", MaxAge: int(life.Seconds()),
		Secure: s.Secure, HttpOnly: true, SameSite: http.SameSiteLaxMode,
	})
	to, err := s.next(r, a, token, o)
	if err != nil {
		return err
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// session opens a session; of a child, where it says so, one on a shared device.
func (s Pages) session(r *http.Request, a game.Actor, shared bool) (club.Secret, time.Duration, error) {
	browser := site.Browser(r.UserAgent())
	if shared && a.Role == game.Student {
		return s.Store.SignInShared(r.Context(), a, browser)
	}
	return s.Store.SignIn(r.Context(), a, browser)
}

// Home leads everybody to their first page.
func (s Pages) Home(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	http.Redirect(w, r, site.FirstPage(a.Role), http.StatusSeeOther)
	return nil
}

type outForm struct {
	Back string `schema:"back"` // the page that another person is to see
}

// SignOut ends the session and leads to the page for signing in.
func (s Pages) SignOut(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	var f outForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	if err := s.Store.SignOut(r.Context(), s.Token(r)); err != nil {
		return err
	}
	w.Header().Set("Clear-Site-Data", `"cache"`) // no page of theirs stays in the browser's store
	http.SetCookie(w, &http.Cookie{Name: s.Cookie(), Path: "/", MaxAge: -1, Secure: s.Secure, HttpOnly: true,
		SameSite: http.SameSiteLaxMode})
	http.Redirect(w, r, site.SignInFor(f.Back), http.StatusSeeOther)
	return nil
}
