package practice

import (
	"context"
	"fmt"

	"drover/game"
	"drover/game/ending"
)

// HeldMoves is how many moves a hold drill asks for where it does not say.
const HeldMoves = 10

// Wanted is the number of moves to be held in a hold drill.
func (s Setup) Wanted() int {
	if s.Budget > 0 {
		return s.Budget
	}
	return HeldMoves
}

// holdMove is the act of a move that defends a draw, with the attacker's answer.
func holdMove(ctx context.Context, j *ending.Judge, s State, c Command, a Act) (Act, error) {
	m, err := s.Pos.Find(c.Move)
	if err != nil {
		return a, Refuse(Illegal, game.Saying(err))
	}
	v, err := j.JudgeHold(ctx, s.Pos, m)
	if err != nil {
		return a, fmt.Errorf("judge: %w", err)
	}
	a.Move, a.Grade, a.Stage, a.Took = m.UCI(), v.Grade, ending.Holding, counted(s, c)
	next, err := s.Fold(a)
	if err != nil {
		return a, err
	}
	if a.End = next.holdEnding(); a.End == "" {
		a, err = pressed(ctx, j, s, next, a)
	}
	if err == nil && a.End == "" && a.Grade == ending.DrawGone && s.Mode == Test {
		if a.End = LetGo; len(next.Pos.Moves()) == 0 {
			a.End = Mated
		}
	}
	return a, err
}

// PressSeed is the seed of the attacker's next answer: it changes with each move,
// so that he does not try the same again where something else is as good.
func (s State) PressSeed() int64 { return s.Seed + int64(len(s.Line)) }

// pressed adds the attacker's answer and what it ends.
func pressed(ctx context.Context, j *ending.Judge, s, next State, a Act) (Act, error) {
	r, err := j.Press(ctx, next.Pos, s.PressSeed())
	if err != nil {
		return a, fmt.Errorf("answer: %w", err)
	}
	a.Reply = r.UCI()
	if next, err = s.Fold(a); err != nil {
		return a, err
	}
	a.End = next.holdEnding()
	return a, nil
}

// holdEnding is the end that the board makes in a hold drill. Where the draw is
// gone there is none but in Apply, since the student may take the move back.
func (s State) holdEnding() End {
	n := len(s.Line)
	switch {
	case s.Gone:
		return ""
	case s.Pos.Checkmate():
		return Mated
	case s.Pos.Stalemate():
		return Stalemate
	case s.Pos.Dead():
		return Dead
	case s.Times() >= 5:
		return Fivefold
	case s.Pos.HalfMoves() >= 100:
		return Fifty
	case n >= s.Wanted() && s.Line[n-1].Reply != nil:
		return HeldOut
	}
	return ""
}

// holdSummary is the outcome of a hold drill: stages and habits are of attacking
// games alone.
func holdSummary(s State) Outcome {
	o := Outcome{Hold: true, End: s.End, Moves: len(s.Line), Result: Clean, Habits: map[Habit]Tally{}}
	switch {
	case !s.Success():
		o.Result = NotHeld
	case s.Aided():
		o.Result = WonHelped
	}
	return o
}

// HoldVerdict judges a turn of a hold drill again: reasons are recomputed, never
// stored.
func HoldVerdict(ctx context.Context, j *ending.Judge, t Turn) (ending.HoldSituation, error) {
	v, err := j.JudgeHold(ctx, t.Before, t.Move)
	return ending.HoldSituation{Before: t.Before, Move: t.Move, Verdict: v, Reply: t.Reply}, err
}

// Why puts the reasons for the verdict on a turn into words for an age.
func (s State) Why(ctx context.Context, j *ending.Judge, t Turn, age int) ([]string, error) {
	if s.Hold {
		situation, err := HoldVerdict(ctx, j, t)
		if err != nil {
			return nil, err
		}
		facts, err := j.HoldFacts(ctx, situation)
		return facts.For(age), err
	}
	situation, err := s.Verdict(ctx, j, t)
	if err != nil {
		return nil, err
	}
	facts, err := j.Facts(ctx, situation)
	return facts.For(age), err
}
