package ending

import (
	"fmt"
	"strings"

	"drover/game"
)

// For puts facts into words for an age: short ones for about eight, with the
// numbers for about fourteen and for grown-ups.
func (f Facts) For(age int) []string {
	if age >= Fourteen {
		return f.fourteen()
	}
	return f.Sentences()
}

// fourteen says the same facts with the numbers: what it cost, how far mate is.
func (f Facts) fourteen() []string {
	switch {
	case f.Mate, f.Grade == WinGone, f.Hangs.There:
		return f.Sentences()
	case f.Grade == Slip:
		return append([]string{fmt.Sprintf("%s, and %d moves are lost.", f.opened(), f.Cost)}, f.kept()...)
	case f.Grade == Detour:
		say := []string{fmt.Sprintf("%d moves longer than %s: mate in %d after it.", f.Cost, f.Best, f.Moves)}
		return append(say, f.took("That move would have taken %s from him.")...)
	}
	return f.well()
}

// opened says where a slip lets him out.
func (f Facts) opened() string {
	way := strings.ReplaceAll(squares(f.Out), ", then ", " and ")
	where := shutOut[f.Opened]
	switch {
	case way == "":
		return "He is no longer shut out of " + where
	case f.Stayed:
		return fmt.Sprintf("He could leave by %s (this time he did not), so %s is open", way, where)
	case f.Went:
		return fmt.Sprintf("He got out by %s, so %s is open again", way, where)
	}
	return fmt.Sprintf("He gets out by %s, so %s is open again", way, where)
}

func (f Facts) well() []string {
	var s []string
	switch {
	case f.Closed > 0:
		s = append(s, fmt.Sprintf("He is shut out of %s: mate in %d.", shutOut[f.Closed], f.Moves))
	case f.Waited:
		s = append(s, "A waiting move: only the turn had to pass.")
	}
	if f.Least {
		return append(s, fmt.Sprintf("His pen: %d squares before, %d now.", f.PenWas, f.PenIs))
	}
	if len(s) == 0 {
		s = append(s, fmt.Sprintf("He can step to %s; mate in %d.", game.Count(f.Steps, "square"), f.Moves))
	}
	return s
}
