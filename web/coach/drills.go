package coach

import (
	"context"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"drover/game"
	"drover/game/board"
	"drover/game/club"
	"drover/game/practice"
	"drover/web/site"
	"drover/web/view"
)

// Drills is the shelf: all drills of the club, with who has each.
func (s Pages) Drills(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, _, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	if page.Notice, err = s.givenNotice(r, a); err != nil {
		return err
	}
	rows, err := s.Store.Shelf(r.Context(), a)
	if err != nil {
		return err
	}
	m := DrillsPage{Page: page}
	for _, text := range strings.Split(r.URL.Query().Get("for"), ",") {
		if n, err := strconv.ParseInt(text, 10, 64); err == nil && n > 0 {
			m.For = append(m.For, n)
		}
	}
	for _, row := range rows {
		m.Rows = append(m.Rows, DrillRow{
			ID: strconv.FormatInt(int64(row.ID), 10), Ending: site.EndingOf(row.Ending), Name: row.Name, Line: row.Line(),
			Who: row.Who, Has: row.Has, Through: row.Through,
		})
	}
	return s.Show(w, r, m.View())
}

// givenNotice says to whom the assignment was given that the address names, where
// the club has one of that number.
func (s Pages) givenNotice(r *http.Request, a game.Actor) (*view.Notice, error) {
	n, _ := strconv.ParseInt(r.URL.Query().Get("given"), 10, 64) // no assignment has the number 0
	names, err := s.Store.Given(r.Context(), a, game.AssignmentID(n))
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
func (s Pages) startCards(ctx context.Context, d club.Drill, most int) ([]StartCard, error) {
	var out []StartCard
	for i, fen := range d.Starts[:min(most, len(d.Starts))] {
		p, err := board.ParseFEN(fen)
		if err != nil {
			return nil, fmt.Errorf("start %d of drill %d: %w", i, d.ID, err)
		}
		say, err := s.startSay(ctx, d, p)
		if err != nil {
			return nil, err
		}
		out = append(out, StartCard{FEN: fen, No: fmt.Sprintf("%d of %d", i+1, len(d.Starts)), Say: say})
	}
	return out, nil
}

// startSay is what is said of a start: how far mate is, or how many moves hold.
func (s Pages) startSay(ctx context.Context, d club.Drill, p board.Position) (string, error) {
	if d.Hold {
		keeps, err := s.Judge.HoldingMoves(ctx, p)
		return fmt.Sprintf("%d of %s hold", len(keeps), practice.Moves(len(p.Moves()))), err
	}
	l, err := s.Judge.Look(ctx, p)
	return fmt.Sprintf("mate in %d", l.MateIn()), err
}
