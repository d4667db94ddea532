package public

import (
	"fmt"
	"net/http"
	"strconv"

	"drover/game"
	"drover/web/site"
	"drover/web/view"
)

// Tell says whom a child can turn to.
func (s Pages) Tell(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	return s.Show(w, r, TellPage{Page: page, Welfare: c.Welfare, Contact: c.Contact, Outside: c.Outside, Back: cameFrom(r, a)}.View())
}

// cameFrom is the way back: for a student on a game's page to that game, for
// everybody else to the own first page.
func cameFrom(r *http.Request, a game.Actor) view.Link {
	g, err := strconv.ParseUint(r.URL.Query().Get("game"), 10, 63)
	if a.Role != game.Student || err != nil || g == 0 {
		return view.Link{Href: site.FirstPage(a.Role), Label: "Go back"}
	}
	return view.Link{Href: fmt.Sprintf("/play/%d", g), Label: "Back to the game"}
}

func (m TellPage) back() view.Link {
	if m.Back.Href == "" {
		return view.Link{Href: "/today", Label: "Go back"}
	}
	return m.Back
}

// TellPage is /tell: whom a child can talk to.
type TellPage struct {
	view.Page
	Welfare string    // name of the club's welfare officer
	Contact string    // how to reach them
	Outside string    // whom to turn to outside the club, may be empty
	Back    view.Link // the way back, to today if empty
}
