package ending

import (
	"context"

	"drover/game/board"
)

// Answer is one legal move with what it leads to.
type Answer struct {
	Move  board.Move
	After Look
	Grade Grade // of an attacker's move in a position that the attacker wins; else empty
	Cost  int   // attacker moves lost, where there is a grade that keeps the win
}

// Survey says what is true of a position and of each of its legal moves, in the
// order of p.Moves. Grades take the stage from the position alone.
func (j *Judge) Survey(ctx context.Context, p board.Position) (Look, []Answer, error) {
	sp, err := toSolver(p)
	if err != nil {
		return Look{}, nil, err
	}
	now, err := j.look(ctx, sp, p.HalfMoves())
	if err != nil {
		return Look{}, nil, err
	}
	answers := make([]Answer, len(p.Moves()))
	for i, m := range p.Moves() {
		after, err := j.lookAfter(ctx, sp, p, m)
		if err != nil {
			return Look{}, nil, err
		}
		answers[i] = Answer{Move: m, After: after}
		if now.Won() && now.Turn == now.Attacker {
			v := Verdict{Before: now, After: after, Stage: max(now.Stage, 0)}
			v.grade()
			answers[i].Grade = v.Grade
			if v.Grade != WinGone {
				answers[i].Cost = (after.Plies - (now.Plies - 1)) / 2
			}
		}
	}
	return now, answers, nil
}
