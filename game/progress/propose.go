package progress

import (
	"cmp"
	"fmt"
	"slices"

	"drover/game"
	"drover/game/ending"
	"drover/game/practice"
)

// Proposal is the drill that fits a student next, with its reason.
type Proposal struct {
	Ending   string
	Hold     bool // a hold drill: From and To are ending.HoldStage, and there is no defender
	From, To ending.Stage
	Mode     practice.Mode
	Kind     string // of starts, a code of ending.StartKinds
	Defender string
	Near     bool   // with a number of moves near par
	Why      string // one sentence, for a coach
}

// Known is what is known of a student. The zero value is somebody of whom
// nothing is known.
type Known struct {
	Stuck   *Key   // a stage in which three tries in a row were not won
	First   *First // what to teach first, nil: nothing stands out
	Marks   map[Key]Mark
	Mastery map[Key]Mastery
	Placed  *PlacementResult // what the starting check said
}

// ladder is the order in which the endings are taught (common practice).
var ladder = [...]string{"KRRK", "KQK", "KRK", "KBBK", "KBNK"}

// Ladder lists the endings in the order in which they are taught; a copy.
func Ladder() []string { return slices.Clone(ladder[:]) }

// trainers are the defenders of each ending in the order of teaching (common
// practice): the first for learning, the last for a test. They are data: an
// ending without a row has the longest.
var trainers = map[string][]string{
	"KRRK": {ending.ChasesMen, ending.TestsMoves},
	"KQK":  {ending.SeeksCentre, ending.RunsToCorner, ending.TestsMoves},
	"KRK":  {ending.SeeksCentre, ending.ChasesMen, ending.HoldsOut},
	"KBBK": {ending.SeeksCentre, ending.HoldsOut},
	"KBNK": {ending.SeeksCentre, ending.RunsToCorner, ending.TestsMoves},
}

// Trainer is the defender against whom a stage is learned. He leads the game to
// where the stage is needed, so in a stage about corners he runs to the corner.
func Trainer(k Key) string {
	row := trainers[k.Ending]
	switch {
	case len(row) == 0:
		return ending.HoldsOut
	case k.Ending == "KBNK" && k.Stage == ending.Corner:
		return ending.RunsToCorner
	}
	return row[0]
}

// Tester is the defender against whom a test of an ending is played.
func Tester(code string) string {
	if row := trainers[code]; len(row) > 0 {
		return row[len(row)-1]
	}
	return ending.HoldsOut
}

// rules say what comes next, the first that applies: what holds a student up
// before what has not been done. They are data: a rule is added here.
var rules = []func(Known) (Proposal, bool){stuck, first, test, work, placed, next}

// Propose names the drill that comes next; ok is false where everything is
// mastered or waits for its check.
func Propose(k Known) (p Proposal, ok bool) {
	for _, rule := range rules {
		if p, ok = rule(k); ok {
			return p, true
		}
	}
	return Proposal{}, false
}

// queenOwn is the drill of the last part of a pawn's ending, which begins when the pawn is a
// queen.
var queenOwn = Key{"KQK", ending.Mate}

// drill is a guided drill from a stage to the end of its ending.
func drill(k Key, why string) (Proposal, bool) {
	plan, ok := ending.PlanOf(k.Ending)
	if ok && plan.Pawn && plan.Index(k.Stage) == plan.Last() {
		k = queenOwn
		plan, ok = ending.PlanOf(k.Ending)
	}
	if !ok || plan.Index(k.Stage) < 0 {
		return Proposal{}, false
	}
	return Proposal{
		Ending: k.Ending, From: k.Stage, To: plan.Steps[plan.Last()].Stage, Mode: practice.Guided, Kind: ending.AtRandom,
		Defender: Trainer(k), Why: why,
	}, true
}

