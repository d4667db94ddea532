package practice

// The clock of a drill counts the student's own thought alone: what the page
// counted, and never more than has passed. A cut line therefore costs nobody
// time. Each own move adds the drill's increment, also one that is taken back, as its
// thought counts too; a move that comes after the time has run out adds nothing, since
// it ends the game.

// Thought is the time of own thought used so far, in milliseconds; moves taken
// back count too.
func (s State) Thought() int {
	n := 0
	for i := range s.Acts {
		n += s.Acts[i].Took
	}
	return n
}

// TimeLeft is what is left on the drill's clock, in milliseconds; 0 where it has
// none.
func (s State) TimeLeft() int {
	if s.Clock == 0 {
		return 0
	}
	return max((s.Clock+s.Increment*s.moves())*1000-s.Thought(), 0)
}

// moves counts the own moves, also those that were taken back.
func (s State) moves() int {
	n := 0
	for i := range s.Acts {
		if s.Acts[i].Kind == Move {
			n++
		}
	}
	return n
}

// overTime is the thought of a command that comes after the clock has run out;
// 0 where it has not.
func (s State) overTime(c Command) int {
	if took := counted(s, c); s.Clock > 0 && took >= s.TimeLeft() {
		return max(took, 1)
	}
	return 0
}

func flag(a Act, took int) Act {
	a.Kind, a.Took = Flag, took
	return a
}

// flagged ends a game whose clock has run out: the page asks, and the server's
// count decides.
func (s State) flagged(c Command, a Act) (Act, error) {
	over := s.overTime(c)
	if over == 0 {
		return a, Refuse(Stale, "There is time left on the clock.")
	}
	return flag(a, over), nil
}
