package ending

import (
	"context"

	"drover/game/board"
	"drover/solver"
)

// Grade is the judge's word for a move of the attacker.
type Grade string

// The four grades.
const (
	OnCourse Grade = "on course" // the win is kept, cost at most 1
	Detour   Grade = "detour"    // the win is kept, cost 2 or more, no slip
	Slip     Grade = "slip"      // the win is kept, cost 2 or more, and the stage's region is lost by this move
	WinGone  Grade = "win gone"  // the position is no longer won, or not within fifty moves
)

// Verdict is the judgement of one move of the attacker.
type Verdict struct {
	Grade  Grade
	Cost   int // attacker moves lost against the best move, 0 or more; 0 when the win is gone
	Before Look
	After  Look
	Stage  int  // the sticking stage in which the move was made
	Par    int  // par of that stage before the move
	Next   int  // the sticking stage after the move
	Back   bool // whether the move lost a stage
	Fifty  bool // whether only the fifty-move rule takes the win away
}

// Judge grades a move made from p in the sticking stage given. The attacker
// must be to move and the position won; a stage that the plan does not have
// is taken from the position alone.
func (j *Judge) Judge(ctx context.Context, p board.Position, m board.Move, stage int) (Verdict, error) {
	sp, err := toSolver(p)
	if err != nil {
		return Verdict{}, err
	}
	before, err := j.look(ctx, sp, p.HalfMoves())
	if err != nil {
		return Verdict{}, err
	}
	after, err := j.lookAfter(ctx, sp, p, m)
	if err != nil {
		return Verdict{}, err
	}
	v := Verdict{Before: before, After: after, Stage: Stick(before, stage)}
	if before.Plan != nil && before.Won() {
		if v.Par, err = j.par(ctx, sp, before, v.Stage); err != nil {
			return Verdict{}, err
		}
	}
	v.grade()
	return v, nil
}

func (v *Verdict) grade() {
	v.Next = v.Stage
	lost := !v.After.Won() || v.After.Attacker != v.Before.Attacker
	v.Fifty = !lost && v.After.UnderFifty() == solver.Draw
	if lost || v.Fifty {
		v.Grade = WinGone
		return
	}
	v.Cost = (v.After.Plies - (v.Before.Plies - 1)) / 2
	v.Grade = OnCourse
	if v.Before.Plan != nil && v.Before.Plan.Pawn {
		v.gradePawn()
		return
	}
	if v.Cost < 2 {
		return
	}
	v.Grade = Detour
	if v.Before.Plan == nil || v.After.Plan != v.Before.Plan {
		return
	}
	plan := v.Before.Plan
	if plan.entered(v.Stage, v.After.ShutOut) {
		return
	}
	if plan.entered(v.Stage, v.Before.ShutOut) {
		v.Grade = Slip
	}
	v.Next = plan.raw(v.After.ShutOut)
	v.Back = v.Next < v.Stage
}

// gradePawn: in a pawn ending many winning moves cost two or more, so a move that
// keeps the win is on course; the stage is lost where the king lets the front go
// by a move that costs as much. (Best play may let it go for a move.)
func (v *Verdict) gradePawn() {
	dear := v.Cost >= 2
	v.Cost = 0
	if v.After.Plan != v.Before.Plan {
		return
	}
	if v.Next = max(v.After.Stage, v.Stage); dear {
		v.Next = max(v.After.Stage, 0)
	}
	v.Back = v.Next < v.Stage
}

// Stick is the sticking stage of a position with the attacker to move that
// was in the given stage before: it only goes up here. (It goes back in Judge,
// by an own move of cost 2 or more that ends outside the stage's region.)
func Stick(l Look, stage int) int {
	if l.Plan == nil || stage > l.Plan.Last() {
		return max(l.Stage, 0)
	}
	return max(l.Stage, stage, 0)
}

// Option is a legal move with what it leads to.
type Option struct {
	Move  board.Move
	After solver.Value // for the other side, which is to move then
}

// Wins says whether the move wins for the side that makes it.
func (o Option) Wins() bool { return o.After.Outcome == solver.Loss }

// Options values every legal move of a position, in the order of p.Moves.
func (j *Judge) Options(ctx context.Context, p board.Position) ([]Option, error) {
	sp, err := toSolver(p)
	if err != nil {
		return nil, err
	}
	options := make([]Option, len(p.Moves()))
	for i, m := range p.Moves() {
		v, err := j.value(ctx, sp.Play(toSolverMove(m)))
		if err != nil {
			return nil, err
		}
		options[i] = Option{Move: m, After: v}
	}
	return options, nil
}

// Best finds the attacker's quickest winning move; ok is false if none wins.
func (j *Judge) Best(ctx context.Context, p board.Position) (best Option, ok bool, err error) {
	options, err := j.Options(ctx, p)
	if err != nil {
		return Option{}, false, err
	}
	for _, o := range options {
		if o.Wins() && (!ok || o.After.Plies < best.After.Plies) {
			best, ok = o, true
		}
	}
	return best, ok, nil
}
