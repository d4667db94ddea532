package solver

// guard is what a block knows of the defender's man. Slots that differ only in
// its square follow each other: a row.
type guard struct {
	kind   Kind
	steps  []set // where the man can go from each slot
	out    []set // squares of the king that leave the man a capture, or a promotion not known to lose
	passed []set // squares of the king on which the attacker's pawn wins by taking the man in passing, by now; pawns only
	first  int   // the lowest square of the man
	width  int   // slots of a row
	marked []set // for each row the squares of the man to look at again
	rows   []int32
}

func newGuard(s *start, king int) *guard {
	n := s.slots
	g := &guard{kind: s.kinds[1], first: int(s.men[0][1]), width: 64}
	if g.kind == Pawn {
		g.width = 48
	}
	g.steps = s.steps[king*n : (king+1)*n]
	g.out = append([]set(nil), s.out[king*n:(king+1)*n]...)
	if g.kind == Pawn && s.kinds[0] == Pawn {
		g.passed = make([]set, n)
	}
	g.marked = make([]set, n/g.width)
	return g
}

// stuck returns those of the squares of the king from which the defender's man
// has no move that is not known to lose.
func (g *guard) stuck(b *block, slot int32, lost set) set {
	lost &^= g.out[slot]
	if lost == 0 {
		return 0
	}
	from := b.men[slot][1]
	row := int(slot) - int(from)
	for to := g.steps[slot]; to != 0 && lost != 0; to &= to - 1 {
		q := to.first()
		open := b.open[row+int(q)]
		if g.passed != nil && from-q == 16 {
			open &^= g.passed[row+int(q)]
		}
		lost &^= open &^ between[from][q]
	}
	return lost
}

// mark notes the slots that a change of one slot bears upon: itself and those
// from which the man can come to it.
func (g *guard) mark(b *block, slot int32) {
	r := slot / int32(g.width)
	if g.marked[r] == 0 {
		g.rows = append(g.rows, r)
	}
	q := b.men[slot][1]
	g.marked[r] |= g.sources(b, slot, q) | q.bit()
}

// sources returns the squares from which the man can come to q.
func (g *guard) sources(b *block, slot int32, q Square) set {
	if g.kind != Pawn {
		return g.steps[slot]
	}
	back := q.bit() << 8
	if q.rank() == 4 {
		back |= q.bit() << 16
	}
	return back &^ (rowEight | b.at.bit() | b.men[slot][0].bit())
}

// settleMarked looks at what was marked.
func (g *guard) settleMarked(b *block, layer int) {
	for _, r := range g.rows {
		base := int(r)*g.width - g.first
		for squares := g.marked[r]; squares != 0; squares &= squares - 1 {
			b.settle(int32(base+int(squares.first())), layer)
		}
		g.marked[r] = 0
	}
	g.rows = g.rows[:0]
}
