package club

import (
	"fmt"

	"drover/game/ending"
	"drover/game/practice"
)

// Asked is what one start of a drill asks for.
type Asked struct {
	Moves int // own moves with best play to the end of the drill's last stage; in a hold drill the moves to be held
	Clock int // half-moves without a capture or a pawn move before it
}

// perMove is how many seconds of thought each own move has at the least (a rule
// of ours).
const perMove = 5

// Fits refuses a drill that nobody can do, with the figure that would do: too few
// moves, too short a clock, or a start of which the fifty-move rule (FIDE Laws
// 9.3) leaves too little.
func (d *Drill) Fits(starts []Asked) error {
	p := Problems{}
	plan, won := ending.PlanOf(d.Ending)
	defends := d.Task().Defends()
	pawn := won && plan.Pawn && !defends
	longest := 0
	for i, s := range starts {
		longest = max(longest, s.Moves)
		if room := max(101-s.Clock, 0) / 2; s.Moves > room && !pawn &&
			p["fens"] == "" { // a pawn's move starts the count anew
			p["fens"] = fmt.Sprintf("Position %d: the fifty-move rule (FIDE Laws 9.3) leaves %s, "+
				"and %d are needed. Write %d or less as the half-move clock.",
				i+1, practice.Moves(room), s.Moves, 101-2*s.Moves)
		}
	}
	if pawn && d.To != ending.Mate { // the moves are those to mate, which is not asked for
		return p.Err()
	}
	take := fmt.Sprintf("With best play the longest of these starts takes %s.", practice.Moves(longest))
	if len(starts) == 1 {
		take = fmt.Sprintf("With best play this start takes %s.", practice.Moves(longest))
	}
	if !defends && d.Rule.Budget > 0 && d.Rule.Budget < longest {
		p["budget"] = fmt.Sprintf("%s Write at least %d, or 0 for the fifty-move rule alone.", take, longest)
	}
	if defends {
		take = fmt.Sprintf("%s are to be held.", practice.Moves(longest))
	}
	// What the last move adds comes too late for it.
	if need := perMove*longest - d.Rule.Increment*(longest-1); d.Rule.Clock > 0 && d.Rule.Clock < need {
		p["clock"] = fmt.Sprintf("%s At five seconds for each, write at least %d minutes, or 0 for no clock.", take, (need+59)/60)
	}
	return p.Err()
}
