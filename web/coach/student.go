package coach

import (
	"context"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// Student is the page of one student.
func (s Pages) Student(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.studentFile(w, r, a, http.StatusOK, "", nil)
}

// studentFile draws one student's page, at first and with a refused form.
func (s Pages) studentFile(w http.ResponseWriter, r *http.Request, a game.Actor, status int, typed string,
	marked view.Errors) error {
	page, c, f, err := s.StudentFrame(r, a)
	if err != nil {
		return err
	}
	if page.Notice, err = s.doneNotice(r, a); err != nil {
		return err
	}
	if page.Notice == nil {
		page.Notice = studentNotice(r.URL.Query(), f)
	}
	now := c.Local(s.Now())
	ask := gamesAsked(r.URL.Query())
	list, err := s.Store.Games(r.Context(), a, f.ID, ask)
	if err != nil {
		return err
	}
	m := StudentPage{Page: page, ID: strconv.FormatInt(int64(f.ID), 10), Name: f.Name, Number: strconv.Itoa(f.Number),
		Archived: f.Archived, GuardianName: typed, Errors: marked}
	m.Games = gamesPart(m.ID, ask, list, now)
	erasing, err := s.Store.Erasing(r.Context(), a.Club, f.ID)
	if err != nil {
		return err
	}
	if erasing != nil {
		m.Erasing = site.Erasing(*erasing, c, s.Now())
	}
	if !f.Archived { // what is decided about a student is decided of those who are there
		if err := s.desk(r.Context(), a, c, f, list.Ended, &m); err != nil {
			return err
		}
	}
	s.Draw(w, r, status, m.View())
	return nil
}

// What a coach has just noted, in the address of a student's page.
const (
	saidNoted     = "noted"
	saidCorrected = "corrected"
)

// studentNotice says what the coach has just done for a student, where it is so.
func studentNotice(q url.Values, f store.StudentFile) *view.Notice {
	kin, _ := strconv.ParseInt(q.Get("kin"), 10, 64) // nobody has the number 0
	g, is := f.Guardian(game.PersonID(kin))
	switch said := q.Get("said"); {
	case is && g.Also:
		return &view.Notice{Say: g.Name + " is now " + f.Name + "'s guardian too.",
			More: "If that was a mistake, change it under Guardians below."}
	case said == saidNoted && !f.Waits():
		return &view.Notice{Say: "The consent is noted.", More: f.ConsentBy + " agreed."}
	case said == saidCorrected && !f.Waits():
		return &view.Notice{Say: "The consent is noted anew.", More: "The old note stays, with what was wrong in it."}
	}
	return nil
}

// desk fills what a coach does for a student who is there.
func (s Pages) desk(ctx context.Context, a game.Actor, c club.Club, f store.StudentFile, ended int, m *StudentPage) error {
	of, err := s.Store.RecordOf(ctx, a.Club, f.ID,
		store.WithStages, store.WithMastery, store.WithTries, store.WithPlacement, store.WithSpent, store.WithHolds)
	if err != nil {
		return err
	}
	set, err := s.Store.SetFor(ctx, a.Club, f.ID, mostSet)
	if err != nil {
		return err
	}
	now := c.Local(s.Now())
	m.Set = setList{Student: m.ID, Rows: setRows(set, c, now)}
	m.Stuck = stuckRows(of.Overview())
	for i := range m.Stuck { // the drill stands below
		m.Stuck[i].Why, m.Stuck[i].Set = "", view.Link{}
	}
	m.First.found(of.Diagnosis())
	m.Endings, m.Weeks = site.Papers(site.EndingMarks(of), of, "/students/"+m.ID), weeksPart(m.ID, of)
	if m.Tests, err = s.testRows(ctx, a, of); err != nil {
		return err
	}
	m.Check = s.checkResult(c, of.Placement, ended)
	if p, ok := of.Next(); ok {
		m.Next = nextDrill(p, f.ID)
	}
	m.Consent = consentSay(f, now)
	consent, err := s.consentPage(ctx, a, c, f)
	if err != nil {
		return err
	}
	m.Rests, m.Resting = consent.State, consent.Resting
	if m.Resting { // nothing is asked of the child now
		m.Stuck = nil
	}
	if f.Waits() {
		m.Waits = &consent
	}
	m.Card = "No card yet"
	if f.Card != nil {
		m.Card, m.HasCard = "Made on "+site.ShortDay(c.Local(*f.Card), now), true
	}
	for _, g := range f.Guardians {
		m.Guardians = append(m.Guardians, guardianRow(c, g, now))
	}
	return nil
}

// consentSay says who agreed, and when.
func consentSay(f store.StudentFile, now time.Time) string {
	if f.Waits() {
		return "No consent is noted yet."
	}
	return fmt.Sprintf("%s agreed on %s.", f.ConsentBy, site.ShortDay(f.ConsentOn, now))
}

func guardianRow(c club.Club, g store.GuardianRow, now time.Time) GuardianRow {
	row := GuardianRow{ID: strconv.FormatInt(int64(g.ID), 10), Name: g.Name, Link: "stopped", Also: g.Also}
	if g.Until != nil && g.Until.After(now) {
		row.Link, row.Live = "works until "+site.ShortDay(c.Local(*g.Until), now), true
	}
	return row
}
