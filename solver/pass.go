package solver

import (
	"sync"
	"sync/atomic"
)

// pass is one backward analysis of an ending; see the package comment. The
// placements that share the square of the attacker's king are a block. A worker
// has a block to itself and writes nowhere else, so the phases of a layer need
// no locks: first every block takes in what was newly lost, its own and its
// neighbours', then every block finds what is lost next.
type pass struct {
	*layout
	open    []set // as in start, less what is won by now; block after block
	may     []set // as in start, less what is lost by now
	blocks  []block
	into    *values // where the layers are recorded; may be nil
	last    int     // the last layer in which something was won
	workers int     // blocks done at a time
}

// block is the part of a pass with the attacker's king on one square. A block
// of 4,096 placements and its four arrays take 128 KB: they stay in the cache
// of a core.
type block struct {
	*layout
	king      int
	open, may []set
	lost      []set    // newly lost on the placements of front
	won       []set    // newly won, empty between layers
	front     []int32  // slots with newly lost squares
	touched   []int32  // slots whose open has changed in this layer
	due       schedule // captures that become won at a layer
	into      *values  // the block's part of the record, nil if none is kept
	gained    bool     // something was won in this layer
}

// values holds for each position, attacker or defender to move, 0 or the layer
// at which it was won or lost plus one; indexed placement*64 + square of the
// defending king.
type values struct{ attack, defend []uint8 }

func newValues(l *layout) *values {
	n := l.placements() * 64
	return &values{make([]uint8, n), make([]uint8, n)}
}

// part returns the record of one block.
func (v *values) part(king, slots int) *values {
	if v == nil {
		return nil
	}
	from, to := king*slots<<6, (king+1)*slots<<6
	return &values{v.attack[from:to], v.defend[from:to]}
}

// schedule lists by layer the captures that the attacker's win in the smaller
// ending makes useless.
type schedule [][]due

type due struct {
	slot   int32
	square Square
}

func (s *schedule) add(layer int, d due) {
	for len(*s) <= layer {
		*s = append(*s, nil)
	}
	(*s)[layer] = append((*s)[layer], d)
}

// newPass prepares a pass that records its layers in into unless that is nil.
func newPass(s *start, into *values) *pass {
	p := &pass{layout: s.layout, into: into, workers: 1, blocks: make([]block, len(corner))}
	p.open = append([]set(nil), s.open...)
	p.may = append([]set(nil), s.may...)
	n := s.slots
	lost, won := make([]set, len(p.open)), make([]set, len(p.open))
	for k := range p.blocks {
		from, to := k*n, (k+1)*n
		p.blocks[k] = block{
			layout: s.layout, king: k,
			open: p.open[from:to], may: p.may[from:to], lost: lost[from:to], won: won[from:to],
			front: make([]int32, 0, n), touched: make([]int32, 0, n),
			into: into.part(k, n),
		}
	}
	return p
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
	p.each(func(b *block) { b.settleAll() })
	for layer := 1; p.busy(layer); layer++ {
		p.each(func(b *block) { p.pushInto(b) })
		p.each(func(b *block) { b.close(layer) })
		for i := range p.blocks {
			if p.blocks[i].gained {
				p.last = layer
			}
		}
	}
}

// busy reports whether a layer can still bring something.
func (p *pass) busy(layer int) bool {
	for i := range p.blocks {
		if len(p.blocks[i].front) > 0 || layer < len(p.blocks[i].due) {
			return true
		}
	}
	return false
}

// each calls f for every block, several at a time.
func (p *pass) each(f func(*block)) {
	if p.workers == 1 {
		for i := range p.blocks {
			f(&p.blocks[i])
		}
		return
	}
	var work sync.WaitGroup
	var next atomic.Int32
	for range p.workers {
		work.Go(func() {
			for i := next.Add(1) - 1; int(i) < len(p.blocks); i = next.Add(1) - 1 {
				f(&p.blocks[i])
			}
		})
	}
	work.Wait()
}

// pushInto brings to a block what was newly lost after a move out of it: by
// another man, within the block, or by the king, into a neighbouring one.
func (p *pass) pushInto(b *block) {
	b.pushMen()
	for _, s := range kingSteps[b.king] {
		b.pushKing(&p.blocks[s.king], s.turn)
	}
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

// pushMen undoes the moves of the other men.
func (b *block) pushMen() {
	for _, slot := range b.front {
		men := b.men[slot]
		occupied, _ := b.occupied(b.king, men)
		if len(b.kinds) == 1 {
			b.pushMan(b.kinds[0], men[0], 0, 0, occupied, b.lost[slot])
			continue
		}
		b.pushMan(b.kinds[0], men[0], int(men[1]), 6, occupied, b.lost[slot])
		b.pushMan(b.kinds[1], men[1], int(men[0])<<6, 0, occupied, b.lost[slot])
	}
}

// pushMan undoes each move of one man. Its square enters the key of a slot
// after the shift, beside the rest. The squares that it crosses need no mask: a
// king there stood in check before the move, so they are not open. Its start
// does: it may be open as a man to take.
func (b *block) pushMan(k Kind, to Square, rest, shift int, occupied, lost set) {
	for from := attacks(k, to, occupied) &^ occupied; from != 0; from &= from - 1 {
		a := from.first()
		b.win(int32(b.slot[int(a)<<shift|rest]), lost&^a.bit())
	}
}

// win marks the squares as won with the attacker to move. A slot that is no
// placement, two men on one square, has no open squares.
func (b *block) win(slot int32, squares set) {
	squares &= b.open[slot]
	if squares == 0 {
		return
	}
	b.open[slot] ^= squares
	if b.won[slot] == 0 {
		b.touched = append(b.touched, slot)
	}
	b.won[slot] |= squares
}

// close ends a layer: captures that are won by now are no escapes any more,
// wins are recorded, and what is lost now becomes the front.
func (b *block) close(layer int) {
	if layer < len(b.due) {
		for _, d := range b.due[layer] {
			b.open[d.slot] &^= d.square.bit()
			if b.won[d.slot] == 0 {
				b.touched = append(b.touched, d.slot)
			}
		}
	}
	b.gained = false
	b.front = b.front[:0]
	for _, slot := range b.touched {
		if won := b.won[slot]; won != 0 {
			b.gained = true
			b.won[slot] = 0
			if b.into != nil {
				record(b.into.attack, slot, won, layer)
			}
		}
		b.settle(slot, layer)
	}
	b.touched = b.touched[:0]
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
