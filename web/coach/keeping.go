package coach

import (
	"fmt"
	"net/http"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// KeepingPage is /keeping: for how long a club keeps what, and what goes next.
type KeepingPage struct {
	view.Page
	club.Keeping
	Owner  bool
	Going  []string
	Clash  string // somebody else was first
	Errors view.Errors
}

// Keeping is the page of how long things are kept.
func (s Pages) Keeping(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.keeping(w, r, a, http.StatusOK, nil, nil)
}

type keepingForm struct {
	Games    int `schema:"games"`
	Left     int `schema:"left"`
	Audit    int `schema:"audit"`
	Revision int `schema:"revision"`
}

func (s Pages) keeping(w http.ResponseWriter, r *http.Request, a game.Actor, status int, f *keepingForm, refused error) error {
	page, _, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	own, err := s.Store.Account(r.Context(), a)
	if err != nil {
		return err
	}
	m := KeepingPage{Page: page, Owner: own.Owner}
	if m.Keeping, err = s.Store.Keeping(r.Context(), a.Club); err != nil {
		return err
	}
	going, err := s.Store.GoingSoon(r.Context(), a.Club)
	if err != nil {
		return err
	}
	m.Going = goingSay(going)
	if f != nil {
		m.Keeping = club.Keeping{Games: f.Games, Left: f.Left, Audit: f.Audit, Revision: m.Revision}
		marked, other := site.Problems(refused)
		if m.Errors = marked; other != nil {
			m.Clash = game.Saying(other)
		}
	}
	s.Draw(w, r, status, m.View())
	return nil
}

// goingSay says what goes within the next month.
func goingSay(g store.Going) []string {
	var out []string
	if g.Games > 0 {
		out = append(out, fmt.Sprintf("%s of %s, with every move.", game.Count(g.Games, "game"), game.Count(g.Students, "student")))
	}
	if g.Left > 0 {
		out = append(out, fmt.Sprintf("%s who left the club, with all that is kept of them.", game.Count(g.Left, "student")))
	}
	if g.Audit > 0 {
		out = append(out, fmt.Sprintf("%s of who read and did what.", game.Count(g.Audit, "note")))
	}
	return out
}

// KeepingPost changes how long things are kept.
func (s Pages) KeepingPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f keepingForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	err := s.Store.KeepKeeping(r.Context(), a, club.Keeping{Games: f.Games, Left: f.Left, Audit: f.Audit, Revision: f.Revision})
	if status, refused := site.Refused(err); refused {
		return s.keeping(w, r, a, status, &f, err)
	}
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/keeping", http.StatusSeeOther)
	return nil
}
