package solver

// frame is the set of squares to which the attacker's king is brought by
// turning the board. Without pawns every turn is allowed and the king goes into
// the triangle a1-d1-d4; pawns leave only the mirror of the files, and the
// king goes to the files a to d.
type frame struct {
	kings []Square
	turns int          // turns 0 to turns-1 are allowed
	home  [64]home     // the turn that brings each square of the king in
	steps [][]kingStep // the king's steps from each square of kings
}

// home is a turn and the number in kings of the square to which it brings the
// king.
type home struct {
	turn turn
	king uint8
}

// kingStep is a step of the attacker's king to square number king of the
// frame; turn takes the board after it back to the board before it.
type kingStep struct {
	king int
	turn turn
}

var (
	triangle = newFrame(turns, func(s Square) bool { return s.file() < 4 && s.rank() <= s.file() })
	half     = newFrame(2, func(s Square) bool { return s.file() < 4 })
)

func newFrame(turns int, in func(Square) bool) *frame {
	f := &frame{turns: turns}
	for s := range Square(64) {
		if in(s) {
			f.kings = append(f.kings, s)
		}
	}
	for s := range Square(64) {
		f.home[s] = f.homing(s)
	}
	for _, from := range f.kings {
		var steps []kingStep
		for to := reach[King][from]; to != 0; to &= to - 1 {
			h := f.home[to.first()]
			steps = append(steps, kingStep{int(h.king), h.turn.inverse()})
		}
		f.steps = append(f.steps, steps)
	}
	return f
}

// homing finds the first turn that brings the square into the frame.
func (f *frame) homing(s Square) home {
	for t := range turn(f.turns) {
		for i, k := range f.kings {
			if turned[t][s] == k {
				return home{t, uint8(i)}
			}
		}
	}
	panic("solver: no turn brings a king into its frame")
}

// weight is how many placements on the whole board one placement with the king
// on this square of the frame stands for. Both placements that mirror each
// other on the long diagonal are kept.
func (f *frame) weight(king int) int {
	s := f.kings[king]
	if f.turns == turns && s.file() == s.rank() {
		return turns / 2
	}
	return f.turns
}
