package solver

import (
	"context"
	"math/rand/v2"
	"testing"
)

// plain is the slow, obvious solver, and so the specification of the fast one:
// one thread, one byte a position over the unreduced index of 64 squares a
// man, moves made square by square. It knows only the lone king as defender, and
// no pawns; see general for the rest.
// A defender's position counts its replies that are not known to lose; each
// newly won position of the attacker takes one off the positions before it.
type plain struct {
	kinds   []Kind  // the attacker's men, king first
	smaller *plain  // the ending with one man less; nil if that is drawn (like men only)
	f       set     // the lone king must not stand here
	shut    bool    // every capture is an escape
	attack  []uint8 // layer + 1 with the attacker to move, 0 = not won, barred = illegal
	defend  []uint8 // layer + 1 with the defender to move, 0 = not lost
	replies []uint8 // replies not known to lose; barred = can never be lost
	due     [][]int // positions whose capture turns out to lose, by layer
	next    []int   // newly lost
	last    int     // the last layer in which something was won
}

const barred = 0xff

// spot is a placement: the attacker's king, its men, the lone king last.
type spot [MaxMen]Square

func newPlain(kinds ...Kind) *plain {
	kinds = append([]Kind{King}, kinds...)
	n := 1 << (6 * (len(kinds) + 1))
	return &plain{kinds: kinds, attack: make([]uint8, n), defend: make([]uint8, n), replies: make([]uint8, n)}
}

func (p *plain) spot(i int) (s spot) {
	for m := len(p.kinds); m >= 0; m-- {
		s[m] = Square(i & 63)
		i >>= 6
	}
	return s
}

func (p *plain) index(s *spot) (i int) {
	for _, q := range s[:len(p.kinds)+1] {
		i = i<<6 | int(q)
	}
	return i
}

// holder returns the man of the attacker on a square, or -1.
func (p *plain) holder(s *spot, q Square) int {
	for m := range p.kinds {
		if s[m] == q {
			return m
		}
	}
	return -1
}

// plainRays lists for each kind and square the squares it comes to, direction by
// direction.
var plainRays = func() (rays [Pawn][64][][]Square) {
	directions := [Pawn][]int{ // differences of squares on a board 16 wide
		King:   {1, -1, 16, -16, 17, 15, -17, -15},
		Queen:  {1, -1, 16, -16, 17, 15, -17, -15},
		Rook:   {1, -1, 16, -16},
		Bishop: {17, 15, -17, -15},
		Knight: {33, 31, 18, 14, -33, -31, -18, -14},
	}
	for k, ds := range directions {
		for q := range 64 {
			for _, d := range ds {
				var ray []Square
				for x := q>>3<<4 + q&7 + d; x&0x88 == 0; x += d {
					ray = append(ray, Square(x>>4<<3|x&7))
					if Kind(k) == King || Kind(k) == Knight {
						break
					}
				}
				if len(ray) > 0 {
					rays[k][q] = append(rays[k][q], ray)
				}
			}
		}
	}
	return rays
}()

// cover marks the squares that the attacker attacks; the lone king does not
// block.
func (p *plain) cover(s *spot) (cover [64]bool) {
	for m, k := range p.kinds {
		for _, ray := range plainRays[k][s[m]] {
			for _, to := range ray {
				cover[to] = true
				if p.holder(s, to) >= 0 {
					break
				}
			}
		}
	}
	return cover
}

// prepare marks the illegal positions of one placement of the attacker's men,
// counts the replies, and finds the mates.
func (p *plain) prepare(s spot) {
	lone := len(p.kinds)
	s[lone] = 0
	base := p.index(&s)
	doubled := false
	for m := range p.kinds {
		doubled = doubled || p.holder(&s, s[m]) != m
	}
	cover := p.cover(&s)
	for q := range Square(64) {
		i := base + int(q)
		if doubled || p.holder(&s, q) >= 0 || p.f.has(q) || reach[King][s[0]].has(q) {
			p.attack[i], p.replies[i] = barred, barred
			continue
		}
		if cover[q] {
			p.attack[i] = barred
		}
		p.count(&s, q, i, &cover)
	}
}

// count counts the replies of the lone king on q.
func (p *plain) count(s *spot, q Square, i int, cover *[64]bool) {
	for _, ray := range plainRays[King][q] {
		to := ray[0]
		if cover[to] {
			continue
		}
		p.replies[i]++
		if taken := p.holder(s, to); taken >= 0 && p.smaller != nil && !p.shut {
			p.take(*s, taken, to, i)
		}
	}
	if p.replies[i] > 0 {
		return
	}
	if cover[q] {
		p.defend[i] = 1
		p.next = append(p.next, i)
	} else {
		p.replies[i] = barred
	}
}

// take notes when a capture turns out to lose.
func (p *plain) take(s spot, taken int, to Square, i int) {
	copy(s[taken:], s[taken+1:])
	s[len(p.kinds)-1] = to
	v := p.smaller.attack[p.smaller.index(&s)]
	if v == 0 || v == barred {
		return
	}
	for len(p.due) < int(v) {
		p.due = append(p.due, nil)
	}
	p.due[v-1] = append(p.due[v-1], i)
}

// undo undoes every move of the attacker that leads to a lost position.
func (p *plain) undo(i, layer int, won []int) []int {
	s := p.spot(i)
	lone := s[len(p.kinds)]
	for m, k := range p.kinds {
		shift := 6 * (len(p.kinds) - m)
		for _, ray := range plainRays[k][s[m]] {
			for _, from := range ray {
				if from == lone || p.holder(&s, from) >= 0 {
					break
				}
				before := i + (int(from)-int(s[m]))<<shift
				if p.attack[before] == 0 {
					p.attack[before] = uint8(layer + 1)
					won = append(won, before)
				}
			}
		}
	}
	return won
}

