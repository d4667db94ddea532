package solver

import (
	"crypto/sha256"
	"encoding/hex"
	"testing"
)

var testLayouts = [][]Kind{{Queen}, {Bishop, Knight}, {Rook, Rook}}

// A placement's squares lead back to it, and no two placements are one.
func TestPlacements(t *testing.T) {
	t.Parallel()
	for _, kinds := range testLayouts {
		l := newLayout(kinds)
		for at := range l.placements() {
			king, men := l.squares(at)
			if back := l.at(king, men); back != at {
				t.Fatalf("%v: placement %d with men on %v comes back as %d", kinds, at, men, back)
			}
		}
	}
}

// FuzzIndex finds a position, reads the board off its index, and wants one of
// the eight turns of the position.
func FuzzIndex(f *testing.F) {
	f.Add(uint8(0), uint8(63), uint8(1), uint8(2), uint8(0))
	f.Add(uint8(60), uint8(35), uint8(10), uint8(20), uint8(1))
	f.Add(uint8(28), uint8(4), uint8(44), uint8(7), uint8(2))
	f.Fuzz(func(t *testing.T, king, first, second, lone, which uint8) {
		l := newLayout(testLayouts[int(which)%len(testLayouts)])
		spots := [4]Square{Square(king & 63), Square(first & 63), Square(second & 63), Square(lone & 63)}
		men := [2]Square{spots[1], spots[2]}
		if men[0] == men[1] {
			return
		}
		if len(l.kinds) == 1 {
			men[1] = NoSquare
		}
		index := l.find(spots[0], men, spots[3])
		k, m := l.squares(index >> 6)
		for by := range turn(turns) {
			board := &turned[by]
			same := len(l.kinds) == 1 || board[spots[2]] == m[1]
			swapped := len(l.kinds) == 2 && l.kinds[0] == l.kinds[1] && board[spots[1]] == m[1] && board[spots[2]] == m[0]
			if board[spots[0]] == corner[k] && board[spots[3]] == Square(index&63) && (same && board[spots[1]] == m[0] || swapped) {
				return
			}
		}
		t.Errorf("%v on %v: index %d is the board %v %v %v", l.kinds, spots, index, corner[k], m, Square(index&63))
	})
}

// The turns of sets and of squares agree, and each has its inverse.
func TestTurns(t *testing.T) {
	t.Parallel()
	for by := range turn(turns) {
		for s := range Square(64) {
			if back := turned[by.inverse()][turned[by][s]]; back != s {
				t.Errorf("turn %d takes %v to %v and back to %v", by, s, turned[by][s], back)
			}
		}
		if got := by.set(rowOne | fileA); by.inverse().set(got) != rowOne|fileA {
			t.Errorf("turn %d of a set does not come back", by)
		}
	}
	if got := turn(mirrorFiles | transpose).set(square("b1").bit()); got != square("a7").bit() {
		t.Errorf("b1 with files mirrored, then files and ranks exchanged: %v, want a7", got.first())
	}
}

const rowOne set = 0xff

// dilate is a king's step from each square, without wrapping round the edge.
func TestDilate(t *testing.T) {
	t.Parallel()
	for a := range Square(64) {
		for b := range Square(64) {
			want := a != b && max(a.file(), b.file())-min(a.file(), b.file()) <= 1 && max(a.rank(), b.rank())-min(a.rank(), b.rank()) <= 1
			if got := a.bit().dilate().has(b); got != want {
				t.Errorf("%v to %v: %v", a, b, got)
			}
		}
	}
}

// What each table holds, pinned: the first 16 hex digits of the SHA-256 of
// its bytes, distances first, then the pars of the regions.
func TestGolden(t *testing.T) {
	t.Parallel()
	want := map[string]string{
		"KQK":  "8ac136f51e666133",
		"KRK":  "03a666ecb38b83d2",
		"KQQK": "d09a744402334a03",
		"KQRK": "4ddf864217746a8e",
		"KQBK": "f3ae1ec3807b7430",
		"KQNK": "5cab47a4722ac350",
		"KRRK": "9a8184478c141eca",
		"KRBK": "c401337343b51cb3",
		"KRNK": "93fe52c81aaef79b",
		"KBBK": "ad4cdf1cab41ca79",
		"KBNK": "920dc2d27d33295c",
		"KNNK": "4946a2552415b31d",
	}
	for name, w := range want {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			if got := hash(tableOf(t, name)); got != w {
				t.Errorf("%s holds %s, pinned %s", name, got, w)
			}
		})
	}
}

func hash(t *table) string {
	h := sha256.New()
	for _, v := range append([]*values{t.mate}, t.par[:]...) {
		if v != nil {
			h.Write(v.attack)
			h.Write(v.defend)
		}
	}
	return hex.EncodeToString(h.Sum(nil)[:8])
}
