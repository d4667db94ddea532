package solver

// pass is one backward analysis of an ending; see the package comment.
type pass struct {
	*layout
	open []set // as in start, less what is won by now
	may  []set // as in start, less what is lost by now
	lost []set // newly lost, not yet pushed; empty but in the current layer
	won  []set // newly won, not yet recorded; empty between layers

	front   []int32 // placements with newly lost squares
	touched []int32 // placements whose open has changed in this layer

	due  schedule // captures that become won at a layer
	into *values  // where the layers are recorded; may be nil
	last int      // the last layer in which something was won
}

// values holds for each position, attacker or defender to move, 0 or the layer
// at which it was won or lost plus one; indexed placement*64 + square of the
// defending king.
type values struct{ attack, defend []uint8 }

func newValues(l *layout) *values {
	n := l.placements() * 64
	return &values{make([]uint8, n), make([]uint8, n)}
}

// schedule lists by layer the captures that the attacker's win in the smaller
// ending makes useless.
type schedule [][]due

type due struct {
	placement int32
	square    Square
}

func (s *schedule) add(layer int, d due) {
	for len(*s) <= layer {
		*s = append(*s, nil)
	}
	(*s)[layer] = append((*s)[layer], d)
}

func newPass(s *start) *pass {
	n := s.placements()
	return &pass{
		layout: s.layout,
		open:   append([]set(nil), s.open...),
		may:    append([]set(nil), s.may...),
		lost:   make([]set, n), won: make([]set, n),
		front: make([]int32, 0, n), touched: make([]int32, 0, n),
	}
}

// forbid bars the defending king from the squares: standing there it has got
// away.
func (p *pass) forbid(squares set) {
	for i := range p.may {
		p.may[i] &^= squares
	}
}

// grant takes positions with the attacker to move as won at layer 0.
func (p *pass) grant(won []set) {
	for i, w := range won {
		p.open[i] &^= w
		if p.into != nil {
			record(p.into.attack, int32(i), w, 0)
		}
	}
}

// run goes on until nothing changes.
func (p *pass) run() {
	for i := range p.open {
		p.settle(int32(i), 0)
	}
	for layer := 1; len(p.front) > 0 || layer < len(p.due); layer++ {
		p.pushAll()
		p.release(layer)
		p.settleAll(layer)
	}
}

// pushAll carries every newly lost square to the placements before it.
func (p *pass) pushAll() {
	for _, at := range p.front {
		lost := p.lost[at]
		p.lost[at] = 0
		king, men := p.squares(int(at))
		p.pushKing(king, men, lost)
		occupied, _ := p.occupied(king, men)
		for i := range p.kinds {
			p.pushMan(king, men, i, occupied, lost)
		}
	}
	p.front = p.front[:0]
}

// pushMan undoes each move of one man.
func (p *pass) pushMan(king int, men [2]Square, i int, occupied, lost set) {
	to := men[i]
	rest, shift := 0, 0 // the other man's part of the slot's key
	if len(p.kinds) == 2 {
		rest, shift = int(men[1]), 6
		if i == 1 {
			rest, shift = int(men[0])<<6, 0
		}
	}
	crossed := &path[to]
	base := int32(king * p.slots)
	for from := attacks(p.kinds[i], to, occupied) &^ occupied; from != 0; from &= from - 1 {
		a := from.first()
		if x := lost &^ crossed[a]; x != 0 {
			p.win(base+int32(p.slot[(int(a)<<shift|rest)&(len(p.slot)-1)]), x)
		}
	}
}

// pushKing undoes each step of the attacker's king.
func (p *pass) pushKing(king int, men [2]Square, lost set) {
	for _, a := range approaches[king] {
		board := &turned[a.turn]
		before := men
		for i := range p.kinds {
			before[i] = board[men[i]]
		}
		if before[0] == corner[a.king] || before[1] == corner[a.king] {
			continue
		}
		p.win(int32(p.at(a.king, before)), a.turn.set(lost))
	}
}

// win marks the squares as won with the attacker to move.
func (p *pass) win(at int32, squares set) {
	squares &= p.open[at]
	if squares == 0 {
		return
	}
	p.open[at] ^= squares
	if p.won[at] == 0 {
		p.touched = append(p.touched, at)
	}
	p.won[at] |= squares
}

// release closes the captures that are won for the attacker at this layer.
func (p *pass) release(layer int) {
	if layer >= len(p.due) {
		return
	}
	for _, d := range p.due[layer] {
		p.open[d.placement] &^= d.square.bit()
		if p.won[d.placement] == 0 {
			p.touched = append(p.touched, d.placement)
		}
	}
}

func (p *pass) settleAll(layer int) {
	for _, at := range p.touched {
		if won := p.won[at]; won != 0 {
			p.last = layer
			p.won[at] = 0
			if p.into != nil {
				record(p.into.attack, at, won, layer)
			}
		}
		p.settle(at, layer)
	}
	p.touched = p.touched[:0]
}

// settle finds the squares on which the defender is lost from this layer on.
func (p *pass) settle(at int32, layer int) {
	lost := p.may[at]
	if lost == 0 {
		return
	}
	if lost &^= p.open[at].dilate(); lost == 0 {
		return
	}
	p.may[at] ^= lost
	p.lost[at] = lost
	p.front = append(p.front, at)
	if p.into != nil {
		record(p.into.defend, at, lost, layer)
	}
}

// record writes a layer to the bytes of a word's positions.
func record(bytes []uint8, at int32, squares set, layer int) {
	word := bytes[at<<6 : at<<6+64]
	for ; squares != 0; squares &= squares - 1 {
		word[squares.first()&63] = uint8(layer + 1)
	}
}