// drop takes one off the replies of a position.
func (p *plain) drop(i, layer int) {
	if p.replies[i] == barred {
		return
	}
	if p.replies[i]--; p.replies[i] == 0 {
		p.defend[i] = uint8(layer + 1)
		p.next = append(p.next, i)
	}
}

// before drops the move to i from the positions that have it.
func (p *plain) before(i, layer int) {
	for _, ray := range plainRays[King][i&63] {
		p.drop(i&^63|int(ray[0]), layer)
	}
}

// solve runs to the end. Positions already marked in attack count as won at
// layer 0.
func (p *plain) solve() *plain {
	var won []int
	for i, v := range p.attack {
		if v == 1 {
			won = append(won, i)
		}
	}
	for i := 0; i < len(p.attack); i += 64 {
		p.prepare(p.spot(i))
	}
	p.settle(won, 0)
	for layer := 1; len(p.next) > 0 || layer < len(p.due); layer++ {
		lost := p.next
		p.next, won = nil, won[:0]
		for _, i := range lost {
			won = p.undo(i, layer, won)
		}
		if len(won) > 0 {
			p.last = layer
		}
		p.settle(won, layer)
	}
	return p
}

// settle carries what is newly won, and the captures that lose now, to the
// defender's positions.
func (p *plain) settle(won []int, layer int) {
	for _, i := range won {
		p.before(i, layer)
	}
	if layer < len(p.due) {
		for _, i := range p.due[layer] {
			p.drop(i, layer)
		}
	}
}

// inside solves the region H(F) of an ending.
func (p *plain) inside(f set) *plain {
	q := newPlain(p.kinds[1:]...)
	q.f, q.shut = f, true
	return q.solve()
}

// toward solves the pars of a region.
func (p *plain) toward(h *plain) *plain {
	q := newPlain(p.kinds[1:]...)
	q.shut = true
	for i, v := range h.attack {
		if v > 0 && v != barred {
			q.attack[i] = 1
		}
	}
	return q.solve()
}

// won returns a byte of attack, 0 if the position is illegal.
func (p *plain) won(i int) uint8 {
	if p.attack[i] == barred {
		return 0
	}
	return p.attack[i]
}

// compare holds the bytes of a table against the plain solver at a position
// index of the latter.
func (p *plain) compare(t *testing.T, l *layout, v *values, i int) {
	s := p.spot(i)
	at := l.find(s[0], [2]Square{s[1], s[2]}, s[len(p.kinds)])
	if len(p.kinds) > 2 && s[1] == s[2] {
		return // two men on a square have no placement if they are alike
	}
	if v.attack[at] != p.won(i) || v.defend[at] != p.defend[i] {
		t.Fatalf("%v on %v: attack %d, defend %d; plain %d, %d", p.kinds, s, v.attack[at], v.defend[at], p.won(i),
			p.defend[i])
	}
}

// The plain solver agrees on every position of the three-man endings, in
// distances, regions and pars.
func TestPlainThreeMen(t *testing.T) {
	t.Parallel()
	for _, k := range []Kind{Queen, Rook} {
		t.Run(k.String(), func(t *testing.T) {
			t.Parallel()
			table, err := shared().wait(context.Background(), material{attack: [2]Kind{k}})
			if err != nil {
				t.Fatal(err)
			}
			mate := newPlain(k).solve()
			for i := range mate.attack {
				mate.compare(t, table.layout, table.mate, i)
			}
			for r := 1; r <= regions; r++ {
				h := mate.inside(regionSquares[r])
				par := mate.toward(h)
				for i := range par.attack {
					par.compare(t, table.layout, table.par[r-1], i)
					h.compareHeld(t, table, r, i)
				}
			}
		})
	}
}

// compareHeld holds a region with either side to move against the plain one.
func (p *plain) compareHeld(t *testing.T, table *table, r, i int) {
	s := p.spot(i)
	f := place{table: table, lone: s[len(p.kinds)]}
	f.index = table.find(s[0], [2]Square{s[1], s[2]}, f.lone)
	for _, f.attacking = range []bool{true, false} {
		want := p.defend[i] > 0
		if f.attacking {
			want = p.won(i) > 0
		}
		if got := f.held(r); got != want {
			t.Fatalf("%v on %v, region %d, attacker to move %v: held %v, plain %v", p.kinds, s, r, f.attacking, got, want)
		}
	}
}

// On random positions of endings with four men the plain solver agrees too,
// among them one where a man may be taken and the rest still wins.
func TestPlainFourMen(t *testing.T) {
	t.Parallel()
	if racing {
		t.Skip("nothing here runs side by side, and the slow solver takes minutes under the race detector")
	}
	for _, kinds := range [][]Kind{{Bishop, Knight}, {Rook, Rook}} {
		t.Run(kinds[0].String()+kinds[1].String(), func(t *testing.T) {
			t.Parallel()
			p := newPlain(kinds...)
			if kinds[0] == kinds[1] {
				p.smaller = newPlain(kinds[0]).solve()
			}
			p.solve()
			table, err := shared().wait(context.Background(), material{attack: [2]Kind{kinds[0], kinds[1]}})
			if err != nil {
				t.Fatal(err)
			}
			random := rand.New(rand.NewPCG(4, 1))
			for range 2_000_000 {
				p.compare(t, table.layout, table.mate, random.IntN(len(p.attack)))
			}
		})
	}
}
