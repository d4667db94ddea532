package practice

import (
	"context"
	"fmt"

	"drover/game/ending"
)

// Standing is where a game stands: in the plan of the ending on the board, by
// which moves are judged, and in the drill's own plan, which the pages show. The
// two differ after a promotion or a lost man.
type Standing struct {
	Look  ending.Look
	Inner int          // the sticking stage, as an index into the plan of the ending on the board
	Stage ending.Stage // the stage of the drill's own plan; empty where no plan fits
	Par   int          // fewest moves that complete that stage from here
}

// Now finds where a game stands, with the student to move or with a reply by
// hand awaited.
func Now(ctx context.Context, j *ending.Judge, s State) (Standing, error) {
	l, err := j.Look(ctx, s.Pos)
	if err != nil {
		return Standing{}, fmt.Errorf("look: %w", err)
	}
	n := Standing{Look: l, Inner: ending.Stick(l, 0)}
	if len(s.Line) > 0 {
		v, err := s.judged(ctx, j, s.Line[len(s.Line)-1])
		if err != nil {
			return n, fmt.Errorf("stage: %w", err)
		}
		if v.Before.Plan == l.Plan {
			n.Inner = ending.Stick(l, v.Next)
		}
	}
	if l.Plan == nil || !l.Won() {
		return n, nil
	}
	n.Stage = s.ownStage(l.Plan, n.Inner)
	if n.Stage != l.Plan.Steps[n.Inner].Stage { // it stands for all that is left
		n.Par = l.MateIn()
		return n, nil
	}
	n.Par, err = j.ParOf(ctx, s.Pos, n.Inner)
	return n, err
}

// ownStage names a stage of some plan by the drill's own: under the plan of a
// smaller ending, reached by a promotion or a lost man, a stage of the same name,
// else the last one, which then stands for all that is left.
func (s State) ownStage(plan *ending.Plan, stage int) ending.Stage {
	name := plan.Steps[stage].Stage
	if own, ok := ending.PlanOf(s.Ending); ok && own.Index(name) < 0 {
		return own.Steps[own.Last()].Stage
	}
	return name
}

// judged judges a move again in the stage in which it was made.
func (s State) judged(ctx context.Context, j *ending.Judge, t FullMove) (ending.Verdict, error) {
	l, err := j.Look(ctx, t.Before)
	if err != nil {
		return ending.Verdict{}, err
	}
	return j.Judge(ctx, t.Before, t.Move, s.inner(l.Plan, t.Act.Stage))
}

// inner is the stage of an act as an index into the plan of the ending that was
// on the board; -1, so that the position alone decides, where the drill's last
// stage stands for all of a smaller ending.
func (s State) inner(plan *ending.Plan, stage ending.Stage) int {
	if plan == nil {
		return 0
	}
	if own, ok := ending.PlanOf(s.Ending); ok && own != plan && stage == own.Steps[own.Last()].Stage {
		return -1
	}
	return plan.Index(stage)
}

// Verdict judges a move again: reasons are recomputed, never stored.
func (s State) Verdict(ctx context.Context, j *ending.Judge, t FullMove) (ending.Situation, error) {
	v, err := s.judged(ctx, j, t)
	return ending.Situation{Before: t.Before, Move: t.Move, Verdict: v, Reply: t.Reply, Pen: t.Pen}, err
}

// Lost says whether a move that was judged gave back a stage of the drill's own
// plan.
func (s State) Lost(v ending.Verdict) bool {
	if !v.Back || v.Before.Plan == nil {
		return false
	}
	return order(s, s.ownStage(v.Before.Plan, v.Next)) < order(s, s.ownStage(v.Before.Plan, v.Stage))
}

// ShownPar is the par of a stage as a page says it, 0 for nothing: with a pawn on
// the board par counts the moves to mate, which is not what the stage asks for.
func ShownPar(stage ending.Stage, par int) int {
	if stage == ending.Front || stage == ending.Escort {
		return 0
	}
	return par
}
