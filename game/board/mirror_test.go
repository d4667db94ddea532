package board_test

import (
	"testing"

	"drover/game/board"
)

// TestMirrored: the mirrored position is the same game with the colours exchanged: as many
// moves, the same check and stalemate, and mirrored twice it is what it was.
func TestMirrored(t *testing.T) {
	t.Parallel()
	for _, fen := range []string{
		"3k4/8/1K6/8/8/8/8/4R3 w - - 0 1",
		"7k/5Q2/6K1/8/8/8/8/8 b - - 3 9",
		"8/8/8/8/4k3/3p4/3K4/8 w - - 0 1",
		"8/2p5/3p4/KP5r/1R3p1k/8/4P1P1/8 w - - 0 1",
		"8/8/8/1k6/3Pp3/8/8/4KQ2 b - d3 0 1",
	} {
		p, err := board.ParseFEN(fen)
		if err != nil {
			t.Fatal(err)
		}
		m, err := p.Mirrored()
		if err != nil {
			t.Fatalf("%s: %v", fen, err)
		}
		if len(m.Moves()) != len(p.Moves()) || m.InCheck() != p.InCheck() || m.Stalemate() != p.Stalemate() || m.Turn() == p.Turn() {
			t.Errorf("%s mirrored is %s: %d moves, not %d", fen, m.FEN(), len(m.Moves()), len(p.Moves()))
		}
		if back, err := m.Mirrored(); err != nil || back.FEN() != p.FEN() {
			t.Errorf("%s came back as %s, %v", fen, back.FEN(), err)
		}
	}
}
