package board_test

import (
	"strings"
	"testing"

	"drover/game"
	"drover/game/board"
)

// TestPass: the turn goes over and nothing else changes; in check it cannot.
func TestPass(t *testing.T) {
	t.Parallel()
	passed, refused := 0, 0
	wander(t, 24, 6, func(p board.Position) {
		next, ok := p.Pass()
		if ok == p.InCheck() {
			t.Errorf("%s: passing is %v", p.FEN(), ok)
		}
		if !ok {
			refused++
			return
		}
		passed++
		was, is := strings.Fields(p.FEN()), strings.Fields(next.FEN())
		if next.Turn() == p.Turn() || is[0] != was[0] || is[2] != was[2] || is[3] != "-" {
			t.Errorf("%s passes to %s", p.FEN(), next.FEN())
		}
		if back, ok := next.Pass(); !ok && !next.InCheck() || ok && back.Turn() != p.Turn() {
			t.Errorf("%s does not pass back", next.FEN())
		}
	})
	if passed < 100 || refused < 10 {
		t.Errorf("%d passed, %d stood in check: too few to say", passed, refused)
	}
}

// TestCoveredFrom: what the men of a side cover one by one is what the side
// covers, and a man never covers its own square.
func TestCoveredFrom(t *testing.T) {
	t.Parallel()
	wander(t, 24, 7, func(p board.Position) {
		for _, c := range []board.Color{board.White, board.Black} {
			all := map[board.Square]bool{}
			for sq := board.Square(0); sq < 64; sq++ {
				if m := p.At(sq); !m.There || m.Color != c {
					continue
				}
				for _, to := range p.CoveredFrom(sq) {
					if all[to] = true; to == sq {
						t.Errorf("%s: %s covers itself", p.FEN(), sq)
					}
				}
			}
			want := covered(p, c)
			for sq := board.Square(0); sq < 64; sq++ {
				if all[sq] != want[sq] {
					t.Errorf("%s: %s covers %s is %v", p.FEN(), c, sq, all[sq])
				}
			}
		}
	})
}

// TestCastling: rights are read and written, and a castling move is found in
// both notations (FIDE Laws 3.8.2).
func TestCastling(t *testing.T) {
	t.Parallel()
	p := parse(t, "r3k2r/8/8/8/8/8/8/R3K2R w KQkq - 0 1")
	for text, want := range map[string]string{
		"O-O": "r3k2r/8/8/8/8/8/8/R4RK1 b kq - 1 1", "e1c1": "r3k2r/8/8/8/8/8/8/2KR3R b kq - 1 1",
	} {
		m, err := p.Find(text)
		if err != nil {
			t.Fatalf("%s: %v", text, err)
		}
		if got := p.Play(m).FEN(); got != want {
			t.Errorf("%s leads to %s, want %s", text, got, want)
		}
	}
	for fen, say := range map[string]string{
		"r3k2r/8/8/8/8/8/8/R3K2R w QKkq - 0 1": "letters of KQkq in that order",
		"r3k2r/8/8/8/8/8/8/R3K2R w KK - 0 1":   "letters of KQkq in that order",
		"4k3/8/8/8/8/8/8/R3K2R w KQk - 0 1":    `"k" needs king and rook at home`,
		"r3k2r/8/8/8/8/8/4K3/R6R w Q - 0 1":    `"Q" needs king and rook at home`,
	} {
		if _, err := board.ParseFEN(fen); game.KindOf(err) != game.Bad || !strings.Contains(game.Saying(err), say) {
			t.Errorf("%s: %v, want %s", fen, err, say)
		}
	}
}

// TestPromotion: each of the four men in both notations (FIDE Laws 3.7.3.3).
func TestPromotion(t *testing.T) {
	t.Parallel()
	p := parse(t, "8/5P1k/8/8/8/8/8/K7 w - - 12 40")
	for text, kind := range map[string]board.Kind{
		"f8=Q": board.Queen, "f7f8q": board.Queen, "f8=R": board.Rook, "f7f8r": board.Rook,
		"f8=B": board.Bishop, "f7f8b": board.Bishop, "f8=N+": board.Knight, "f7f8n": board.Knight,
	} {
		m, err := p.Find(text)
		if err != nil || m.Promotion != kind {
			t.Errorf("%s: %s, %v", text, m.UCI(), err)
			continue
		}
		next := p.Play(m)
		if at := next.At(m.To); at.Kind != kind || at.Color != board.White || next.HalfMoves() != 0 ||
			next.Count() != p.Count() {
			t.Errorf("%s leads to %s", text, next.FEN())
		}
	}
	for _, text := range []string{"f8", "f7f8", "f7f8k", "f7f8p", "f8=K"} {
		if m, err := p.Find(text); err == nil {
			t.Errorf("%q is read as %s", text, m.UCI())
		}
	}
}
