package practice

import (
	"errors"
	"fmt"
	"time"

	"drover/game/board"
	"drover/game/ending"
)

// Fold applies an act that the log holds. It fails only on a log that was
// tampered with.
func (s State) Fold(a Act) (State, error) {
	due := s.Waiting() // before the act, which may itself end the game
	s.before = s.ply
	s.Acts, s.acts = grow(s.Acts, s.acts, a)
	if s.End == "" {
		s.End = a.End
	}
	switch a.Kind {
	case Move:
		return s.foldMove(a)
	case Back:
		return s.foldBack()
	case Help:
		s.Used |= StepsOf(a.Help)
	case Helped:
		s.Assisted = true
	case Watch:
		s.Lines = append(s.Lines[:len(s.Lines):len(s.Lines)], Line{lineOf(a), a.Who})
	case Unseen:
		s.Lines = s.without(a)
		return s.foldReply(a, due)
	case Hand:
		return s.foldReply(a, due)
	case Resign, Left, Flag, Anew, Stop:
	}
	return s, nil
}

// HelpShown finds a step of help that was shown for the very position on the board.
func (s State) HelpShown(step ending.Help) (Act, bool) {
	for i := len(s.Acts) - 1; i >= 0; i-- {
		switch a := s.Acts[i]; {
		case a.Kind == Help && a.Help == step:
			return a, true
		case a.Kind == Move || a.Kind == Back || a.Reply != "":
			return Act{}, false
		}
	}
	return Act{}, false
}

func (s State) foldMove(a Act) (State, error) {
	m, err := s.Pos.Find(a.Move)
	if err != nil {
		return s, err
	}
	full := FullMove{Act: a, Before: s.Pos, Move: m, Pen: s.leastPen(), nearer: s.nearer()}
	full.nearer.Add(a)
	s.Pos = s.Pos.Play(m)
	full.After = s.Pos
	s.ply++
	if a.Reply != "" {
		r, err := s.Pos.Find(a.Reply)
		if err != nil {
			return s, err
		}
		full.Reply = &r
		s.Pos = s.Pos.Play(r)
		s.ply++
	}
	s.Line, s.line = grow(s.Line, s.line, full)
	s.Gone = (a.Grade == ending.WinGone || a.Grade == ending.DrawGone) && s.End == ""
	return s, nil
}

// foldReply adds a reply that came in an act of its own.
func (s State) foldReply(a Act, due bool) (State, error) {
	if a.Reply == "" {
		return s, nil
	}
	if !due {
		return s, errors.New("a reply comes where none is due")
	}
	r, err := s.Pos.Find(a.Reply)
	if err != nil {
		return s, err
	}
	n := len(s.Line) - 1
	full := s.Line[n]
	full.Reply = &r
	s.Line, s.line = grow(s.Line[:n:n], s.line, full)
	s.Pos = s.Pos.Play(r)
	s.ply++
	return s, nil
}

// Waiting says whether a reply by hand is due.
func (s State) Waiting() bool {
	n := len(s.Line)
	return s.Defender == ending.ByHand && s.End == "" && !s.Gone && n > 0 && s.Line[n-1].Reply == nil
}

func (s State) foldBack() (State, error) {
	n := len(s.Line) - 1
	if n < 0 {
		return s, errors.New("a move is taken back before there was one")
	}
	s.ply--
	if s.Line[n].Reply != nil {
		s.ply--
	}
	s.Line, s.Pos = s.Line[:n:n], s.Line[n].Before
	s.Backed++
	s.Gone = false
	return s, nil
}

// Times counts how often the position on the board has stood there with the
// same side to move and the same rights (FIDE Laws 9.2.3), this time included.
func (s State) Times() int {
	n := 1
	for i := range s.Line {
		if s.Line[i].Before.Same(s.Pos) {
			n++
		}
	}
	return n
}

// nearer is the 'no nearer' count where the line stands.
func (s State) nearer() Nearer {
	if n := len(s.Line); n > 0 {
		return s.Line[n-1].nearer
	}
	return Nearer{}
}

// The methods below complete the last act in its place. They are for whoever has just
// folded it, before anybody else sees the state.

// answer adds the reply to the move that was just made.
func (s *State) answer(r board.Move) {
	act, full := &s.Acts[len(s.Acts)-1], &s.Line[len(s.Line)-1]
	act.Reply, full.Act.Reply, full.Reply = r.UCI(), r.UCI(), &r
	s.Pos = s.Pos.Play(r)
	s.ply++
}

// finish ends the game with the last act; empty: it goes on.
func (s *State) finish(end End) {
	if end == "" {
		return
	}
	act := &s.Acts[len(s.Acts)-1]
	act.End, s.End = end, end
	if act.Kind == Move {
		s.Line[len(s.Line)-1].Act.End, s.Gone = end, false
	}
}

// Stamp gives the last act the time at which the log took it.
func (s *State) Stamp(at time.Time) {
	act := &s.Acts[len(s.Acts)-1]
	if act.At = at; act.Kind == Move {
		s.Line[len(s.Line)-1].Act.At = at
	}
}

// Folded is the state of a game after its acts.
func Folded(set Setup, acts []Act) (State, error) {
	s, err := Begin(set)
	for _, a := range acts {
		if err != nil {
			return s, err
		}
		if s, err = s.Fold(a); err != nil {
			return s, fmt.Errorf("act %d: %w", a.Seq, err)
		}
	}
	return s, err
}
