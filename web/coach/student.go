package coach

import (
	"fmt"
	"net/http"
	"strconv"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// Student is the page of one student.
func (s Pages) Student(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.studentFile(w, r, a, http.StatusOK, "", nil)
}

// fileFrame is frame for a page of the student whom the address names, with the
// student's file.
func (s Pages) fileFrame(r *http.Request,
	a game.Actor) (page view.Page, c club.Club, f store.StudentFile, err error) {
	student, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return page, c, f, err
	}
	if page, c, err = s.Frame(r.Context(), a); err != nil {
		return page, c, f, err
	}
	f, err = s.Store.StudentFile(r.Context(), a.Club, student)
	return page, c, f, err
}

// studentFile draws one student's page, at first and with a refused form.
func (s Pages) studentFile(w http.ResponseWriter, r *http.Request, a game.Actor, status int, typed string,
	marked view.Errors) error {
	page, c, f, err := s.fileFrame(r, a)
	if err != nil {
		return err
	}
	if page.Notice, err = s.doneNotice(r, a); err != nil {
		return err
	}
	student := f.ID
	code, stage := r.URL.Query().Get("ending"), ending.Stage(r.URL.Query().Get("stage"))
	if plan, ok := ending.PlanOf(code); !ok || plan.Index(stage) < 0 {
		code, stage = "", "" // an address that was typed: all games
	}
	games, err := s.Store.Games(r.Context(), a.Club, student, code, stage)
	if err != nil {
		return err
	}
	if f.Archived { // what is decided about a student is decided of those who are there
		m := StudentPage{Page: page, ID: strconv.FormatInt(int64(f.ID), 10), Name: f.Name, Number: strconv.Itoa(f.Number),
			Archived: true}
		for _, g := range games {
			m.Games = append(m.Games, gameRow(c, g, c.Local(s.Now())))
		}
		s.Draw(w, r, status, m.View())
		return nil
	}
	of, err := s.Store.RecordOf(r.Context(), a.Club, student,
		store.WithStages, store.WithMastery, store.WithTries, store.WithPlacement)
	if err != nil {
		return err
	}
	stuck := stuckRows(of.Overview())
	for i := range stuck { // the drill stands below
		stuck[i].Why, stuck[i].Set = "", view.Link{}
	}
	now := c.Local(s.Now())
	m := StudentPage{
		Page: page, ID: strconv.FormatInt(int64(f.ID), 10), Name: f.Name, Number: strconv.Itoa(f.Number), Card: "No card yet",
		GuardianName: typed, Errors: marked,
		Consent: consentSay(f, now),
		Stuck:   stuck, Endings: site.EndingMarks(of), Finding: firstLine(of.Diagnosis()),
		Check: s.checkResult(c, of.Placement, ended(games)),
	}
	set, err := s.Store.SetFor(r.Context(), a.Club, student, mostSet)
	if err != nil {
		return err
	}
	m.Set = setList{Student: m.ID, Rows: setRows(set, c, now)}
	if f.Waits() {
		m.Waits = &ConsentPage{ID: m.ID, Name: f.Name, First: true}
	}
	if p, ok := of.Next(); ok {
		m.Next = nextDrill(p, student)
	}
	if f.Card != nil {
		m.Card, m.HasCard = "Made on "+site.ShortDay(c.Local(*f.Card), now), true
	}
	for _, g := range f.Guardians {
		m.Guardians = append(m.Guardians, guardianRow(c, g, now))
	}
	for _, g := range games {
		m.Games = append(m.Games, gameRow(c, g, now))
	}
	s.Draw(w, r, status, m.View())
	return nil
}

// consentSay says who agreed, and when.
func consentSay(f store.StudentFile, now time.Time) string {
	if f.Waits() {
		return "No consent is noted yet."
	}
	return fmt.Sprintf("%s agreed on %s.", f.ConsentBy, site.ShortDay(f.ConsentOn, now))
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

func guardianRow(c club.Club, g store.GuardianRow, now time.Time) GuardianRow {
	row := GuardianRow{ID: strconv.FormatInt(int64(g.ID), 10), Name: g.Name, Link: "stopped"}
	if g.Until != nil && g.Until.After(now) {
		row.Link, row.Live = "works until "+site.ShortDay(c.Local(*g.Until), now), true
	}
	return row
}

func gameRow(c club.Club, g store.GameInfo, now time.Time) GameRow {
	return GameRow{
		ID: strconv.FormatInt(int64(g.ID), 10), Day: site.Ago(c.Local(g.Began), now), Title: site.GameTitle(g),
		Result: site.GameResult(g),
	}
}
