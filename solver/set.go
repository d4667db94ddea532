package solver

import "math/bits"

// set is a set of squares, bit 0 = a1.
type set uint64

const (
	fileA set = 0x0101010101010101
	fileH     = fileA << 7

	rowOne   set = 0xff
	rowEight     = rowOne << 56
)

// first returns the lowest square of a set that is not empty.
func (s set) first() Square { return Square(bits.TrailingZeros64(uint64(s))) }

func (s set) count() int { return bits.OnesCount64(uint64(s)) }

func (s set) has(q Square) bool { return s>>q&1 != 0 }

// dilate returns every square that is a king's step away from the set.
func (s set) dilate() set {
	beside := (s&^fileH)<<1 | (s&^fileA)>>1
	row := s | beside
	return beside | row<<8 | row>>8
}

// A turn is one of the eight symmetries of the board: bit 0 mirrors the
// files, bit 1 mirrors the ranks, then bit 2 exchanges files and ranks.
type turn uint8

const (
	mirrorFiles turn = 1
	mirrorRanks turn = 2
	transpose   turn = 4
	turns            = 8
)

// set turns a set of squares.
func (t turn) set(s set) set {
	x := uint64(s)
	if t&mirrorFiles != 0 {
		x = bits.ReverseBytes64(bits.Reverse64(x))
	}
	if t&mirrorRanks != 0 {
		x = bits.ReverseBytes64(x)
	}
	if t&transpose != 0 {
		x = exchange(x)
	}
	return set(x)
}

// exchange mirrors a board along the diagonal a1-h8 by three rounds of swaps.
func exchange(x uint64) uint64 {
	t := 0x0f0f0f0f00000000 & (x ^ x<<28)
	x ^= t ^ t>>28
	t = 0x3333000033330000 & (x ^ x<<14)
	x ^= t ^ t>>14
	t = 0x5500550055005500 & (x ^ x<<7)
	return x ^ t ^ t>>7
}

// inverse returns the turn that undoes t.
func (t turn) inverse() turn {
	if t&transpose == 0 {
		return t
	}
	return transpose | t&1<<1 | t&2>>1
}

// turned holds the square to which each turn takes each square.
var turned = makeTurned()

func makeTurned() (table [turns][64]Square) {
	for t := range turn(turns) {
		for s := range Square(64) {
			table[t][s] = t.set(s.bit()).first()
		}
	}
	return table
}
