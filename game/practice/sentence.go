package practice

import (
	"fmt"

	"drover/game/ending"
)

// Title is the headline of an ended game.
func (e End) Title(moves int) string {
	n := Moves(moves)
	switch e {
	case Mated:
		return "Checkmate in " + n
	case Reached:
		return "Done in " + n
	case Stalemate:
		return "Stalemate, a draw"
	case Dead:
		return "Too little left to mate"
	case Fifty:
		return "Fifty moves each: a draw"
	case Fivefold:
		return "Same position, fifth time: a draw"
	case Threefold:
		return "Same position, third time: a draw"
	case OverMoves:
		return "The moves of this drill are used up"
	case Resigned:
		return "Stopped here"
	case Abandoned:
		return "Left for a day"
	case Drawn:
		return "The win is gone"
	}
	return "The game has ended"
}

// Article says by which article of the FIDE Laws a game ended; empty for an
// end of the drill's own.
func (e End) Article() string {
	if a := Articles[e]; a != "" {
		return "FIDE Laws " + a
	}
	return ""
}

// Moves counts moves in words and figures, as in "1 move" or "21 moves".
func Moves(n int) string {
	if n == 1 {
		return "1 move"
	}
	return fmt.Sprintf("%d moves", n)
}

// Sentences say what an outcome means to the student: a fact each, no blame.
func (o Outcome) Sentences() []string {
	switch {
	case o.Result == Clean:
		return []string{fmt.Sprintf("You did it alone. %d can do it.", o.Par)}
	case o.Result == OverPar:
		return []string{fmt.Sprintf("Won alone, over par: %d can do it.", o.Par)}
	case o.Result == WonHelped:
		return []string{"It counts as helped. The next one alone."}
	case o.Failed != "":
		return []string{fmt.Sprintf("You were in the part: %s. That part again is a good next step.", o.Failed.Name())}
	}
	return []string{"Another try is a good next step."}
}

// GoneCause says what made a stopped game no longer won, with its article.
func GoneCause(s State, v ending.Verdict) string {
	switch {
	case s.Pos.Stalemate():
		return "Stalemate, FIDE Laws 5.2.1"
	case s.Pos.Dead():
		return "Dead position, FIDE Laws 5.2.2"
	case v.Fifty:
		return "Fifty-move rule, FIDE Laws 9.3"
	}
	return "He can hold the draw from here"
}

// Shows says whether the verdict on a move is shown before the end.
func (m Mode) Shows(g ending.Grade, noNearer int) bool {
	switch m {
	case Guided:
		return true
	case Practice:
		return g == ending.Slip || g == ending.WinGone || Stuck(noNearer)
	}
	return false
}

// Stuck says whether a 'no nearer' count is one at which it is said.
func Stuck(count int) bool { return count > 0 && count%4 == 0 }
