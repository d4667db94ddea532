package solver

// corner lists the squares of the attacker's king that are kept: the triangle
// a1-d1-d4.
var corner = [...]Square{0, 1, 2, 3, 9, 10, 11, 18, 19, 27}

// homing holds, for each square of the attacker's king, the turn that brings it
// into the triangle and its number there.
var homing = makeHoming()

type home struct {
	turn turn
	king uint8
}

func makeHoming() (table [64]home) {
	for s := range Square(64) {
		for t := turn(turns); t > 0; t-- {
			for i, c := range corner {
				if turned[t-1][s] == c {
					table[s] = home{t - 1, uint8(i)}
				}
			}
		}
	}
	return table
}

// kingStep is a step of the attacker's king to square number king of the
// triangle; turn takes the board after it back to the board before it.
type kingStep struct {
	king int
	turn turn
}

// kingSteps lists the steps from each square of the triangle.
var kingSteps = makeKingSteps()

func makeKingSteps() (table [len(corner)][]kingStep) {
	for i, from := range corner {
		for to := reach[King][from]; to != 0; to &= to - 1 {
			h := homing[to.first()]
			table[i] = append(table[i], kingStep{int(h.king), h.turn.inverse()})
		}
	}
	return table
}

// layout numbers the placements of an ending: all men but the lone king.
type layout struct {
	kinds []Kind      // the attacker's men other than its king, one or two
	slots int         // placements of those men
	slot  []uint16    // their squares (first*64 + second, or first) -> slot
	men   [][2]Square // slot -> their squares; the second is NoSquare if there is one man

	turned [turns][]uint16 // slot -> slot of the turned board
}

func newLayout(kinds []Kind) *layout {
	l := &layout{kinds: kinds}
	if len(kinds) == 1 {
		l.numberOne()
	} else {
		l.numberTwo()
	}
	for t := range l.turned {
		l.turned[t] = make([]uint16, l.slots)
		for slot, men := range l.men {
			for i := range kinds {
				men[i] = turned[t][men[i]]
			}
			l.turned[t][slot] = uint16(l.at(0, men))
		}
	}
	return l
}

func (l *layout) numberOne() {
	l.slot = make([]uint16, 64)
	for a := range Square(64) {
		l.slot[a] = l.append(a, NoSquare)
	}
}

func (l *layout) numberTwo() {
	l.slot = make([]uint16, 64*64)
	alike := l.kinds[0] == l.kinds[1]
	for i := range l.slot {
		a, b := Square(i>>6), Square(i&63)
		switch {
		case !alike || a < b:
			l.slot[i] = l.append(a, b)
		case a > b:
			l.slot[i] = l.slot[int(b)<<6|int(a)]
		}
	}
}

func (l *layout) append(a, b Square) uint16 {
	l.men = append(l.men, [2]Square{a, b})
	l.slots = len(l.men)
	return uint16(l.slots - 1)
}

// placements is the number of words of the ending.
func (l *layout) placements() int { return len(corner) * l.slots }

// at returns the placement with the king on a square of the triangle.
func (l *layout) at(king int, men [2]Square) int {
	if len(l.kinds) == 1 {
		return king*l.slots + int(l.slot[men[0]])
	}
	return king*l.slots + int(l.slot[int(men[0])<<6|int(men[1])])
}

// squares is the inverse of at.
func (l *layout) squares(placement int) (king int, men [2]Square) {
	king = placement / l.slots
	return king, l.men[placement-king*l.slots]
}

// find returns the byte index of a position whose attacker is White.
func (l *layout) find(king Square, men [2]Square, lone Square) int {
	h := homing[king]
	board := &turned[h.turn]
	for i := range l.kinds {
		men[i] = board[men[i]]
	}
	return l.at(int(h.king), men)<<6 | int(board[lone])
}

// occupied returns the squares of the men and whether no two stand on one.
func (l *layout) occupied(king int, men [2]Square) (s set, ok bool) {
	s = corner[king].bit()
	for i := range l.kinds {
		if s.has(men[i]) {
			return s, false
		}
		s |= men[i].bit()
	}
	return s, true
}
