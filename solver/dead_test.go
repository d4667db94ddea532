package solver

import (
	"context"
	"errors"
	"strings"
	"testing"
)

// Dead positions by the men (FIDE Laws 5.2.2), by a forced capture, and living
// ones. The claims follow from the article; there is no published list.
func TestDeadPositions(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]bool{
		"8/8/4k3/8/8/8/8/4K3 w - - 0 1":     true,  // bare kings
		"8/8/4k3/8/8/2b5/8/4K3 w - - 0 1":   true,  // one bishop
		"8/8/4k3/8/8/2n5/8/4K3 b - - 0 1":   true,  // one knight
		"8/8/4k3/8/8/2b5/8/4K1B1 w - - 0 1": true,  // bishops on dark squares
		"8/8/4k3/8/8/2b5/8/4KB2 w - - 0 1":  false, // bishops of unlike squares
		"8/8/4k3/8/8/2n5/8/4KB2 w - - 0 1":  false,
		"8/8/4k3/8/8/2n5/8/4KN2 w - - 0 1":  false,
		"8/8/4k3/8/8/8/8/3NKN2 w - - 0 1":   false, // a draw, but mate can happen
		"k7/1Q6/8/8/8/8/8/4K3 b - - 0 1":    true,  // the queen must be taken
		"k7/1R6/8/8/8/8/8/4K3 b - - 0 1":    true,  // so must the rook
		"k7/2R5/8/8/8/8/8/4K3 b - - 0 1":    false, // the king can step aside
		"7k/5Q2/6K1/8/8/8/8/8 b - - 0 1":    false, // stalemate ends the game itself
		"k7/8/NKB5/8/8/8/8/8 b - - 0 1":     false, // mate too
	} {
		if got := fen(t, text).Dead(); got != want {
			t.Errorf("%s: dead %v, want %v", text, got, want)
		}
	}
}

// A dead position is drawn, and from a living one some series of moves leads
// to a position that is won or lost. (Endings in which that can be far off, light
// men alone or against a pawn, are left out.)
func TestDeadOrReachesAWin(t *testing.T) {
	t.Parallel()
	names := strings.Fields("KQK KRK KPK KQKR KQKB KRKB KRKN KRKR KQKQ KNPK KPPK KRPK KQKP KRKP KPKP")
	eachRandom(t, names, 3_000, func(t *testing.T, p Position) {
		if len(p.Moves(nil)) == 0 {
			return
		}
		switch dead := p.Dead(); {
		case dead && probe(t, p) != Value{}:
			t.Errorf("%s is called dead but worth %+v", p.text(), probe(t, p))
		case !dead && !reaches(t, p, 6):
			t.Errorf("%s is not called dead, but no win is near", p.text())
		}
	})
}

// The same for every position of queen or rook against king.
func TestDeadThreeMen(t *testing.T) {
	t.Parallel()
	for _, k := range []Kind{Queen, Rook} {
		dead := 0
		everyThreeMen(k, func(p Position) {
			if probe(t, p) != (Value{}) || len(p.Moves(nil)) == 0 {
				return
			}
			if p.Dead() {
				dead++
			} else if !reaches(t, p, 4) {
				t.Errorf("%s is not called dead, but no win is near", p.text())
			}
		})
		if dead == 0 {
			t.Errorf("no position of king and %v is dead, but where the man must be taken it is", k)
		}
	}
}

// reaches looks for a win within so many moves.
func reaches(t *testing.T, p Position, depth int) bool {
	if probe(t, p).Outcome != Draw {
		return true
	}
	if depth == 0 {
		return false
	}
	for _, m := range p.Moves(nil) {
		if reaches(t, p.Play(m), depth-1) {
			return true
		}
	}
	return false
}

// With the king on one of the three squares two rows before its pawn (common
// practice: the pawn's key squares, for a pawn not beyond the fourth row nor on
// the edge) the pawn wins whoever moves, unless it can be taken at once.
func TestFront(t *testing.T) {
	t.Parallel()
	for _, pawn := range []Square{square("b2"), square("e4"), square("g3")} {
		for king := pawn + 15; king <= pawn+17; king++ {
			for lone := range Square(64) {
				p := Position{Count: 3, Turn: White, EnPassant: NoSquare}
				p.Men = [MaxMen]Man{{King, White, king}, {Pawn, White, pawn}, {King, Black, lone}}
				if p.Validate() != nil || reach[King][pawn].has(lone) {
					continue
				}
				if in, err := shared().Front(context.Background(), p); err != nil || !in {
					t.Errorf("%s: in front %v, %v", p.text(), in, err)
				}
			}
		}
	}
	// Diag. 53 of Ed. Lasker, Chess Strategy (1915): the move decides
	// (testdata/known_positions.tsv).
	for _, turn := range []string{"w", "b"} {
		p := fen(t, "8/8/2k5/8/8/3K4/2P5/8 "+turn+" - - 0 1")
		if in, err := shared().Front(context.Background(), p); err != nil || in {
			t.Errorf("%s: in front %v, %v", p.text(), in, err)
		}
	}
	_, err := shared().Front(context.Background(), fen(t, "8/8/4k3/8/8/8/4R3/4K3 b - - 0 1"))
	if !errors.Is(err, ErrNoFront) {
		t.Errorf("another ending: %v", err)
	}
}
