package progress

import (
	"math"
	"slices"

	"drover/game/ending"
	"drover/game/practice"
)

// First is the first thing to teach a student: a habit or a stage, of which the cure
// would save most moves.
type First struct {
	Ending string
	Habit  practice.Habit // empty: a stage
	Stage  ending.Stage   // the stage; of a habit the one in which it shows most, empty: no single one
	Shows  practice.Habit // of a stage: the habit that shows in it; empty: none
	Sure   float64        // the share of the best cure's gain that is expected of this one, 0 to 1
	Gain   float64        // own moves that the cure would save in a game
	N, K   int            // of a habit: its chances and how often it struck; of a stage: own moves and bad ones
}

// Same says whether two are the same thing to teach, whatever the evidence.
func (f First) Same(o First) bool {
	return f.Ending == o.Ending && f.Habit == o.Habit && (f.Habit != "" || f.Stage == o.Stage)
}

// The rule: what it takes for granted, and when it speaks.
const (
	priorNothing = 0.25 // the chance that nothing is to be taught; all causes share the rest
	stagesShare  = 0.6  // of the causes' chance; the habits share the rest
	began        = 0.03 // of one cause: the chance that it began at one of the cuts
	ended        = 0.04 // and the chance that it ended there
	fadesIn      = 6    // games without it after which a weakness may have ended
	leastSure    = 0.4
	leastGain    = 1.5 // own moves a game: what costs less is not worth a lesson
	half         = 0.5 // share of a stage's costs that goes to the habit that shows in it, at least
	where        = 0.6 // share of a habit's costs that lies in the stage in which it is said to show
)

// FirstOf says what to teach first from the games of one ending, the oldest first, each
// with one tally per stage; ok is false where nothing stands out.
func FirstOf(code string, games [][]Tally) (f First, ok bool) {
	if len(games) == 0 {
		return f, false
	}
	w := weighing{code: code, games: games, all: Sum(games)}
	w.weigh()
	return w.best()
}

// best takes the cure of which the greatest share of what can be gained is expected.
func (w *weighing) best() (First, bool) {
	sure, gain := make([]float64, len(w.causes)), make([]float64, len(w.causes))
	logs := slices.Clone(w.others)
	for _, s := range w.now {
		logs = append(logs, s.weight)
	}
	all := logSum(logs)
	for _, s := range w.now {
		chance, most := math.Exp(s.weight-all), w.brings(s.cause, s.cause)
		for c := range w.causes {
			if b := w.brings(c, s.cause); most > 0 {
				sure[c] += chance * b / most
				gain[c] += chance * b
			}
		}
	}
	best := slices.Index(sure, slices.Max(sure))
	f := w.say(best)
	f.Sure, f.Gain = sure[best], gain[best]
	return f, f.Sure >= leastSure && f.Gain >= leastGain
}

// say puts the evidence beside a cause.
func (w *weighing) say(i int) First {
	c, f := w.causes[i], First{Ending: w.code}
	if c.stage >= 0 {
		f.Stage, f.N, f.K = stageOf(w.code, c.stage), w.all[c.stage].N, w.all[c.stage].K
		f.Shows = w.shows(i, c.stage)
		return f
	}
	h := habitsOf(w.all)[c.habit]
	f.Habit, f.N, f.K = c.habit, h.N, h.K
	for s, g := range w.gains[i] {
		if all := total(w.gains[i]); all > 0 && g >= where*all {
			f.Stage = stageOf(w.code, s)
		}
	}
	return f
}

// shows is the habit to which most of what a stage costs goes, where it is half or more.
func (w *weighing) shows(stage, s int) practice.Habit {
	most, habit := half*w.gains[stage][s], practice.Habit("")
	for i, c := range w.causes {
		if t := w.all[s].Habits[c.habit]; c.stage < 0 && w.gains[i][s] > most && strikes(c.habit, t) {
			most, habit = w.gains[i][s], c.habit
		}
	}
	return habit
}

// strikes says whether a habit strikes as often as a coach would call a habit.
func strikes(h practice.Habit, t practice.Tally) bool {
	return t.K >= 2 && float64(t.K) >= leastShare[h]*float64(t.N)
}

// stageOf names a stage of an ending's plan.
func stageOf(code string, i int) ending.Stage {
	if plan, ok := ending.PlanOf(code); ok && i <= plan.Last() {
		return plan.Steps[i].Stage
	}
	return ""
}
