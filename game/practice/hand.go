package practice

import (
	"context"
	"fmt"
	"slices"
	"time"

	"drover/game"
	"drover/game/ending"
)

// patience is how long a student waits for a reply by hand before the page may
// go on without: a coach's line can be cut unseen.
const patience = 60 * time.Second

// coaching says whether an act is a coach's own.
func coaching(k Kind) bool { return k == Watch || k == Unseen || k == Hand }

// Line is a coach's look at a game: it begins with a Watch act and ends with the
// Unseen act of the same id, whoever writes that.
type Line struct {
	ID  string
	Who string // the coach's name
}

// The client's ids of the acts with which a line begins and ends are its own id
// after a letter.
const (
	lineBegins = "w"
	lineEnds   = "u"
)

// Begins and Ends are the client's ids of the acts of a line.
func (l Line) Begins() string { return lineBegins + l.ID }

// Ends is the id of the act with which the line ends.
func (l Line) Ends() string { return lineEnds + l.ID }

// lineOf is the line that an act of a coach begins or ends; empty in the log of an
// older version.
func lineOf(a Act) string {
	if a.Client == "" {
		return ""
	}
	return a.Client[1:]
}

// without is the coaches who still watch after an Unseen act. The student's own
// asks for a reply alone, and ends nobody's look.
func (s State) without(a Act) []Line {
	if a.By == s.Student {
		return s.Lines
	}
	for i, l := range s.Lines {
		if l.ID == lineOf(a) {
			return slices.Delete(slices.Clone(s.Lines), i, i+1)
		}
	}
	return s.Lines
}

// byHand is the reply that a coach makes, or that comes of itself when the last
// coach has gone and one is due.
func byHand(ctx context.Context, j *ending.Judge, s State, c Command, a Act) (Act, error) {
	switch {
	case c.Do == Unseen && !c.Coach && (!s.Waiting() || c.At.Sub(s.Acts[len(s.Acts)-1].At) < patience):
		return a, Refuse(NotTurn, "Your coach makes his move. It comes in a moment.")
	case c.Do == Unseen && (!s.Waiting() || c.Coach && len(s.without(a)) > 0):
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
	return a, nil
}
