package coach

import (
	"fmt"
	"net/http"
	"strconv"

	"drover/game"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// Watch is the board page of a coach who watches.
func (s Pages) Watch(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	g, err := site.ID[game.GameID](r, "id")
	if err != nil {
		return err
	}
	info, err := s.Store.Game(r.Context(), a.Club, g)
	if err != nil {
		return err
	}
	if info.Kind == store.OfTrial { // nobody watches one's own
		return site.Missing()
	}
	if info.Ended != nil {
		http.Redirect(w, r, fmt.Sprintf("/games/%d", g), http.StatusSeeOther)
		return nil
	}
	page, _, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	about := s.About(info)
	return s.Show(w, r, view.PlayPage{
		Page: page, Game: strconv.FormatInt(int64(g), 10), Person: strconv.FormatInt(int64(a.Person), 10), Title: about.Title,
		Sub:   about.Sub,
		Coach: true, Student: strconv.FormatInt(int64(info.Student.ID), 10), Name: info.Student.Name,
	}.View())
}
