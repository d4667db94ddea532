package practice

import (
	"context"
	"math"

	"drover/game/board"
	"drover/game/ending"
)

// Result is what a game is worth.
type Result string

// The results of an attacking game, the first that applies.
const (
	NotWon    Result = "not won"
	WonHelped Result = "helped"   // won or held, with help of any kind
	OverPar   Result = "over par" // won alone, in more moves than par and allowance
	Clean     Result = "clean"    // won alone within par and allowance; a hold drill: held alone
	NotHeld   Result = "not held" // a hold drill: the draw went
)

// Good says whether a result is one that was wanted: a game won, or a draw held.
func (r Result) Good() bool { return r != NotWon && r != NotHeld }

// Alone says whether a game was won or held without help.
func (r Result) Alone() bool { return r == Clean || r == OverPar }

// StageResult is one stage of one game, all visits together.
type StageResult struct {
	Stage     ending.Stage
	Moves     int // own moves made in the stage, those taken back too
	Bad       int // of them: cost 2 or more, the win gone, or each fourth without coming nearer
	Par       int // at the first entry
	Slips     int // moves that lost a stage
	Helps     int
	Seconds   int
	Weights   Weights  // those same moves against what was possible
	Habits    Habitual // in those moves
	Completed bool
	Clean     bool // completed unaided, no slip of cost 3, no 'no nearer' of 6, not far over par
}

// Outcome is an ended game as the pages read it.
type Outcome struct {
	Task   Task // whose outcome it is; nil: to win. A hold drill is without par, stages and habits
	End    End
	Result Result
	Failed ending.Stage // the stage in which a game that was not won was lost; empty if none can be named
	Moves  int          // own moves on the line that stands
	Par    int          // of the start
	Stages []StageResult
	Shared bool   // a coach moved the lone king by hand: the game counts for nothing
	With   string // the coach's name
	Loose  bool   // it counts for nothing

	Wording int // for which age its sentences are worded: ending.Eight or Fourteen
}

// Uncounted says whether a game counts for nothing because of how it was played or ended.
func (o Outcome) Uncounted() bool { return o.Shared || o.End == Stopped }

// shared is the outcome of a game that a coach played along: it says how it
// ended, and nothing of the student.
func shared(s State, par int, coach string) Outcome {
	o := Outcome{End: s.End, Moves: len(s.Line), Par: par, Result: WonHelped, Shared: true,
		With: coach}
	if !s.Success() {
		o.Result = NotWon
	}
	return o
}

// pawns says whether the drill is of a pawn ending, in which moves are not
// counted: many winning moves there cost some.
func pawns(s State) bool {
	plan, ok := ending.PlanOf(s.Ending)
	return ok && plan.Pawn
}

// Aided says whether the student had help of any kind.
func (s State) Aided() bool { return s.Assisted || s.Backed > 0 || s.Used != 0 }

// ParOfStart is the fewest moves that reach the drill's target from the start; 0
// where that is not known, in a pawn's drill that ends before the mate.
func ParOfStart(ctx context.Context, j *ending.Judge, s State) (int, error) {
	plan, ok := ending.PlanOf(s.Ending)
	if !ok {
		l, err := j.Look(ctx, s.First)
		return l.MateIn(), err
	}
	if plan.Pawn && s.Target != ending.Mate {
		return 0, nil
	}
	return j.ParOf(ctx, s.First, plan.Index(s.Target))
}

// Nearer counts own moves without a new shortest distance to mate. The count
// and the distance start again after each move of cost 2 or more, which is
// charged already.
type Nearer struct {
	Count int
	best  int
}

// Add takes the next move of the line into account. With a pawn on the board moves
// are judged by result and stage alone, and nothing is counted.
func (n *Nearer) Add(a Act) {
	if a.Stage == ending.Front || a.Stage == ending.Escort {
		*n = Nearer{}
		return
	}
	before := (a.Plies + 1) / 2
	after := before - 1 + a.Cost
	if n.best == 0 {
		n.best = before
	}
	switch {
	case a.Cost >= 2 || a.Grade == ending.WinGone:
		n.Count, n.best = 0, max(after, 1)
	case after < n.best:
		n.Count, n.best = 0, max(after, 1)
	default:
		n.Count++
	}
}

// NoNearer is the count after the last move of the line.
func (s State) NoNearer() int { return s.nearer().Count }

// stages sums the acts stage by stage, in the order of first entry.
func stages(s State) []StageResult {
	t := tally{at: map[ending.Stage]int{}, stuck: map[ending.Stage]int{}, cost: map[ending.Stage]int{},
		took: map[ending.Stage]int{}, early: map[ending.Stage]int{}}
	for _, a := range s.Acts {
		switch a.Kind {
		case Move:
			t.move(a)
		case Help:
			t.help(a)
		case Back:
			t.back()
		case Helped, Resign, Left, Flag, Anew, Stop, Watch, Unseen, Hand:
		}
	}
	for i := range t.rows {
		t.finish(&t.rows[i], s)
	}
	return t.rows
}

