package solver

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"testing"
)

var testLayouts = []material{
	{attack: [2]Kind{Queen}}, {attack: [2]Kind{Bishop, Knight}}, {attack: [2]Kind{Rook, Rook}}, {[2]Kind{Rook}, Rook},
	{attack: [2]Kind{Rook, Pawn}}, {attack: [2]Kind{Pawn, Pawn}}, {[2]Kind{Pawn}, Pawn}, {[2]Kind{Queen}, Pawn},
	{[2]Kind{Pawn}, Knight},
}

// A placement's squares lead back to it, and no two placements are one.
func TestPlacements(t *testing.T) {
	t.Parallel()
	for _, m := range testLayouts {
		l := newLayout(m)
		for at := range l.placements() {
			king, men := l.squares(at)
			if back := l.at(king, men); back != at {
				t.Fatalf("%v: placement %d with men on %v comes back as %d", m.name(), at, men, back)
			}
		}
	}
}

// FuzzIndex finds a position, reads the board off its index, and wants one of
// the turns of the position.
func FuzzIndex(f *testing.F) {
	f.Add(uint8(0), uint8(63), uint8(1), uint8(2), uint8(0))
	f.Add(uint8(60), uint8(35), uint8(10), uint8(20), uint8(1))
	f.Add(uint8(28), uint8(4), uint8(44), uint8(7), uint8(2))
	f.Add(uint8(39), uint8(14), uint8(44), uint8(7), uint8(6))
	f.Fuzz(func(t *testing.T, king, first, second, lone, which uint8) {
		l := newLayout(testLayouts[int(which)%len(testLayouts)])
		at := [4]Square{Square(king & 63), Square(first & 63), Square(second & 63), Square(lone & 63)}
		men := [2]Square{at[1], NoSquare}
		if len(l.kinds) == 2 {
			men[1] = at[2]
		}
		for i, k := range l.kinds {
			if men[0] == men[1] || !mayStand(k, men[i]) {
				return
			}
		}
		index := l.find(at[0], men, at[3])
		if !l.turnsInto(at, index) {
			t.Errorf("%v on %v: index %d is another board", l.kinds, at, index)
		}
	})
}

// turnsInto reports whether a turn of the board leads to the index.
func (l *layout) turnsInto(at [4]Square, index int) bool {
	king, men := l.squares(index >> 6)
	for by := range turn(l.turns) {
		board := &turned[by]
		first, second := board[at[1]], NoSquare
		if len(l.kinds) == 2 {
			second = board[at[2]]
		}
		same := men == [2]Square{first, second}
		if l.own() == 2 && l.kinds[0] == l.kinds[1] {
			same = same || men == [2]Square{second, first}
		}
		if same && board[at[0]] == l.kings[king] && board[at[3]] == Square(index&63) {
			return true
		}
	}
	return false
}

// FuzzProbe wants an answer or an error for any bytes whatever as a position.
func FuzzProbe(f *testing.F) {
	f.Add([]byte{0, 0, 4, 0, 1, 60, 1, 0, 3, 2, 1, 59}, byte(4), byte(0), byte(64))
	f.Add([]byte{0, 0, 4, 0, 1, 60, 5, 0, 36, 5, 1, 37}, byte(4), byte(0), byte(45))
	f.Add([]byte{0, 0, 4, 0, 1, 60, 5, 0, 0, 5, 1, 70}, byte(4), byte(1), byte(200))
	f.Fuzz(func(t *testing.T, men []byte, count, turn, passing byte) {
		p := Position{Count: int(count) % 7, Turn: Color(turn & 1), EnPassant: Square(passing)}
		for i := 0; i+2 < len(men) && i/3 < MaxMen; i += 3 {
			p.Men[i/3] = Man{Kind(men[i]), Color(men[i+1]), Square(men[i+2])}
		}
		legal := p.Validate() == nil
		v, err := shared().Probe(context.Background(), p)
		if legal && err != nil || v.Plies < 0 || v.Plies > 100 {
			t.Errorf("%+v: %+v, %v", p, v, err)
		}
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
	if got := (mirrorFiles | transpose).set(square("b1").bit()); got != square("a7").bit() {
		t.Errorf("b1 with files mirrored, then files and ranks exchanged: %v, want a7", got.first())
	}
}

// dilate is a king's step from each square, without wrapping round the edge.
func TestDilate(t *testing.T) {
	t.Parallel()
	for a := range Square(64) {
		for b := range Square(64) {
			want := a != b && max(a.file(), b.file())-min(a.file(), b.file()) <= 1 &&
				max(a.rank(), b.rank())-min(a.rank(), b.rank()) <= 1
			if got := a.bit().dilate().has(b); got != want {
				t.Errorf("%v to %v: %v", a, b, got)
			}
		}
	}
}

// What each table holds, named with the winner first, pinned: the first 16 hex digits of the SHA-256 of
// its bytes, distances first, then the pars of the regions.
func TestGolden(t *testing.T) {
	t.Parallel()
	want := map[string]string{
		"KQK":  "8ac136f51e666133",
		"KRK":  "03a666ecb38b83d2",
		"KPK":  "1d617a8b66738a6d",
		"KQQK": "d09a744402334a03",
		"KQKQ": "96886c7b96ae4382",
		"KQRK": "4ddf864217746a8e",
		"KQKR": "327e9e05019e5781",
		"KRKQ": "e9531595a22dff8f",
		"KQBK": "f3ae1ec3807b7430",
		"KQKB": "3c1ab159a4363a80",
		"KBKQ": "e3b0c44298fc1c14",
		"KQNK": "5cab47a4722ac350",
		"KQKN": "d77a6c8e1160d0a1",
		"KNKQ": "e3b0c44298fc1c14",
		"KRRK": "9a8184478c141eca",
		"KRKR": "c487f9af0c47b38c",
		"KRBK": "c401337343b51cb3",
		"KRKB": "7460fb888e87d2a7",
		"KBKR": "e3b0c44298fc1c14",
		"KRNK": "93fe52c81aaef79b",
		"KRKN": "0e3571c5b3ffa4df",
		"KNKR": "21af59f1013e9989",
		"KBBK": "ad4cdf1cab41ca79",
		"KBKB": "d5dc8f30460a9805",
		"KBNK": "920dc2d27d33295c",
		"KBKN": "ec8068d1ae308379",
		"KNKB": "d6d4b6b233d7df0a",
		"KNNK": "4946a2552415b31d",
		"KNKN": "788bbf8afb1e0d7a",
		"KQPK": "a6361458dab1d722",
		"KQKP": "f78988877bf54487",
		"KPKQ": "245ad71810553320",
		"KRPK": "b6dda08e8157dd24",
		"KRKP": "d9a298ec1a57a1e4",
		"KPKR": "932cb1c57dee5cef",
		"KBPK": "5c8f41f5f9c1a87b",
		"KBKP": "a6fff8dd85cc757d",
		"KPKB": "5d15ce9771910bc5",
		"KNPK": "175b2e53e49d2efc",
		"KNKP": "a0e628223a992996",
		"KPKN": "cbd87502f897219b",
		"KPPK": "c2aab018c2aae9b1",
		"KPKP": "c8556c3946277afb",
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
