package officer

import (
	"net/http"
	"strconv"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/web/site"
	"drover/web/view"
)

// Consents lists the consents that were taken back; one is given again from paper here.
func (s Pages) Consents(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.consents(w, r, a, http.StatusOK, consentForm{}, nil)
}

type consentForm struct {
	Student game.PersonID `schema:"student"`
	Back    int64         `schema:"back"`
	By      string        `schema:"consent_by"`
	On      string        `schema:"consent_on"`
	site.OnceForm
}

func (s Pages) consents(w http.ResponseWriter, r *http.Request, a game.Actor, status int, f consentForm, marked view.Errors) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	rows, err := s.Store.TakenBack(r.Context(), a.Club)
	if err != nil {
		return err
	}
	now := c.Local(s.Now())
	m := ConsentsPage{Page: page}
	for _, row := range rows {
		line := ConsentLine{ID: strconv.FormatInt(row.ID, 10), Student: strconv.FormatInt(int64(row.Student), 10), Name: row.Name,
			Number: strconv.Itoa(row.Number), Say: row.By + " took consent back on " + site.ShortDay(row.On, now) + ".", By: row.By,
			Link: row.Guardian != 0}
		if row.ID == f.Back && marked != nil {
			line.By, line.On, line.Errors = f.By, f.On, marked
		}
		m.Rows = append(m.Rows, line)
	}
	s.Draw(w, r, status, m.View())
	return nil
}

// ConsentsPost notes from paper that consent is given again.
func (s Pages) ConsentsPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f consentForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	on, _ := time.Parse(time.DateOnly, f.On) // a day that cannot be read is refused as no day
	n := club.NewStudent{ConsentBy: f.By, ConsentOn: on}
	c, err := s.Store.Club(r.Context(), a.Club)
	if err != nil {
		return err
	}
	err = club.AgainProblems(&n, c.Local(s.Now())).Err()
	if err == nil {
		err = s.Store.GiveAgain(r.Context(), a, f.Student, f.Back, n.ConsentBy, on, s.Sent(r))
	}
	marked, err := site.Problems(err)
	if err != nil {
		return err
	}
	if marked != nil {
		return s.consents(w, r, a, http.StatusUnprocessableEntity, f, marked)
	}
	http.Redirect(w, r, "/welfare/consents", http.StatusSeeOther)
	return nil
}

// ConsentsPage is /welfare/consents.
type ConsentsPage struct {
	view.Page
	Rows []ConsentLine
}

// ConsentLine is a consent that was taken back.
type ConsentLine struct {
	ID, Student, Name, Number, Say string
	Link                           bool // the guardian can give it again on a page of their own
	By, On                         string
	Errors                         view.Errors
}
