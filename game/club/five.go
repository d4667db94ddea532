package club

import (
	"fmt"

	"drover/game"
	"drover/game/ending"
	"drover/game/practice"
)

// A test is five games on one day, of which four must be passed (design 5).
const (
	TestGames  = 5
	TestPassed = 4
)

// OfFive says whether a drill is a test of five games. A drill in test mode with fewer
// starts, or one in which a draw is held, is passed by its own rule.
func (d *Drill) OfFive() bool {
	_, ok := ending.PlanOf(d.Ending)
	return ok && d.Mode == practice.Test && !d.Hold && len(d.Starts) >= TestGames
}

// Within is the number of moves within which a game of a test is passed; 0 where the test
// is of a part of the ending, which must be clean.
func (d *Drill) Within() int { return Within(d.Ending, d.From, d.To) }

// Within is Drill.Within for an ending and the stages that are tested.
func Within(code string, from, to ending.Stage) int {
	plan, ok := ending.PlanOf(code)
	if !ok || plan.Index(from) != 0 || plan.Index(to) != plan.Last() {
		return 0
	}
	return plan.Pass
}

// Measure says what passes a game of a test: "within 25 moves", or "clean".
func Measure(within int) string {
	if within == 0 {
		return "clean"
	}
	return fmt.Sprintf("within %d moves", within)
}

// fiveLine says what passes a test of five.
func (d *Drill) fiveLine() string {
	r := d.Rule
	r.Need, r.Clean = 0, false // see OfFive
	return r.line(len(d.Starts)) + fmt.Sprintf(" Passed with %s of %s games on one day %s.", game.Number(TestPassed),
		game.Number(TestGames), Measure(d.Within()))
}
