package coach

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

// CardPost makes a new card and leads to its page.
func (s Pages) CardPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	student, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	if err := s.Form(r, &site.OnceForm{}); err != nil {
		return err
	}
	if _, err := s.Store.ReplaceCard(r.Context(), a, student, s.Sent(r)); err != nil {
		return err
	}
	http.Redirect(w, r, fmt.Sprintf("/students/%d/card", student), http.StatusSeeOther)
	return nil
}

// Card shows a card to the session that made it, for a while; else it says why
// there is none to see.
func (s Pages) Card(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, c, file, err := s.StudentFrame(r, a)
	if err != nil {
		return err
	}
	var card club.Card
	err = s.Store.Shown(r.Context(), s.Token(r), store.ShownCard, int64(file.ID), &card)
	if game.KindOf(err) == game.Missing {
		return s.Show(w, r, cardOver(page, file).View())
	}
	if err != nil {
		return err
	}
	press, err := s.Press(card, c.Name)
	if err != nil {
		return err
	}
	made := s.Now()
	if file.Card != nil {
		made = *file.Card
	}
	return s.Show(w, r, CardPage{Page: page, StudentID: strconv.FormatInt(int64(file.ID), 10), Card: press,
		Made: c.Local(made).Format("2 January 2006")}.View())
}

// cardOver is the page where a card is not shown.
func cardOver(page view.Page, file store.StudentFile) OverPage {
	m := OverPage{
		Page: page, Title: "Card for " + file.Name, StudentID: strconv.FormatInt(int64(file.ID), 10), Student: file.Name,
		Say: "A card is shown only once, for ten minutes, to the coach who has just made it: so nobody can copy it later.",
		Ask: "Was it not printed in time?", Button: "Make a new card",
		Hint: "It replaces the old one, which will stop working, and the child will be signed out everywhere.",
	}
	m.Post = "/students/" + m.StudentID + "/card"
	if file.Waits() {
		m.Say, m.Ask, m.Button, m.Hint, m.Post = file.Name+" waits for consent, so there is no card yet.",
			"Note the consent on the page of the student first.", "", "", ""
		return m
	}
	if file.Card == nil {
		m.Say, m.Ask, m.Button, m.Hint = file.Name+" has no card yet.", "The first card", "Make the card",
			"It is shown for ten minutes, so have the printer ready."
	}
	return m
}
