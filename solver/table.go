package solver

import (
	"runtime"
	"sync"
)

// regions is the number of shut-out regions.
const regions = 3

// regionSquares holds the sets F of the regions 1 to 3: the four centre
// squares, the middle sixteen (c3-f6) and the inner thirty-six (b2-g7).
var regionSquares = [regions + 1]set{1: 0x0000001818000000, 2: 0x00003c3c3c3c0000, 3: 0x007e7e7e7e7e7e00}

// table holds what is known of one ending.
type table struct {
	*layout
	mate *values          // attacker's moves to mate
	par  [regions]*values // attacker's moves that force region 1 to 3; nil if the ending has no plan
}

// build computes a table. smaller[i] is the table of the ending without man i,
// nil if that ending is drawn.
func build(kinds []Kind, smaller [2]*table, withRegions bool) *table {
	start := newStart(newLayout(kinds))
	t := &table{layout: start.layout}
	var work sync.WaitGroup
	workers := runtime.GOMAXPROCS(0)
	if withRegions {
		workers = 1 // the passes run side by side
	}
	work.Go(func() { t.mate = mates(start, smaller, workers).into })
	if withRegions {
		work.Go(func() { t.par = pars(start) })
	}
	work.Wait()
	return t
}

// mates computes the distance to mate of an ending.
func mates(s *start, smaller [2]*table, workers int) *pass {
	p := newPass(s, newValues(s.layout))
	p.workers = workers
	for i := range s.kinds {
		if smaller[i] != nil {
			p.schedule(s, i, smaller[i])
		}
	}
	p.run()
	return p
}

// schedule enters the captures of man i that still lose.
func (p *pass) schedule(s *start, i int, smaller *table) {
	for at, taken := range s.taken {
		king, men := p.squares(at)
		if !taken.has(men[i] & 63) {
			continue
		}
		left := [2]Square{men[1-i], NoSquare}
		if v := smaller.mate.attack[smaller.at(king, left)<<6|int(men[i])]; v > 0 {
			p.blocks[king].due.add(int(v)-1, due{int32(at - king*p.slots), men[i]})
		}
	}
}

// region computes H(F): the squares won with the attacker to move, a word a
// placement. inner may hold a region known to lie within.
func region(s *start, f set, inner []set) []set {
	p := newPass(s, nil)
	p.forbid(f)
	p.grant(inner)
	p.run()
	for i := range p.open {
		p.open[i] = s.open[i] &^ p.open[i]
	}
	return p.open
}

// pars computes the pars of the three regions, innermost first.
func pars(s *start) (par [regions]*values) {
	var work sync.WaitGroup
	var held []set
	for r := regions; r > 0; r-- {
		held = region(s, regionSquares[r], held)
		target := held
		work.Go(func() {
			p := newPass(s, newValues(s.layout))
			p.grant(target)
			p.run()
			par[r-1] = p.into
		})
	}
	work.Wait()
	return par
}
