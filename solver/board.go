package solver

// start holds what is true of every placement of an ending before anything is
// known of its wins; see the package comment for open and may.
type start struct {
	*layout
	open  []set // free squares out of cover, and unguarded men
	may   []set // squares on which the defender can be lost
	taken []set // the unguarded men alone
}

func newStart(l *layout) *start {
	n := l.placements()
	s := &start{layout: l, open: make([]set, n), may: make([]set, n), taken: make([]set, n)}
	for i := range n {
		s.fill(i)
	}
	return s
}

func (s *start) fill(placement int) {
	king, men := s.squares(placement)
	occupied, ok := s.occupied(king, men)
	if !ok {
		return
	}
	beside := reach[King][corner[king]]
	cover := beside
	for i, k := range s.kinds {
		cover |= attacks(k, men[i], occupied)
	}
	open := ^occupied &^ cover
	taken := (occupied &^ corner[king].bit()) &^ cover
	s.taken[placement] = taken
	s.open[placement] = open | taken
	s.may[placement] = ^(occupied | beside) & ((open | taken).dilate() | cover)
}

// legal returns the squares on which the lone king may stand with the attacker
// to move.
func (s *start) legal(placement int) set { return s.open[placement] &^ s.taken[placement] }
