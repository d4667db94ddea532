package ending

import (
	"context"

	"drover/game/board"
)

// HoldHint computes a step of help for a position in which the defender is to
// move: his wish, his next step after the firmest move, the moves that hold, the
// firmest of them.
func (j *Judge) HoldHint(ctx context.Context, p board.Position, step Help, seed int64) (Hint, error) {
	h := Hint{Step: step}
	var err error
	switch step {
	case HelpWish:
		h.Wish, err = j.pressWish(ctx, p, seed)
		return h, err
	case HelpMan:
		h.HoldingMoves, err = j.HoldingMoves(ctx, p)
		return h, err
	case HelpCover, HelpMove:
	default:
		return h, nil
	}
	firm, ok, err := j.Firmest(ctx, p, seed)
	if err != nil || !ok {
		return h, err
	}
	if step == HelpMove {
		h.Move = &firm
		return h, nil
	}
	next := p.Play(firm)
	if len(next.Moves()) == 0 {
		return h, nil
	}
	m, err := j.Press(ctx, next, seed)
	h.Next = &m
	return h, err
}

// pressWish is the square that the attacker would go to if the turn passed.
func (j *Judge) pressWish(ctx context.Context, p board.Position, seed int64) (*board.Square, error) {
	passed, ok := p.Pass()
	if !ok || len(passed.Moves()) == 0 {
		return nil, nil
	}
	m, err := j.Press(ctx, passed, seed)
	return &m.To, err
}
