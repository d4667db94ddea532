package solver

import (
	"runtime"
	"sync"
	"time"
)

// regions is the number of shut-out regions.
const regions = 3

// regionSquares holds the sets F of the regions 1 to 3: the four centre
// squares, the middle sixteen (c3-f6) and the inner thirty-six (b2-g7).
var regionSquares = [regions + 1]set{1: 0x0000001818000000, 2: 0x00003c3c3c3c0000, 3: 0x007e7e7e7e7e7e00}

// table holds the wins of one side of an ending.
type table struct {
	*layout
	mate    *values          // attacker's moves to mate; nil if it never wins
	par     [regions]*values // attacker's moves that force region 1 to 3; nil if the ending has no plan
	longest int              // the longest win in attacker's moves, with the attacker to move
	took    time.Duration    // of the build
	legal   int              // legal positions, see start.positions
}

// build computes a table. find returns the tables of the endings that lead on,
// nil where the attacker cannot win.
func build(m material, find func(material) *table, withRegions bool) *table {
	begun := time.Now()
	workers := runtime.GOMAXPROCS(0)
	start := newStart(newLayout(m), workers)
	t := &table{layout: start.layout, legal: start.positions()}
	if withRegions {
		workers = 1 // the passes run side by side
	}
	var work sync.WaitGroup
	work.Go(func() {
		p := mates(m, start, find, workers)
		t.mate, t.longest = p.into, p.last
	})
	if withRegions {
		work.Go(func() { t.par = pars(start) })
	}
	work.Wait()
	if t.longest == 0 {
		t.mate = nil
	}
	t.took = time.Since(begun)
	return t
}

// mates computes the distance to mate of an ending.
func mates(m material, s *start, find func(material) *table, workers int) *pass {
	p := newPass(s, newValues(s.layout))
	p.workers = workers
	(&converter{m, find}).prepare(p, s)
	p.run()
	return p
}

// bytes is the memory that the table keeps.
func (t *table) bytes() (n int64) {
	for _, v := range append([]*values{t.mate}, t.par[:]...) {
		if v != nil {
			n += int64(len(v.attack) + len(v.defend))
		}
	}
	return n
}

// region computes H(F): the squares won with the attacker to move, one word
// per placement. inner may hold a region known to lie within.
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
