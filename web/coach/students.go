package coach

import (
	"fmt"
	"net/http"
	"strconv"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// Students is the roster.
func (s Pages) Students(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.roster(w, r, a, http.StatusOK, StudentForm{Wording: 8}, nil)
}

// roster draws the roster with its form, at first and with a refused form.
func (s Pages) roster(w http.ResponseWriter, r *http.Request, a game.Actor, status int, f StudentForm,
	notice *view.Notice) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	rows, err := s.Store.Roster(r.Context(), a.Club)
	if err != nil {
		return err
	}
	page.Notice = notice
	m := StudentsPage{Page: page, Form: f}
	now := c.Local(s.Now())
	for _, row := range rows {
		m.Rows = append(m.Rows, rosterRow(c, row, now))
	}
	s.Draw(w, r, status, m.View())
	return nil
}

func rosterRow(c club.Club, row store.RosterRow, now time.Time) StudentRow {
	out := StudentRow{ID: strconv.FormatInt(int64(row.ID), 10), Name: row.Name, Number: strconv.Itoa(row.Number),
		Last: "not yet", Games: row.Games, Card: "none yet"}
	if row.Last != nil {
		out.Last = site.Ago(c.Local(*row.Last), now)
	}
	if row.Card != nil {
		out.Card = site.ShortDay(c.Local(*row.Card), now)
	}
	return out
}

type studentForm struct {
	Name      string `schema:"name"`
	ConsentBy string `schema:"consent_by"`
	ConsentOn string `schema:"consent_on"`
	Consent   string `schema:"consent"`
	Wording   string `schema:"wording"`
	Same      string `schema:"same"`
	site.OnceForm
}

// StudentsPost adds a student, and leads to the new card.
func (s Pages) StudentsPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f studentForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	day, _ := time.Parse(time.DateOnly, f.ConsentOn) // a day that cannot be read is the zero day, which Check refuses
	n := club.NewStudent{Name: f.Name, ConsentBy: f.ConsentBy, ConsentOn: day, Consent: f.Consent != "", Wording: 8,
		Same: f.Same != ""}
	if f.Wording == "14" {
		n.Wording = 14
	}
	card, err := s.Store.AddStudent(r.Context(), a, n, s.Sent(r))
	marked, err := site.Problems(err)
	if err != nil {
		return err
	}
	if marked != nil {
		return s.roster(w, r, a, http.StatusUnprocessableEntity, StudentForm{
			Name: f.Name, ConsentBy: f.ConsentBy, ConsentOn: f.ConsentOn, Consent: n.Consent, Wording: n.Wording, Same: n.Same,
			Errors: marked,
		}, nil)
	}
	http.Redirect(w, r, fmt.Sprintf("/students/%d/card", card.Student.ID), http.StatusSeeOther)
	return nil
}
