package solver

// start holds what is true of every placement of an ending before anything is
// known of its wins; see the package comment for open, may and out.
type start struct {
	*layout
	open  []set // free squares out of cover, and unguarded men of the attacker
	may   []set // squares on which the defender can be lost
	taken []set // the unguarded men of the attacker alone
	out   []set // captures and promotions of the defender's man; nil without one
	steps []set // where the defender's man can go; nil without one
	tally []int // legal positions on the whole board, by square of the attacker's king
}

func newStart(l *layout, workers int) *start {
	n := l.placements()
	s := &start{layout: l, open: make([]set, n), may: make([]set, n), taken: make([]set, n)}
	s.tally = make([]int, len(l.kings))
	if l.guarded {
		s.out, s.steps = make([]set, n), make([]set, n)
	}
	share(workers, len(l.kings), s.fill)
	return s
}

// fill does the placements with the attacker's king on one square.
func (s *start) fill(king int) {
	for at := king * s.slots; at < (king+1)*s.slots; at++ {
		s.fillOpen(at)
	}
	for at := king * s.slots; at < (king+1)*s.slots; at++ {
		s.fillMay(at)
	}
}

func (s *start) fillOpen(placement int) {
	king, men := s.squares(placement)
	occupied, ok := s.occupied(king, men)
	if !ok {
		return
	}
	cover := s.cover(king, men, occupied)
	s.taken[placement] = s.ownMen(men) &^ cover
	s.open[placement] = ^occupied&^cover | s.taken[placement]
	if s.guarded {
		s.fillOut(placement, occupied)
	}
}

// cover returns the squares that the attacker's men attack.
func (l *layout) cover(king int, men [2]Square, occupied set) set {
	cover := reach[King][l.kings[king]]
	for i, k := range l.kinds[:l.own()] {
		cover |= Man{k, White, men[i]}.attacks(occupied)
	}
	return cover
}

// ownMen returns the squares of the attacker's men other than its king.
func (l *layout) ownMen(men [2]Square) (s set) {
	for i := range l.own() {
		s |= men[i].bit()
	}
	return s
}

// fillOut finds what the defender's man can do. A capture leaves the attacker a
// lone king, so that it is an escape for good; the defending king must only
// not stand in its way. Promotions are escapes until they are known to lose.
func (s *start) fillOut(placement int, occupied set) {
	king, men := s.squares(placement)
	man := Man{s.kinds[1], Black, men[1]}
	s.steps[placement] = guardSteps(man, occupied)
	if man.attacks(occupied).has(men[0]) {
		s.out[placement] = ^between[men[1]][men[0]]
	}
	if to := queening(man, occupied); to < NoSquare {
		after := occupied ^ man.At.bit() | to.bit()
		s.out[placement] |= ^after &^ s.cover(king, men, after)
	}
}

// guardSteps returns the squares to which the defender's man can go within its
// ending, the defending king not in the way.
func guardSteps(m Man, occupied set) set {
	if m.Kind == Pawn {
		return pawnSteps(m, occupied) &^ rowOne
	}
	return m.attacks(occupied) &^ occupied
}

// queening returns the square on which the man becomes another by its next
// step, NoSquare if none.
func queening(m Man, occupied set) Square {
	if m.Kind == Pawn {
		if last := pawnSteps(m, occupied) & (rowOne | rowEight); last != 0 {
			return last.first()
		}
	}
	return NoSquare
}

// fillMay wants every open of the same row.
func (s *start) fillMay(placement int) {
	king, men := s.squares(placement)
	occupied, ok := s.occupied(king, men)
	if !ok {
		return
	}
	moves := s.open[placement].dilate()
	if s.guarded {
		moves |= s.out[placement] | s.goes(placement, men)
	}
	legal := s.legalDefend(king, men)
	s.tally[king] += s.weight(king) * (legal.count() + s.legal(placement).count())
	s.may[placement] = legal & (moves | s.cover(king, men, occupied))
}

// goes returns the squares of the defending king that leave its man a move.
func (s *start) goes(placement int, men [2]Square) (king set) {
	for to := s.steps[placement]; to != 0; to &= to - 1 {
		q := to.first()
		king |= s.open[placement+int(q)-int(men[1])] &^ between[men[1]][q]
	}
	return king
}

// legalAttack returns the squares on which the defending king may stand with
// the attacker to move.
func (l *layout) legalAttack(king int, men [2]Square) set {
	occupied, ok := l.occupied(king, men)
	if !ok {
		return 0
	}
	return ^(occupied | l.cover(king, men, occupied))
}

// legalDefend returns the squares on which the defending king may stand with
// the defender to move: where its man gives check it must stand between.
func (l *layout) legalDefend(king int, men [2]Square) set {
	occupied, ok := l.occupied(king, men)
	if !ok {
		return 0
	}
	at := l.kings[king]
	squares := ^(occupied | reach[King][at])
	if l.guarded && (Man{l.kinds[1], Black, men[1]}).attacks(occupied).has(at) {
		squares &= between[men[1]][at]
	}
	return squares
}

// legal is legalAttack read off what is known.
func (s *start) legal(placement int) set { return s.open[placement] &^ s.taken[placement] }

// positions is the number of legal positions with either side to move, over all
// placements on 64 squares, like men not told apart.
func (s *start) positions() (n int) {
	for _, c := range s.tally {
		n += c
	}
	return n
}