type tally struct {
	rows   []StageResult
	at     map[ending.Stage]int // index into rows
	nearer Nearer
	last   ending.Stage
	stuck  map[ending.Stage]int // greatest 'no nearer' count
	cost   map[ending.Stage]int // greatest cost of a move
	took   map[ending.Stage]int // milliseconds
	early  map[ending.Stage]int // help before the first move of a stage
	shown  bool                 // the best man or move was shown before the next move
}

func (t *tally) move(a Act) {
	if a.Stage == "" {
		return
	}
	r := t.row(a)
	t.took[a.Stage] += a.Took
	r.Seconds = (t.took[a.Stage] + 500) / 1000
	if t.shown { // not the student's own: it counts for nothing but the time
		t.shown, t.last = false, a.Stage
		return
	}
	r.Moves++
	if a.Grade == ending.Slip {
		r.Slips++
	}
	t.nearer.Add(a)
	t.stuck[a.Stage] = max(t.stuck[a.Stage], t.nearer.Count)
	t.cost[a.Stage] = max(t.cost[a.Stage], a.Cost)
	if a.Cost >= 2 || a.Grade == ending.WinGone || (t.nearer.Count > 0 && t.nearer.Count%4 == 0) {
		r.Bad++
	}
	t.last = a.Stage
}

// row is the stage's row, made at the first entry with the par of then.
func (t *tally) row(a Act) *StageResult {
	i, ok := t.at[a.Stage]
	if !ok {
		i = len(t.rows)
		t.at[a.Stage] = i
		t.rows = append(t.rows, StageResult{Stage: a.Stage, Par: a.Par})
	}
	return &t.rows[i]
}

// help charges a step of help to the stage that it was for.
func (t *tally) help(a Act) {
	if a.Stage == "" {
		return
	}
	if i, ok := t.at[a.Stage]; ok {
		t.rows[i].Helps++
	} else {
		t.early[a.Stage]++
	}
	t.shown = t.shown || a.Help >= ending.HelpMan
}

// back charges a move taken back to the stage that it was made in.
func (t *tally) back() {
	if i, ok := t.at[t.last]; ok {
		t.rows[i].Helps++
	}
	t.nearer = Nearer{}
}

func (t *tally) finish(r *StageResult, s State) {
	final := order(s, t.last)
	r.Completed = order(s, r.Stage) < final || (s.Success() && r.Stage == t.last)
	r.Helps += t.early[r.Stage]
	if s.Assisted {
		r.Helps++
	}
	r.Clean = r.Completed && r.Helps == 0 && t.cost[r.Stage] < CleanCost && t.stuck[r.Stage] < CleanStuck &&
		r.Moves <= CleanMoves(r.Par)
}

// order is a stage's place in the plan of the drill's ending.
func order(s State, stage ending.Stage) int {
	if plan, ok := ending.PlanOf(s.Ending); ok {
		return plan.Index(stage)
	}
	return 0
}

// failed names the stage that lost the game: where the win went, or, where
// the moves ran out, the stage with the greatest excess over its par.
// A game that was left or stopped, or begun anew, blames none.
func failed(s State, rows []StageResult, ranOut bool) ending.Stage {
	if s.End == Abandoned || s.End == Restarted || s.End == Stopped {
		return ""
	}
	if n := len(s.Line); n > 0 && s.Line[n-1].Act.Grade == ending.WinGone && !ranOut {
		return s.Line[n-1].Act.Stage
	}
	var worst ending.Stage
	most := math.MinInt
	for _, r := range rows {
		if excess := r.Moves - r.Par; excess > most {
			worst, most = r.Stage, excess
		}
	}
	if s.End == Resigned && len(s.Line) > 0 {
		return s.Line[len(s.Line)-1].Act.Stage
	}
	return worst
}

// Points is the result as a PGN has it: White's points, then Black's. A game that ended as its
// drill wanted without an end of the Laws, and one that goes on, has none.
func (s State) Points() string {
	won, lost := "1-0", "0-1"
	if s.Side == board.Black {
		won, lost = lost, won
	}
	switch s.End {
	case Mated:
		if !s.Success() {
			return lost
		}
		return won
	case Stalemate, Dead, Fifty, Fivefold, Threefold, Drawn:
		return "1/2-1/2"
	case Time:
		if !s.task().Defends() { // a lone king cannot mate: FIDE Laws 6.9
			return "1/2-1/2"
		}
		return lost
	case Resigned:
		return lost
	case Reached, OverMoves, HeldOut, LetGo, Abandoned, Restarted, Stopped:
	}
	return "*"
}