func stuck(k Known) (Proposal, bool) {
	if k.Stuck == nil {
		return Proposal{}, false
	}
	if k.Stuck.Stage == ending.HoldStage {
		return Proposal{
			Ending: k.Stuck.Ending, Hold: true, From: ending.HoldStage, To: ending.HoldStage, Mode: practice.Guided,
			Kind: ending.AtRandom,
			Why:  "Other starts, with a verdict after each move, are a good next step.",
		}, true
	}
	later := Later(*k.Stuck)
	if p, ok := againstHabit(k.First, later); ok {
		return p, true
	}
	why := "Starting one stage later, with a verdict after each move, is a good next step."
	if later == *k.Stuck {
		why = "The same stage again, with a verdict after each move, is a good next step."
	}
	return drill(later, why)
}

// habitDrill is what helps against a habit.
type habitDrill struct {
	habit    practice.Habit
	ending   string       // empty: the one in which it shows
	from     ending.Stage // empty: the stage in which it shows, or the first of the plan
	kind     string
	defender string
	near     bool // with a number of moves near par
	why      string
}

// habitDrills are data: a habit's drill is added here.
var habitDrills = []habitDrill{
	{practice.Stalemates, "KQK", ending.Mate, ending.Traps, ending.RunsToCorner, false,
		"Stalemate keeps happening. In these starts many moves stalemate, so leaving him a square comes first."},
	{practice.Hanging, "", "", ending.Traps, ending.ChasesMen, false,
		"Men are left hanging. In these starts many moves lose one, so what he attacks comes first."},
	{practice.Checks, "", "", ending.ChecksCost, ending.HoldsOut, false,
		"Many checks change nothing. In these starts there are checks to give, and each of them costs moves."},
	{practice.KingHome, "", "", ending.KingMoves, ending.SeeksCentre, false,
		"The king stays at home. In these starts only a move of the king makes progress."},
	{practice.WrongCorner, "KBNK", ending.Corner, ending.WrongCorner, ending.RunsToCorner, false,
		"The wrong corner holds things up. In these starts he has to be driven from there to the right one."},
	{practice.Shuffling, "", "", ending.AtRandom, ending.HoldsOut, true,
		"Many moves bring mate no nearer. With hardly more moves than are needed, each one must have an aim."},
	{practice.Hurry, "", ending.Mate, ending.AtRandom, ending.HoldsOut, false,
		"The moves go wrong when time is short. The last part is practised without a clock, until it comes quickly."},
}

// noTraps is the one stage in which there are no starts of the kind traps.
var noTraps = Key{"KRRK", ending.Edge}

// first is the drill against what is to be taught first.
func first(k Known) (Proposal, bool) {
	switch {
	case k.First == nil:
		return Proposal{}, false
	case k.First.Shows != "":
		return againstHabit(k.First, Key{k.First.Ending, k.First.Stage})
	case k.First.Habit == "":
		return drill(Key{k.First.Ending, k.First.Stage}, fmt.Sprintf(
			"%s: most is lost in one stage, %s, so practice begins there.", ending.NameOf(k.First.Ending),
			game.Lower(k.First.Stage.Name())))
	}
	return habitOf(*k.First)
}

// againstHabit is the drill against the habit that is to be taught first in an ending, or
// shows in the stage that is, from a stage of it.
func againstHabit(f *First, from Key) (Proposal, bool) {
	if f == nil || f.Ending != from.Ending {
		return Proposal{}, false
	}
	return habitOf(First{Ending: f.Ending, Habit: cmp.Or(f.Habit, f.Shows), Stage: from.Stage})
}

// habitOf is the drill against a habit.
func habitOf(f First) (Proposal, bool) {
	for _, h := range habitDrills {
		if h.habit == f.Habit {
			return h.drill(f)
		}
	}
	return Proposal{}, false
}

