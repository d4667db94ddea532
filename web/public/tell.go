package public

import (
	"fmt"
	"net/http"
	"strconv"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// Tell says whom a child can turn to, and takes what is told to the welfare officers. It
// asks for no consent and for no practice.
func (s Pages) Tell(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.tell(w, r, a, http.StatusOK, r.URL.Query().Get("game"), nil)
}

// tell draws the page, at first and where something was refused. What was typed does not
// come back: it stands nowhere but with the officers.
func (s Pages) tell(w http.ResponseWriter, r *http.Request, a game.Actor, status int, from string, marked view.Errors) error {
	m, err := s.whom(r, a, from)
	if err != nil {
		return err
	}
	m.Errors = marked
	if !m.Reach.Officer {
		s.Draw(w, r, status, m.View())
		return nil
	}
	wards := []club.Person{{ID: a.Person}}
	if a.Role == game.Guardian {
		if wards, err = s.Store.Wards(r.Context(), a); err != nil {
			return err
		}
	}
	for _, p := range wards {
		c := view.Choice{Value: strconv.FormatInt(int64(p.ID), 10), Label: "Tell the welfare officer"}
		if len(wards) > 1 {
			c.Label = "Tell it about " + p.Name
		}
		m.About = append(m.About, c)
	}
	s.Draw(w, r, status, m.View())
	return nil
}

// whom is the part of the page that says whom to turn to.
func (s Pages) whom(r *http.Request, a game.Actor, from string) (TellPage, error) {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return TellPage{}, err
	}
	reach, err := s.Store.OfficerReachable(r.Context(), a.Club)
	return TellPage{Page: page, Welfare: c.Welfare, Contact: c.Contact, Outside: c.Outside, Emergency: site.Emergency(c),
		Game: from, Back: cameFrom(from, a), Reach: reach, Child: a.Role == game.Student}, err
}

type tellForm struct {
	Words string        `schema:"words"`
	About game.PersonID `schema:"about"`
	Game  string        `schema:"game"`
	site.OnceForm
}

// TellPost keeps what is told, and leads to the page that says so.
func (s Pages) TellPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f tellForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	if a.Role == game.Student {
		f.About = a.Person
	}
	marked, err := site.Problems(s.Store.Tell(r.Context(), a, f.About, f.Words, s.Sent(r)))
	if err != nil {
		return err
	}
	if marked != nil {
		return s.tell(w, r, a, http.StatusUnprocessableEntity, f.Game, marked)
	}
	to := "/tell/told"
	if g, ok := gameOf(f.Game); ok {
		to += fmt.Sprintf("?game=%d", g)
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// Told says for a short while that something was told, and what happens next. Later it
// leads back, so that nobody who looks here learns of it.
func (s Pages) Told(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	is, err := s.Store.ToldLately(r.Context(), a)
	if err != nil {
		return err
	}
	if !is {
		http.Redirect(w, r, "/tell", http.StatusSeeOther)
		return nil
	}
	m, err := s.whom(r, a, r.URL.Query().Get("game"))
	if err != nil {
		return err
	}
	return s.Show(w, r, ToldPage{m}.View())
}

// gameOf reads the number of the game from whose page somebody came.
func gameOf(text string) (uint64, bool) {
	g, err := strconv.ParseUint(text, 10, 63)
	return g, err == nil && g > 0
}

// cameFrom is the way back: for a student on a game's page to that game, for
// everybody else to the own first page.
func cameFrom(from string, a game.Actor) view.Link {
	g, ok := gameOf(from)
	if a.Role != game.Student || !ok {
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

// mostTold is the length of the field, as the page has it.
func mostTold() string { return strconv.Itoa(club.MostTold) }

// TellPage is /tell: whom a child can talk to.
type TellPage struct {
	view.Page
	Welfare   string        // name of the club's welfare officer
	Contact   string        // how to reach them
	Outside   string        // whom to turn to outside the club, may be empty
	Emergency string        // whom to call in danger
	Game      string        // from whose page a child came, empty: none
	Back      view.Link     // the way back, to today if empty
	Reach     store.Reach   // who reads what is told here
	Child     bool          // who looks is a child
	About     []view.Choice // a button for each child whom it may be about; none: nobody reads it
	Errors    view.Errors
}

// ToldPage is /tell/told: it was told, and what comes next.
type ToldPage struct{ TellPage }
