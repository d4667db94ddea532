package coach

import (
	"context"
	"fmt"
	"net/http"
	"strconv"

	"drover/game"
	"drover/game/board"
	"drover/game/club"
	"drover/game/practice"
	"drover/web/site"
	"drover/web/view"
)

// givenNotice says to whom the assignment was given that the address names, where
// the club has one of that number.
func (s Pages) givenNotice(r *http.Request, a game.Actor) (*view.Notice, error) {
	n, _ := strconv.ParseInt(r.URL.Query().Get("given"), 10, 64) // no assignment has the number 0
	names, err := s.Store.Given(r.Context(), a, game.AssignmentID(n))
	if err != nil || len(names) == 0 {
		return nil, err
	}
	given, err := s.Store.GivenBy(r.Context(), a.Club, game.AssignmentID(n))
	if err != nil {
		return nil, err
	}
	c, err := s.Store.Club(r.Context(), a.Club)
	if err != nil {
		return nil, err
	}
	notice := &view.Notice{Say: "Assigned to " + fewNames(names) + ".", More: "It is on their first pages."}
	switch {
	case given.Weeks > 1:
		notice.More = fmt.Sprintf("It comes %s times, once a week.", game.Number(given.Weeks))
	case given.Opens.After(s.Now()):
		notice.More = "It opens on " + site.ShortDay(c.Local(given.Opens), c.Local(s.Now())) + "."
	case len(names) == 1:
		notice.More = "It is on the child's first page."
	}
	if given.Change > 0 {
		notice.Undo = strconv.FormatInt(int64(given.Change), 10)
	}
	return notice, nil
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
