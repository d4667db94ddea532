package practice

import (
	"context"
	"fmt"
	"time"

	"drover/game"
	"drover/game/ending"
)

// patience is how long a student waits for a reply by hand before the page may
// go on without: a coach's line can be cut unseen.
const patience = 60 * time.Second

// coaching says whether an act is a coach's own.
func coaching(k Kind) bool { return k == Watch || k == Unseen || k == Hand }

// byHand is the reply that a coach makes, or that comes of itself when the last
// coach has gone and one is due.
func byHand(ctx context.Context, j *ending.Judge, s State, c Command, a Act) (Act, error) {
	switch {
	case c.Do == Unseen && !c.Coach && (!s.Waiting() || c.At.Sub(s.Acts[len(s.Acts)-1].At) < patience):
		return a, Refuse(NotTurn, "Your coach makes his move. It comes in a moment.")
	case c.Do == Unseen && (!s.Waiting() || c.Coach && s.Watchers > 1):
		return a, nil
	case !s.Waiting():
		return a, Refuse(NotTurn, "It is the student's move.")
	}
	text := c.Move
	if c.Do == Unseen {
		r, err := j.Reply(ctx, s.Pos, s.Defender, s.Seed)
		if err != nil {
			return a, fmt.Errorf("reply: %w", err)
		}
		text = r.UCI()
	}
	m, err := s.Pos.Find(text)
	if err != nil {
		return a, Refuse(Illegal, game.Saying(err))
	}
	a.Reply = m.UCI()
	next, err := s.Fold(a)
	if err != nil {
		return a, err
	}
	return replied(ctx, j, next, a)
}
