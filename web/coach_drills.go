package web

import (
	"context"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"drover/game"
	"drover/game/board"
	"drover/game/club"
	"drover/game/practice"
	"drover/store"
	"drover/web/view"
)

func (s *Server) drills(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, _, err := s.frame(r.Context(), a)
	if err != nil {
		return err
	}
	if page.Notice, err = s.givenNotice(r, a); err != nil {
		return err
	}
	rows, err := s.store.Shelf(r.Context(), a.Club)
	if err != nil {
		return err
	}
	m := view.DrillsPage{Page: page}
	for _, row := range rows {
		m.Rows = append(m.Rows, view.DrillRow{
			ID: strconv.FormatInt(int64(row.ID), 10), Ending: endingOf(row.Ending), Name: row.Name, Line: row.Line(),
			Who: row.Who, Has: row.Has, Through: row.Through,
		})
	}
	return s.show(w, r, m.View())
}

// givenNotice says to whom the assignment was given that the address names, where
// the club has one of that number.
func (s *Server) givenNotice(r *http.Request, a game.Actor) (*view.Notice, error) {
	n, _ := strconv.ParseInt(r.URL.Query().Get("given"), 10, 64) // no assignment has the number 0
	names, err := s.store.Given(r.Context(), a.Club, game.AssignmentID(n))
	switch {
	case err != nil || len(names) == 0:
		return nil, err
	case len(names) == 1:
		return &view.Notice{Say: "Assigned to " + names[0] + ".", More: "It is on the child's first page."}, nil
	}
	return &view.Notice{Say: "Assigned to " + fewNames(names) + ".", More: "It is on their first pages."}, nil
}

// fewNames writes up to three names, or how many there are.
func fewNames(names []string) string {
	if len(names) > 3 {
		return game.Count(len(names), "student")
	}
	return game.List(names)
}

// startCards draws the first starts of a drill.
func (s *Server) startCards(ctx context.Context, d club.Drill, most int) ([]view.StartCard, error) {
	var out []view.StartCard
	for i, fen := range d.Starts[:min(most, len(d.Starts))] {
		p, err := board.ParseFEN(fen)
		if err != nil {
			return nil, fmt.Errorf("start %d of drill %d: %w", i, d.ID, err)
		}
		say, err := s.startSay(ctx, d, p)
		if err != nil {
			return nil, err
		}
		out = append(out, view.StartCard{FEN: fen, No: fmt.Sprintf("%d of %d", i+1, len(d.Starts)), Say: say})
	}
	return out, nil
}

// startSay is what is said of a start: how far mate is, or how many moves hold.
func (s *Server) startSay(ctx context.Context, d club.Drill, p board.Position) (string, error) {
	if d.Hold {
		keeps, err := s.judge.Holding(ctx, p)
		return fmt.Sprintf("%d of %s hold", len(keeps), practice.Moves(len(p.Moves()))), err
	}
	l, err := s.judge.Look(ctx, p)
	return fmt.Sprintf("mate in %d", l.MateIn()), err
}

func (s *Server) drill(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f assignForm
	for _, text := range strings.Split(r.URL.Query().Get("for"), ",") {
		if n, err := strconv.ParseInt(text, 10, 64); err == nil {
			f.Students = append(f.Students, game.PersonID(n))
		}
	}
	return s.assignPage(w, r, a, http.StatusOK, f, nil)
}

type assignForm struct {
	Students []game.PersonID `schema:"student"`
	Due      string          `schema:"due"`
	onceForm
}

// assignPage draws a drill with the students to give it to.
func (s *Server) assignPage(w http.ResponseWriter, r *http.Request, a game.Actor, status int, f assignForm,
	marked view.Errors) error {
	drillID, err := id[game.DrillID](r, "id")
	if err != nil {
		return err
	}
	page, c, err := s.frame(r.Context(), a)
	if err != nil {
		return err
	}
	d, err := s.store.Drill(r.Context(), a.Club, drillID)
	if err != nil {
		return err
	}
	people, err := s.store.DrillProgress(r.Context(), a.Club, drillID)
	if err != nil {
		return err
	}
	m := view.AssignPage{Page: page, ID: strconv.FormatInt(int64(d.ID), 10), Name: d.Name, Line: d.Line(), Due: f.Due,
		Errors: marked}
	if m.Starts, err = s.startCards(r.Context(), d, 4); err != nil {
		return err
	}
	chosen := map[game.PersonID]bool{}
	for _, p := range f.Students {
		chosen[p] = true
	}
	now := c.Local(s.now())
	for _, p := range people {
		m.Students = append(m.Students, assignRow(p, len(d.Starts), chosen[p.ID], now))
	}
	s.draw(w, r, status, m.View())
	return nil
}

func assignRow(p store.Progress, starts int, chosen bool, now time.Time) view.AssignRow {
	row := view.AssignRow{ID: strconv.FormatInt(int64(p.ID), 10), Name: p.Name, Chosen: chosen}
	if p.Has {
		row.Has = fmt.Sprintf("%d of %s done", p.Done, startsWord(starts))
		if d := due(p.Due, now); d != "" {
			row.Has += ", " + d
		}
	}
	return row
}

func (s *Server) assignPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f assignForm
	if err := s.form(r, &f); err != nil {
		return err
	}
	drillID, err := id[game.DrillID](r, "id")
	if err != nil {
		return err
	}
	given, err := s.assign(r, a, drillID, f)
	marked, err := problems(err)
	if err != nil {
		return err
	}
	if marked != nil {
		return s.assignPage(w, r, a, http.StatusUnprocessableEntity, f, marked)
	}
	http.Redirect(w, r, fmt.Sprintf("/drills?given=%d", given), http.StatusSeeOther)
	return nil
}

// assign gives a drill as a form says it.
func (s *Server) assign(r *http.Request, a game.Actor, drill game.DrillID, f assignForm) (game.AssignmentID, error) {
	c, err := s.store.Club(r.Context(), a.Club)
	if err != nil {
		return 0, err
	}
	day, err := dueDay(f.Due, c.Local(s.now()))
	if err != nil {
		return 0, err
	}
	return s.store.Assign(r.Context(), a, drill, f.Students, day, s.sent(r))
}

// dueDay reads an optional day, which is held against the club's own today.
func dueDay(text string, today time.Time) (*time.Time, error) {
	if text == "" {
		return nil, nil
	}
	day, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return nil, club.Problems{"due": "Choose a day, or leave this empty."}.Err()
	}
	return &day, club.CheckDue(day, today)
}