// drill is the drill against a habit.
func (h habitDrill) drill(f First) (Proposal, bool) {
	at := Key{h.ending, h.from}
	if at.Ending == "" {
		at.Ending = f.Ending
	}
	plan, ok := ending.PlanOf(at.Ending)
	switch {
	case !ok:
		return Proposal{}, false
	case at.Stage != "":
	case f.Stage != "":
		at.Stage = f.Stage
	default:
		at.Stage = plan.Steps[0].Stage
	}
	if at == noTraps && h.kind == ending.Traps {
		at = Later(at)
	}
	if plan.Index(at.Stage) < 0 {
		at.Stage = plan.Steps[plan.Last()].Stage
	}
	p, ok := drill(at, h.why)
	p.Kind, p.Defender, p.Near = h.kind, h.defender, h.near
	return p, ok
}

// test proposes a test of five for an ending whose stages are all done alone.
func test(k Known) (Proposal, bool) {
	for _, code := range ladder {
		plan, ok := ending.PlanOf(code)
		if !ok || k.count(plan, k.alone) < len(plan.Steps) || k.count(plan, k.tested) == len(plan.Steps) {
			continue
		}
		p, ok := drill(Key{code, plan.Steps[0].Stage},
			plan.Name+": every stage was done alone, so it is time for a test of five games on one day.")
		p.Mode, p.Defender = practice.Test, Tester(code)
		return p, ok
	}
	return Proposal{}, false
}

// work goes on with the first ending that was begun. Endings are taught
// backwards: the last stage that is not done alone comes first.
func work(k Known) (Proposal, bool) {
	for _, code := range ladder {
		plan, ok := ending.PlanOf(code)
		if !ok || k.count(plan, k.begun) == 0 {
			continue
		}
		for i := plan.Last(); i >= 0; i-- {
			if at := (Key{code, plan.Steps[i].Stage}); !k.alone(at) && !k.tested(at) {
				return drill(at, fmt.Sprintf("%s is in progress: the next part to do alone is %s.", plan.Name,
					game.Lower(at.Stage.Name())))
			}
		}
	}
	return Proposal{}, false
}

// placed begins where the starting check has put a newcomer.
func placed(k Known) (Proposal, bool) {
	if k.Placed == nil {
		return Proposal{}, false
	}
	if plan, ok := ending.PlanOf(k.Placed.First.Ending); !ok || k.count(plan, k.begun) > 0 {
		return Proposal{}, false
	}
	return drill(k.Placed.First, k.Placed.Why)
}

// next begins the ending after the last of the ladder that was begun, with its
// last stage.
func next(k Known) (Proposal, bool) {
	from := 0
	for i, code := range ladder {
		if plan, ok := ending.PlanOf(code); ok && k.count(plan, k.begun) > 0 {
			from = i + 1
		}
	}
	if from == len(ladder) {
		return Proposal{}, false
	}
	plan, ok := ending.PlanOf(ladder[from])
	if !ok {
		return Proposal{}, false
	}
	why := plan.Name + " is the next ending, and its finish is learned first."
	if from == 0 {
		why = "Nothing is known yet: " + game.Lower(plan.Name) + " is the first ending, and its finish is learned first."
	}
	return drill(Key{plan.Code, plan.Steps[plan.Last()].Stage}, why)
}

func (k Known) begun(at Key) bool { return k.Marks[at] != NotBegun }

func (k Known) alone(at Key) bool { return k.Marks[at] == Reached || k.Marks[at] == Mastered }

// tested says whether a stage is mastered or waits for its check.
func (k Known) tested(at Key) bool {
	s := k.Mastery[at]
	return s.Mastered != 0 || s.Tested != 0
}

func (k Known) count(plan *ending.Plan, is func(Key) bool) int {
	n := 0
	for _, step := range plan.Steps {
		if is(Key{plan.Code, step.Stage}) {
			n++
		}
	}
	return n
}

// Later is the stage after a stage, or the stage itself where it is the last.
func Later(k Key) Key {
	if plan, ok := ending.PlanOf(k.Ending); ok {
		k.Stage = plan.Steps[min(plan.Index(k.Stage)+1, plan.Last())].Stage
	}
	return k
}
