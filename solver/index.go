package solver

// layout numbers the placements of an ending: all men but the defending king.
type layout struct {
	*frame
	kinds   []Kind           // the men other than the kings, one or two
	guarded bool             // the last of them is the defender's
	slots   int              // placements of those men
	slot    *[64 * 64]uint16 // first*64 + second -> slot; with one man the second does not matter
	men     [][2]Square      // slot -> their squares; the second is NoSquare if there is one man

	turned [turns][]uint16 // slot -> slot of the turned board
}

func newLayout(m material) *layout {
	l := &layout{frame: triangle, kinds: m.kinds(), guarded: m.defend != King, slot: new([64 * 64]uint16)}
	if m.pawns() {
		l.frame = half
	}
	if len(l.kinds) == 1 {
		l.numberOne()
	} else {
		l.numberTwo()
	}
	for t := range l.turns {
		l.turned[t] = make([]uint16, l.slots)
		for slot, men := range l.men {
			for i := range l.kinds {
				men[i] = turned[t][men[i]]
			}
			l.turned[t][slot] = uint16(l.at(0, men))
		}
	}
	return l
}

func (l *layout) numberOne() {
	for a := range Square(64) {
		if !mayStand(l.kinds[0], a) {
			continue
		}
		slot := l.append(a, NoSquare)
		for b := range 64 {
			l.slot[int(a)<<6|b] = slot
		}
	}
}

func (l *layout) numberTwo() {
	alike := l.kinds[0] == l.kinds[1] && !l.guarded
	for i := range l.slot {
		a, b := Square(i>>6), Square(i&63)
		switch {
		case !mayStand(l.kinds[0], a) || !mayStand(l.kinds[1], b):
		case !alike || a < b:
			l.slot[i] = l.append(a, b)
		case a > b:
			l.slot[i] = l.slot[int(b)<<6|int(a)]
		}
	}
}

// mayStand reports whether a man of the kind may stand on the square.
func mayStand(k Kind, s Square) bool {
	return k != Pawn || s.rank() > 0 && s.rank() < 7
}

func (l *layout) append(a, b Square) uint16 {
	l.men = append(l.men, [2]Square{a, b})
	l.slots = len(l.men)
	return uint16(l.slots - 1)
}

// own is the number of the attacker's men other than its king.
func (l *layout) own() int {
	if l.guarded {
		return len(l.kinds) - 1
	}
	return len(l.kinds)
}

// placements is the number of words of the ending.
func (l *layout) placements() int { return len(l.kings) * l.slots }

// at returns the placement with the king on a square of the frame.
func (l *layout) at(king int, men [2]Square) int {
	return king*l.slots + int(l.slot[int(men[0]&63)<<6|int(men[1]&63)])
}

// squares is the inverse of at.
func (l *layout) squares(placement int) (king int, men [2]Square) {
	king = placement / l.slots
	return king, l.men[placement-king*l.slots]
}

// word returns the byte index of the first position of a placement whose
// attacker is White, and the squares to which the turn into the frame takes
// the defending king.
func (l *layout) word(king Square, men [2]Square) (base int, board *[64]Square) {
	h := l.home[king&63]
	board = &turned[h.turn&(turns-1)]
	return l.at(int(h.king), [2]Square{board[men[0]&63], board[men[1]&63]}) << 6, board
}

// find returns the byte index of a position whose attacker is White.
func (l *layout) find(king Square, men [2]Square, lone Square) int {
	base, board := l.word(king, men)
	return base | int(board[lone&63])
}

// occupied returns the squares of the men and whether no two stand on one.
func (l *layout) occupied(king int, men [2]Square) (s set, ok bool) {
	s = l.kings[king].bit()
	for i := range l.kinds {
		if s.has(men[i]) {
			return s, false
		}
		s |= men[i].bit()
	}
	return s, true
}
