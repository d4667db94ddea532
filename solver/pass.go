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

// newPass prepares a pass that records its layers in into unless that is nil.
func newPass(s *start, into *values) *pass {
	p := &pass{layout: s.layout, into: into, workers: 1, blocks: make([]block, len(s.kings))}
	p.open = append([]set(nil), s.open...)
	p.may = append([]set(nil), s.may...)
	n := s.slots
	lost, won := make([]set, len(p.open)), make([]set, len(p.open))
	for k := range p.blocks {
		from, to := k*n, (k+1)*n
		p.blocks[k] = block{
			layout: s.layout, king: k, at: s.kings[k],
			open: p.open[from:to], may: p.may[from:to], lost: lost[from:to], won: won[from:to],
			front: make([]int32, 0, n), touched: make([]int32, 0, n),
			into: into.part(k, n),
		}
		if s.guarded {
			p.blocks[k].guard = newGuard(s, k)
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
	share(p.workers, len(p.blocks), func(i int) { f(&p.blocks[i]) })
}

// share calls f for 0 to n-1, so many at a time.
func share(workers, n int, f func(int)) {
	if workers == 1 {
		for i := range n {
			f(i)
		}
		return
	}
	var work sync.WaitGroup
	var next atomic.Int32
	for range workers {
		work.Go(func() {
			for i := next.Add(1) - 1; int(i) < n; i = next.Add(1) - 1 {
				f(int(i))
			}
		})
	}
	work.Wait()
}

// pushInto brings to a block what was newly lost after a move out of it: by
// another man, within the block, or by the king, into a neighbouring one.
func (p *pass) pushInto(b *block) {
	b.pushMen()
	for _, s := range b.steps[b.king] {
		b.pushKing(&p.blocks[s.king], s.turn)
	}
}
