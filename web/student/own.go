package student

import (
	"net/http"
	"strconv"

	"drover/game"
	"drover/game/club"
	"drover/web/view"
)

// OwnPage is /own: how a child has the board and the pages.
type OwnPage struct {
	view.Page
	Number string // of the card
	Wait   string // "0.8 seconds", as the club has it
	Set    club.Own
}

// Own is the page of a child's own settings.
func (s Pages) Own(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	m := OwnPage{Page: page, Wait: seconds(c.Pace)}
	if m.Set, err = s.Store.Own(r.Context(), a); err != nil {
		return err
	}
	who, err := s.Store.StudentFile(r.Context(), a.Club, a.Person)
	if err != nil {
		return err
	}
	m.Number = strconv.Itoa(who.Number)
	if r.URL.Query().Has("kept") {
		m.Notice = &view.Notice{Say: "Kept."}
	}
	return s.Show(w, r, m.View())
}

// seconds says a pace.
func seconds(ms int) string {
	n := strconv.FormatFloat(float64(ms)/1000, 'f', -1, 64)
	if n == "1" {
		return "1 second"
	}
	return n + " seconds"
}

type ownForm struct {
	Pace   string `schema:"pace"`
	Big    bool   `schema:"big"`
	Turned bool   `schema:"turned"`
	Sounds bool   `schema:"sounds"`
	Scheme string `schema:"scheme"`
}

// OwnPost keeps them.
func (s Pages) OwnPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f ownForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	scheme := f.Scheme
	if scheme == "device" {
		scheme = ""
	}
	err := s.Store.KeepOwn(r.Context(), a, club.Own{Pace: club.Pace(f.Pace), Big: f.Big, Turned: f.Turned, Sounds: f.Sounds,
		Scheme: club.Scheme(scheme)})
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/own?kept", http.StatusSeeOther)
	return nil
}
