package ending

import (
	"context"
	"errors"
	"fmt"

	"drover/game"
	"drover/game/board"
	"drover/solver"
)

// tries bounds the search for starts: a stage that one placement in ten
// thousand fits is still found.
const tries = 400_000

// candidates bounds how many positions of the stage are looked at for a kind or
// a par that may not be there at all.
const candidates = 4_000

// Budget is the most work that one search may do, in units of about half a
// microsecond of one core; what each step costs was measured (BenchmarkSearch). It
// counts work and not time, so that a seed picks the same starts on every machine
// and under every load.
const Budget = 1_000_000

// The work of a step of a search.
const (
	perTry    = 1   // a placement that is drawn, held against the rules and the stage
	perBoard  = 70  // a position with its legal moves
	perSurvey = 20  // a look at what each move leads to
	perTrap   = 150 // the same, and the moves that come to mind are played on a board
	perLook   = 512 // work between two looks at whether anybody still waits
)

// errSpent says that a search has done its work.
var errSpent = errors.New("the work of a search is done")

// seeking is one search for starts under way.
type seeking struct {
	ctx    context.Context
	wanted Wanted
	found  Picked
	since  int // work since the context was looked at
}

// spend does a step of work, or says why it is not done: the budget is spent, or
// nobody waits any more.
func (s *seeking) spend(work int) error {
	if s.found.Work+work > Budget {
		return errSpent
	}
	s.found.Work += work
	if s.since += work; s.since >= perLook {
		s.since = 0
		return s.ctx.Err()
	}
	return nil
}

// board makes a position of a placement.
func (s *seeking) board(sp solver.Position) (board.Position, error) {
	if err := s.spend(perBoard); err != nil {
		return board.Position{}, err
	}
	p, err := board.ParseFEN(fen(sp))
	if err != nil {
		return p, fmt.Errorf("start %s: %w", fen(sp), err)
	}
	return p, nil
}

// perKind is the work of holding a position against a kind of start.
func perKind(kind string) int {
	switch kind {
	case OnlyMove:
		return perSurvey
	case Traps:
		return perTrap
	}
	return 0
}

// over says why a search ends before enough starts were found.
func (s *seeking) over(why error) error {
	if !errors.Is(why, errSpent) {
		return fmt.Errorf("search for starts: %w", why)
	}
	n, f, par := len(s.found.Starts), s.found, s.wanted.par()
	switch {
	case n > 0:
		return game.Fail(game.Bad, fmt.Sprintf("%s, not %d. Ask for fewer.", onlySo(n), s.wanted.N))
	case f.Looked == 0:
		return game.Fail(game.Bad, "No start of this stage was found. Choose an earlier stage.")
	case par != "" && (f.Most < s.wanted.Least || s.wanted.Most > 0 && f.Least > s.wanted.Most):
		return game.Fail(game.Bad, fmt.Sprintf("No start with a par of %s was found here. "+
			"Par is %s in the starts of this stage that were looked at. Write numbers within that.", par, span(f.Least, f.Most)))
	case par != "":
		return game.Fail(game.Bad, fmt.Sprintf("No start of this kind with a par of %s was found here. "+
			"Choose another kind, stage or par: par is %s in this stage.", par, span(f.Least, f.Most)))
	}
	return game.Fail(game.Bad, "No start of this kind was found here. Choose another kind, or another stage.")
}

// par writes the par that is wanted; empty where any is.
func (w Wanted) par() string {
	switch {
	case w.Least == 0 && w.Most == 0:
		return ""
	case w.Most == 0:
		return fmt.Sprintf("%d or more", w.Least)
	case w.Least == 0:
		return fmt.Sprintf("%d or less", w.Most)
	}
	return span(w.Least, w.Most)
}

func span(least, most int) string {
	if least == most {
		return fmt.Sprint(least)
	}
	return fmt.Sprintf("%d to %d", least, most)
}

func onlySo(n int) string {
	if n == 1 {
		return "Only one start of that kind was found"
	}
	return fmt.Sprintf("Only %d starts of that kind were found", n)
}
