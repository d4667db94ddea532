package web

import (
	"fmt"
	"net/http"
	"strconv"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/store"
	"drover/web/view"
)

func (s *Server) students(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.roster(w, r, a, http.StatusOK, view.StudentForm{Wording: 8}, nil)
}

// roster draws the roster with its form, at first and with a refused form.
func (s *Server) roster(w http.ResponseWriter, r *http.Request, a game.Actor, status int, f view.StudentForm,
	notice *view.Notice) error {
	page, c, err := s.frame(r.Context(), a)
	if err != nil {
		return err
	}
	rows, err := s.store.Roster(r.Context(), a.Club)
	if err != nil {
		return err
	}
	page.Notice = notice
	m := view.StudentsPage{Page: page, Form: f}
	now := c.Local(s.now())
	for _, row := range rows {
		m.Rows = append(m.Rows, rosterRow(c, row, now))
	}
	s.draw(w, r, status, m.View())
	return nil
}

func rosterRow(c club.Club, row store.RosterRow, now time.Time) view.StudentRow {
	out := view.StudentRow{ID: strconv.FormatInt(int64(row.ID), 10), Name: row.Name, Number: strconv.Itoa(row.Number),
		Last: "not yet", Games: row.Games, Card: "none yet"}
	if row.Last != nil {
		out.Last = ago(c.Local(*row.Last), now)
	}
	if row.Card != nil {
		out.Card = shortDay(c.Local(*row.Card), now)
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
	onceForm
}

func (s *Server) studentsPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f studentForm
	if err := s.form(r, &f); err != nil {
		return err
	}
	day, _ := time.Parse(time.DateOnly, f.ConsentOn) // a day that cannot be read is the zero day, which Check refuses
	n := club.NewStudent{Name: f.Name, ConsentBy: f.ConsentBy, ConsentOn: day, Consent: f.Consent != "", Wording: 8,
		Same: f.Same != ""}
	if f.Wording == "14" {
		n.Wording = 14
	}
	card, err := s.store.AddStudent(r.Context(), a, n, s.sent(r))
	marked, err := problems(err)
	if err != nil {
		return err
	}
	if marked != nil {
		return s.roster(w, r, a, http.StatusUnprocessableEntity, view.StudentForm{
			Name: f.Name, ConsentBy: f.ConsentBy, ConsentOn: f.ConsentOn, Consent: n.Consent, Wording: n.Wording, Same: n.Same,
			Errors: marked,
		}, nil)
	}
	http.Redirect(w, r, fmt.Sprintf("/students/%d/card", card.Student.ID), http.StatusSeeOther)
	return nil
}

func (s *Server) student(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.studentFile(w, r, a, http.StatusOK, "", nil)
}

// fileFrame is frame for a page of the student whom the address names, with the
// student's file.
func (s *Server) fileFrame(r *http.Request,
	a game.Actor) (page view.Page, c club.Club, f store.StudentFile, err error) {
	student, err := id[game.PersonID](r, "id")
	if err != nil {
		return page, c, f, err
	}
	if page, c, err = s.frame(r.Context(), a); err != nil {
		return page, c, f, err
	}
	f, err = s.store.StudentFile(r.Context(), a.Club, student)
	return page, c, f, err
}

// studentFile draws one student's page, at first and with a refused form.
func (s *Server) studentFile(w http.ResponseWriter, r *http.Request, a game.Actor, status int, typed string,
	marked view.Errors) error {
	page, c, f, err := s.fileFrame(r, a)
	if err != nil {
		return err
	}
	student := f.ID
	code, stage := r.URL.Query().Get("ending"), ending.Stage(r.URL.Query().Get("stage"))
	if plan, ok := ending.PlanOf(code); !ok || plan.Index(stage) < 0 {
		code, stage = "", "" // an address that was typed: all games
	}
	games, err := s.store.Games(r.Context(), a.Club, student, code, stage)
	if err != nil {
		return err
	}
	of, err := s.store.RecordOf(r.Context(), a.Club, student,
		store.WithStages, store.WithHabits, store.WithStandings, store.WithTries, store.WithCheck)
	if err != nil {
		return err
	}
	stuck := stuckRows(of)
	for i := range stuck { // the drill stands below
		stuck[i].Why, stuck[i].Set = "", view.Link{}
	}
	now := c.Local(s.now())
	m := view.StudentPage{
		Page: page, ID: strconv.FormatInt(int64(f.ID), 10), Name: f.Name, Number: strconv.Itoa(f.Number), Card: "No card yet",
		GuardianName: typed, Errors: marked,
		Consent: fmt.Sprintf("%s agreed on %s.", f.ConsentBy, shortDay(f.ConsentOn, now)),
		Stuck:   stuck, Endings: endingMarks(of), Finding: foundLine(of.Diagnosis()),
		Check: s.checkResult(c, of.Check, ended(games)),
	}
	if p, ok := of.Next(); ok {
		m.Next = nextDrill(p, student)
	}
	if f.Card != nil {
		m.Card, m.HasCard = "Made on "+shortDay(c.Local(*f.Card), now), true
	}
	for _, g := range f.Guardians {
		m.Guardians = append(m.Guardians, guardianRow(c, g, now))
	}
	for _, g := range games {
		m.Games = append(m.Games, gameRow(c, g, now))
	}
	s.draw(w, r, status, m.View())
	return nil
}

// ended counts the games that are over.
func ended(games []store.GameInfo) int {
	n := 0
	for _, g := range games {
		if g.Ended != nil {
			n++
		}
	}
	return n
}

func guardianRow(c club.Club, g store.GuardianRow, now time.Time) view.GuardianRow {
	row := view.GuardianRow{ID: strconv.FormatInt(int64(g.ID), 10), Name: g.Name, Link: "stopped"}
	if g.Until != nil && g.Until.After(now) {
		row.Link, row.Live = "works until "+shortDay(c.Local(*g.Until), now), true
	}
	return row
}

func gameRow(c club.Club, g store.GameInfo, now time.Time) view.GameRow {
	return view.GameRow{
		ID: strconv.FormatInt(int64(g.ID), 10), Day: ago(c.Local(g.Began), now), Title: gameTitle(g), Result: gameResult(g),
	}
}

func (s *Server) guardianRevoke(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	student, err := id[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	guardian, err := id[game.PersonID](r, "g")
	if err != nil {
		return err
	}
	if err := s.store.RevokeGuardian(r.Context(), a, student, guardian); err != nil {
		return err
	}
	http.Redirect(w, r, fmt.Sprintf("/students/%d", student), http.StatusSeeOther)
	return nil
}
