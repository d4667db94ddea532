package ending

import (
	"fmt"
	"strings"

	"drover/game"
	"drover/game/board"
)

// shutOut names what each region shuts the lone king out of.
var shutOut = [...]string{1: "the centre", 2: "the middle", 3: "the inside of the board"}

// Sentences puts facts into words for the student: the fact first, then the
// better idea; about the squares and not the child.
func (f Facts) Sentences() []string {
	switch {
	case f.Mate:
		return []string{"Checkmate."}
	case f.Grade == WinGone:
		return append(f.gone(), better("%s would have kept the win.", f.Best)...)
	case f.Hangs.There:
		return append([]string{f.loss()}, f.quicker()...)
	case f.Grade == Slip:
		return append([]string{f.out()}, f.kept()...)
	case f.Grade == Detour:
		return append([]string{fmt.Sprintf("Still winning, the long way: %s was %d moves quicker.", f.Best, f.Cost)},
			f.took("It would have taken %s from him.")...)
	}
	return f.good()
}

// better says what another move would have done. It is read after his reply, so
// it speaks of then and not of now.
func better(format, move string) []string {
	if move == "" {
		return nil
	}
	return []string{fmt.Sprintf(format, move)}
}

// quicker says how much sooner another move mated.
func (f Facts) quicker() []string {
	if f.Best == "" {
		return nil
	}
	return []string{fmt.Sprintf("%s was %d moves quicker.", f.Best, f.Cost)}
}

// kept says what another move would have done where a stage was given up: the
// quickest one need not keep it.
func (f Facts) kept() []string {
	if f.Keeps {
		return better("%s would have kept him shut out.", f.Best)
	}
	return f.quicker()
}

// took says which square the better move takes away.
func (f Facts) took(format string) []string {
	if !f.Takes {
		return nil
	}
	return []string{fmt.Sprintf(format, f.Taking)}
}

func (f Facts) gone() []string {
	man := fmt.Sprintf("Your %s on %s", f.Hangs.Kind, f.HangAt)
	switch {
	case f.Fifty:
		return []string{"Mate no longer fits into the fifty moves: a draw."}
	case f.Stale && f.Only:
		return []string{fmt.Sprintf("No check and no move: stalemate, a draw. Leave him one square: he had %s.", f.Left)}
	case f.Stale:
		return []string{"No check and no move: stalemate, a draw. Leave him one square."}
	case f.Taken:
		return []string{man + " had no guard. He took it."}
	case f.Forked:
		return []string{man + " cannot be saved any more. Without it there is no mate."}
	case f.Hangs.There:
		return []string{man + " has no guard. He can take it."}
	}
	return []string{"From here he can hold the draw."}
}

// loss says which man falls where the win is kept without it.
func (f Facts) loss() string {
	if f.Taken {
		return fmt.Sprintf("Your %s on %s had no guard. He took it. Still winning, but it takes longer now.",
			f.Hangs.Kind, f.HangAt)
	}
	return fmt.Sprintf("Your %s on %s has no guard. Without it you still win, but it takes longer.",
		f.Hangs.Kind, f.HangAt)
}

func (f Facts) out() string {
	way := squares(f.Out)
	switch {
	case way == "":
		return fmt.Sprintf("He is no longer shut out of %s.", shutOut[f.Opened])
	case f.Stayed:
		return fmt.Sprintf("He could step out of it: %s. This time he did not. Close that way.", way)
	}
	if f.Went && len(f.Out) == 1 { // else he is on his way
		return fmt.Sprintf("He got out: %s. Close that way again.", way)
	}
	return fmt.Sprintf("He gets out: %s. Close that way.", way)
}

// squares lists a way, as in "c6, then d5".
func squares(way []board.Square) string {
	names := make([]string, len(way))
	for i, s := range way {
		names[i] = s.String()
	}
	return strings.Join(names, ", then ")
}

func (f Facts) good() []string {
	var s []string
	switch {
	case f.Closed > 0:
		s = append(s, fmt.Sprintf("Good. He can't come back to %s now.", shutOut[f.Closed]))
	case f.Waited:
		s = append(s, "Only the turn had to pass, and you passed it. Well seen.")
	}
	switch {
	case f.Least:
		s = append(s, fmt.Sprintf("His pen shrinks from %d squares to %d.", f.PenWas, f.PenIs))
	case len(s) == 0 && f.PenIs > 0 && f.PenIs <= OpenPen:
		s = append(s, fmt.Sprintf("His pen has %s.", game.Count(f.PenIs, "square")))
	case len(s) == 0:
		s = append(s, fmt.Sprintf("He can step to %s.", game.Count(f.Steps, "square")))
	}
	return s
}

// NoNearer is what is said when own moves have brought mate no closer.
func NoNearer(moves int) string {
	return fmt.Sprintf("%d moves and no nearer. Where would he like to go?", moves)
}
