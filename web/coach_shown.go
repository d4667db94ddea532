package web

import (
	"fmt"
	"net/http"
	"strconv"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/web/view"

	"rsc.io/qr"
)

// cardPost makes a new card and leads to its page.
func (s *Server) cardPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	student, err := id[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	if err := s.form(r, &onceForm{}); err != nil {
		return err
	}
	if _, err := s.store.ReplaceCard(r.Context(), a, student, s.sent(r)); err != nil {
		return err
	}
	http.Redirect(w, r, fmt.Sprintf("/students/%d/card", student), http.StatusSeeOther)
	return nil
}

// card shows a card to the session that made it, for a while; else it says why
// there is none to see.
func (s *Server) card(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, c, file, err := s.fileFrame(r, a)
	if err != nil {
		return err
	}
	var card club.Card
	err = s.store.Shown(r.Context(), s.token(r), store.ShownCard, int64(file.ID), &card)
	if game.KindOf(err) == game.Missing {
		return s.show(w, r, cardOver(page, file).View())
	}
	if err != nil {
		return err
	}
	code, err := pattern(s.link("/open#" + string(card.Token)))
	if err != nil {
		return err
	}
	p, made := card.Student, s.now()
	if file.Card != nil {
		made = *file.Card
	}
	return s.show(w, r, view.CardPage{
		Page: page, StudentID: strconv.FormatInt(int64(p.ID), 10), Name: p.Name, Number: strconv.Itoa(p.Number),
		Man:   string("KQRBNPkqrbnp"[p.Number%12]),
		Words: card.Words[:], QR: code, Address: s.base.Host + "/in", Made: c.Local(made).Format("2 January 2006"),
	}.View())
}

// cardOver is the page where a card is not shown.
func cardOver(page view.Page, file store.StudentFile) view.OverPage {
	m := view.OverPage{
		Page: page, Title: "Card for " + file.Name, StudentID: strconv.FormatInt(int64(file.ID), 10), Student: file.Name,
		Say: "A card is shown only once, for ten minutes, to the coach who has just made it: so nobody can copy it later.",
		Ask: "Was it not printed in time?", Button: "Make a new card",
		Hint: "It replaces the old one, which will stop working, and the child will be signed out everywhere.",
	}
	m.Post = "/students/" + m.StudentID + "/card"
	if file.Card == nil {
		m.Say, m.Ask, m.Button, m.Hint = file.Name+" has no card yet.", "The first card", "Make the card",
			"It is shown for ten minutes, so have the printer ready."
	}
	return m
}

// pattern makes the QR code (ISO/IEC 18004) of a text.
func pattern(text string) ([][]bool, error) {
	code, err := qr.Encode(text, qr.M)
	if err != nil {
		return nil, fmt.Errorf("draw a pattern: %w", err)
	}
	rows := make([][]bool, code.Size)
	for y := range rows {
		rows[y] = make([]bool, code.Size)
		for x := range rows[y] {
			rows[y][x] = code.Black(x, y)
		}
	}
	return rows, nil
}

type nameForm struct {
	Name string `schema:"name"`
	onceForm
}

// guardianPost adds a guardian and leads to the private link.
func (s *Server) guardianPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	student, err := id[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	var f nameForm
	if err := s.form(r, &f); err != nil {
		return err
	}
	link, err := s.store.AddGuardian(r.Context(), a, student, f.Name, s.sent(r))
	marked, err := problems(err)
	if err != nil {
		return err
	}
	if marked != nil {
		return s.studentFile(w, r, a, http.StatusUnprocessableEntity, f.Name, marked)
	}
	return s.toLink(w, r, student, link.Guardian)
}

// toLink leads to the page of a private link.
func (s *Server) toLink(w http.ResponseWriter, r *http.Request, student, guardian game.PersonID) error {
	http.Redirect(w, r, fmt.Sprintf("/students/%d/guardian/%d/link", student, guardian), http.StatusSeeOther)
	return nil
}

// linkPost makes a new link for a guardian and leads to it.
func (s *Server) linkPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	student, err := id[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	guardian, err := id[game.PersonID](r, "g")
	if err != nil {
		return err
	}
	if err := s.form(r, &onceForm{}); err != nil {
		return err
	}
	if _, err := s.store.ReplaceLink(r.Context(), a, student, guardian, s.sent(r)); err != nil {
		return err
	}
	return s.toLink(w, r, student, guardian)
}

// guardianLink shows a private link to the session that made it, for a while;
// else it says why there is none to see.
func (s *Server) guardianLink(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	guardian, err := id[game.PersonID](r, "g")
	if err != nil {
		return err
	}
	page, c, file, err := s.fileFrame(r, a)
	if err != nil {
		return err
	}
	who, ok := file.Guardian(guardian)
	if !ok {
		return missing()
	}
	var link club.Link
	err = s.store.Shown(r.Context(), s.token(r), store.ShownLink, int64(guardian), &link)
	if game.KindOf(err) == game.Missing || err == nil && who.Until == nil {
		return s.show(w, r, linkOver(page, file, who).View())
	}
	if err != nil {
		return err
	}
	url := s.link("/open#" + string(link.Token))
	code, err := pattern(url)
	if err != nil {
		return err
	}
	return s.show(w, r, view.LinkPage{
		Page: page, StudentID: strconv.FormatInt(int64(file.ID), 10), Student: file.Name, Guardian: who.Name, URL: url, QR: code,
		Until: shortDay(c.Local(*who.Until), c.Local(s.now())),
	}.View())
}

// linkOver is the page where a link is not shown.
func linkOver(page view.Page, file store.StudentFile, who store.GuardianRow) view.OverPage {
	m := view.OverPage{
		Page: page, Title: "Private link for " + who.Name, StudentID: strconv.FormatInt(int64(file.ID), 10),
		Student: file.Name,
		Say:     "A link is shown only once, for ten minutes, to the coach who has just made it: so nobody can copy it later.",
		Ask:     "Was it not passed on?", Button: "Make a new link", Hint: "It replaces the old one, which will stop working.",
	}
	m.Post = fmt.Sprintf("/students/%s/guardian/%d/link", m.StudentID, who.ID)
	return m
}
