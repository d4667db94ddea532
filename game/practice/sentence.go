package practice

import (
	"fmt"
	"strings"

	"drover/game/ending"
)

// titles are the headlines of ended games; %s stands for the moves made.
var titles = map[End]string{
	Mated:     "Checkmate in %s",
	Reached:   "Done in %s",
	Stalemate: "Stalemate, a draw",
	Dead:      "Too little left to mate with",
	Fifty:     "The fifty-move rule: a draw",
	Fivefold:  "The same position five times: a draw",
	Threefold: "The same position three times: a draw",
	OverMoves: "The moves of this drill are used up",
	HeldOut:   "Held for %s",
	LetGo:     "The draw is gone",
	Time:      "The time is up",
	Resigned:  "Stopped here",
	Abandoned: "Left for a day",
	Restarted: "A new try took its place",
	Drawn:     "The win is gone",
}

// heldBy says how a draw was held, for those ends that the rules make.
var heldBy = map[End]string{
	Stalemate: "stalemate",
	Dead:      "too little left to mate with",
	Fifty:     "the fifty-move rule",
	Fivefold:  "the same position five times",
	Threefold: "the same position three times",
}

// Title is the headline of an ended game.
func (s State) Title() string {
	t, ok := titles[s.End]
	switch {
	case !ok:
		return "The game has ended"
	case s.Hold && s.End == Mated && !s.Success():
		return "Checkmate"
	case s.Hold && heldBy[s.End] != "":
		return "You held the draw: " + heldBy[s.End]
	case strings.Contains(t, "%s"):
		return fmt.Sprintf(t, Moves(len(s.Line)))
	}
	return t
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

// Step is what an ended game proposes: what the main button of its panel does.
type Step string

// The steps.
const (
	OnStep    Step = "next"  // the next start
	AgainStep Step = "again" // this start once more
)

// Next is the step that an outcome proposes.
func (o Outcome) Next() Step {
	if o.Shared || !o.Result.Good() {
		return AgainStep
	}
	return OnStep
}

// Sentences say what an outcome means to the student: a fact each, no blame. The
// last one proposes what Next says.
func (o Outcome) Sentences() []string {
	switch {
	case o.Shared:
		return []string{fmt.Sprintf("You played it with %s.", coachName(o.With)), "Now try the same start alone."}
	case o.Hold && o.Result == Clean:
		return []string{"You held it alone."}
	case o.Result == Clean && o.Par == 0:
		return []string{"You did it alone."}
	case o.Result == Clean:
		return []string{fmt.Sprintf("You did it alone. Best: %s.", Moves(o.Par))}
	case o.Result == OverPar:
		return []string{fmt.Sprintf("You won alone, over par. Best: %s.", Moves(o.Par))}
	case o.Result == WonHelped:
		return []string{"It counts as helped. Try the next one alone."}
	case o.Failed != "":
		return []string{fmt.Sprintf("You got as far as this part: %s. Trying it again is a good next step.", o.Failed.For(o.Wording))}
	}
	return []string{"Another try is a good next step."}
}

// coachName is a coach's name for a sentence.
func coachName(name string) string {
	if name == "" {
		return "your coach"
	}
	return name
}

// GoneTitle is the headline of a stopped game.
func GoneTitle(s State) string {
	if s.Hold {
		return "The draw is gone"
	}
	return "The win is gone"
}

// GoneCause says what made a stopped game no longer won, or no longer a draw,
// with its article.
func GoneCause(s State, v ending.Verdict) string {
	switch {
	case s.Hold && s.Pos.Checkmate():
		return "Checkmate, FIDE Laws 5.1.1"
	case s.Hold:
		return "He wins from here"
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
		return g == ending.Slip || g == ending.WinGone || g == ending.DrawGone || Stuck(noNearer)
	}
	return false
}

// StuckGrade is what a page shows in place of 'on course' from the fourth own move
// on that brings mate no nearer. It is shown only, and never kept.
const StuckGrade ending.Grade = "no nearer"

// stuckFrom is the 'no nearer' count from which a page says so.
const stuckFrom = 4

// ShownGrade is the grade of a move as a page shows it, at a 'no nearer' count.
func ShownGrade(g ending.Grade, noNearer int) ending.Grade {
	if g == ending.OnCourse && noNearer >= stuckFrom {
		return StuckGrade
	}
	return g
}

// Stuck says whether a 'no nearer' count is one at which it is said.
func Stuck(count int) bool { return count > 0 && count%stuckFrom == 0 }
