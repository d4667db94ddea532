package solver

// block is the part of a pass with the attacker's king on one square. A block
// of 4,096 placements and its four arrays take 128 KB: they stay in the cache
// of a core.
type block struct {
	*layout
	king      int    // the king's number in the frame
	at        Square // its square
	open, may []set
	lost      []set    // newly lost on the placements of front
	won       []set    // newly won, empty between layers
	front     []int32  // slots with newly lost squares
	touched   []int32  // slots whose open has changed in this layer
	due       schedule // what other endings bring at a layer
	guard     *guard   // nil unless the defender has a man
	into      *values  // the block's part of the record, nil if none is kept
	gained    bool     // something was won in this layer
}

// schedule lists by layer what captures and promotions bring.
type schedule [][]due

// due is one entry: what becomes of the squares of a slot.
type due struct {
	squares set
	slot    int32
	what    event
}

// event says what an entry of a schedule does.
type event uint8

const (
	takenLoses event = iota // the defending king's capture on the squares loses by now
	converted               // the attacker wins on the squares by a capture or promotion
	outLoses                // the promotion of the defender's man loses by now
	passedWins              // the attacker wins on the squares by taking in passing
)

func (s *schedule) add(layer int, d due) {
	for len(*s) <= layer {
		*s = append(*s, nil)
	}
	(*s)[layer] = append((*s)[layer], d)
}

// pushKing undoes one step of the attacker's king, whose turn brings the board
// of the block after the step back to this block's.
func (b *block) pushKing(after *block, back turn) {
	if back == 0 {
		for _, slot := range after.front {
			b.win(slot, after.lost[slot])
		}
		return
	}
	slots := b.turned[back]
	for _, slot := range after.front {
		b.win(int32(slots[slot]), back.set(after.lost[slot]))
	}
}

// pushMen undoes the moves of the attacker's other men.
func (b *block) pushMen() {
	for _, slot := range b.front {
		men := b.men[slot]
		occupied, _ := b.occupied(b.king, men)
		if len(b.kinds) == 1 {
			b.pushMan(b.kinds[0], men[0], 0, 6, occupied, b.lost[slot])
			continue
		}
		b.pushMan(b.kinds[0], men[0], int(men[1]), 6, occupied, b.lost[slot])
		if !b.guarded {
			b.pushMan(b.kinds[1], men[1], int(men[0])<<6, 0, occupied, b.lost[slot])
		}
	}
}

// pushMan undoes each move of one man. Its square enters the key of a slot
// after the shift, beside the rest. The squares that it crosses need no mask: a
// king there stood in check before the move, so they are not open. Its start
// does: it may be open as a man to take.
func (b *block) pushMan(k Kind, to Square, rest, shift int, occupied, lost set) {
	if k == Pawn {
		b.pushPawn(to, rest, shift, occupied, lost)
		return
	}
	for from := attacks(k, to, occupied) &^ occupied; from != 0; from &= from - 1 {
		a := from.first()
		b.win(int32(b.slot[int(a)<<shift|rest]), lost&^a.bit())
	}
}

// pushPawn undoes the steps of a pawn. A double step beside a pawn of the
// defender wins nothing: that pawn takes it in passing and leaves a lone king.
func (b *block) pushPawn(to Square, rest, shift int, occupied, lost set) {
	from := to - 8
	if from.rank() == 0 || occupied.has(from) {
		return
	}
	b.win(int32(b.slot[int(from)<<shift|rest]), lost&^from.bit())
	if to.rank() != 3 || occupied.has(to-16) {
		return
	}
	if b.guarded && b.kinds[1] == Pawn && beside(to).has(Square(rest)) {
		return
	}
	b.win(int32(b.slot[int(to-16)<<shift|rest]), lost&^(from.bit()|(to-16).bit()))
}

// beside returns the squares to the left and right.
func beside(s Square) set { return (s.bit()&^fileA)>>1 | (s.bit()&^fileH)<<1 }

// win marks the squares as won with the attacker to move. A slot that is no
// placement, two men on one square, has no open squares.
func (b *block) win(slot int32, squares set) {
	squares &= b.open[slot]
	if squares == 0 {
		return
	}
	b.open[slot] ^= squares
	b.touch(slot)
	b.won[slot] |= squares
}

// touch notes that something has changed; call it before won is set.
func (b *block) touch(slot int32) {
	if b.won[slot] == 0 {
		b.touched = append(b.touched, slot)
	}
}

// close ends a layer: what other endings bring is taken in, wins are recorded,
// and what is lost now becomes the front.
func (b *block) close(layer int) {
	if layer < len(b.due) {
		for _, d := range b.due[layer] {
			b.take(d)
		}
		b.due[layer] = nil
	}
	b.gained = false
	b.front = b.front[:0]
	for _, slot := range b.touched {
		b.recordWon(slot, layer)
		if b.guard == nil {
			b.settle(slot, layer)
		} else {
			b.guard.mark(b, slot)
		}
	}
	if b.guard != nil {
		b.guard.settleMarked(b, layer)
	}
	b.touched = b.touched[:0]
}

// take carries out an entry of the schedule.
func (b *block) take(d due) {
	switch d.what {
	case takenLoses:
		b.open[d.slot] &^= d.squares
		b.touch(d.slot)
	case converted:
		b.win(d.slot, d.squares)
	case outLoses:
		b.guard.out[d.slot] &^= d.squares
		b.touch(d.slot)
	case passedWins:
		b.guard.passed[d.slot] |= d.squares
		b.touch(d.slot)
	}
}

func (b *block) recordWon(slot int32, layer int) {
	won := b.won[slot]
	if won == 0 {
		return
	}
	b.gained = true
	b.won[slot] = 0
	if b.into != nil {
		record(b.into.attack, slot, won, layer)
	}
}

// settleAll finds what is lost at layer 0.
func (b *block) settleAll() {
	for slot := range b.may {
		b.settle(int32(slot), 0)
	}
}

// settle finds the squares on which the defender is lost from this layer on.
func (b *block) settle(slot int32, layer int) {
	lost := b.may[slot]
	if lost == 0 {
		return
	}
	if lost &^= b.open[slot].dilate(); lost == 0 {
		return
	}
	if b.guard != nil {
		if lost = b.guard.stuck(b, slot, lost); lost == 0 {
			return
		}
	}
	b.may[slot] ^= lost
	b.lost[slot] = lost
	b.front = append(b.front, slot)
	if b.into != nil {
		record(b.into.defend, slot, lost, layer)
	}
}

// record writes a layer to the bytes of a word's positions.
func record(bytes []uint8, at int32, squares set, layer int) {
	word := bytes[at<<6 : at<<6+64]
	for ; squares != 0; squares &= squares - 1 {
		word[squares.first()&63] = uint8(layer + 1)
	}
}
