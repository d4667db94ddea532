package practice

import (
	"fmt"
	"strings"

	"drover/game"
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
	Stopped:   "Practice is resting just now",
	Drawn:     "The win is gone",
}

// Title is the headline of an ended game.
func (s State) Title() string {
	if own := s.task().Title(s); own != "" {
		return own
	}
	t, ok := titles[s.End]
	switch {
	case !ok:
		return "The game has ended"
	case strings.Contains(t, "%s"):
		return fmt.Sprintf(t, Moves(len(s.Line)))
	}
	return t
}

// Article says by which article of the FIDE Laws a game ended; empty for an
// end of the drill's own.
func (e End) Article() string {
	if a := articles[e]; a != "" {
		return "FIDE Laws " + a
	}
	return ""
}

// Moves counts moves in words and figures, as in "1 move" or "21 moves".
func Moves(n int) string { return game.Count(n, "move") }

// Step is what an ended game proposes: what the main button of its panel does.
type Step string

// The steps.
const (
	OnStep    Step = "next"  // the next start
	AgainStep Step = "again" // this start once more
	RestStep  Step = "rest"  // nothing just now
)

// Next is the step that an outcome proposes.
func (o Outcome) Next() Step {
	if o.End == Stopped {
		return RestStep
	}
	if o.Shared || !o.Result.Good() || o.Loose && o.Result == WonHelped {
		return AgainStep
	}
	return OnStep
}

// Sentences say what an outcome means to the student: a fact each, no blame. The
// last one proposes what Next says.
func (o Outcome) Sentences() []string {
	switch {
	case o.End == Stopped:
		return []string{"A grown-up can tell you more."}
	case o.Shared:
		return []string{fmt.Sprintf("You played it with %s.", coachName(o.With)), "Now try the same start alone."}
	case o.Result == Clean:
		return []string{Setup{Task: o.Task}.task().Praise(o)}
	case o.Result == OverPar:
		return []string{fmt.Sprintf("You won alone, over par. Best: %s.", Moves(o.Par))}
	case o.Result == WonHelped && o.Loose:
		return []string{"A look at the help is all right here.", "Try it once more alone."}
	case o.Result == WonHelped:
		return []string{"It counts as helped.", "Try the next one alone."}
	case o.Failed != "":
		return []string{fmt.Sprintf("You got as far as this part: %s.", o.Failed.For(o.Wording)), "Trying it again is a good next step."}
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
