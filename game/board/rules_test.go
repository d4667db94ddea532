package board_test

import (
	"math/rand/v2"
	"strings"
	"sync"
	"testing"

	"drover/game/board"

	"github.com/corentings/chess/v2"
)

// wander hands on positions of random games: from the first position of chess,
// and from endings, where mates and stalemates are met.
func wander(t *testing.T, games int, seed uint64, visit func(p board.Position)) {
	t.Helper()
	rng := rand.New(rand.NewPCG(seed, 17))
	starts := []board.Position{
		board.Start(), parse(t, "8/8/8/4k3/8/8/8/4K2R w - - 0 1"), parse(t, "7k/8/5K2/6Q1/8/8/8/8 w - - 0 1"),
		parse(t, "r3k2r/8/8/8/8/8/8/R3K2R w KQkq - 0 1"), parse(t, "4k3/2p5/8/3P4/8/8/1P6/4K3 b - - 0 1"),
		parse(t, "8/5P1k/8/8/8/8/p7/K7 w - - 0 1"),
	}
	for i := range games {
		p := starts[i%len(starts)]
		for range 60 {
			visit(p)
			if len(p.Moves()) == 0 {
				break
			}
			p = p.Play(p.Moves()[rng.IntN(len(p.Moves()))])
		}
	}
}

// TestFENRoundTrip: what is written is read again as the same position, with the
// same moves.
func TestFENRoundTrip(t *testing.T) {
	t.Parallel()
	wander(t, 24, 1, func(p board.Position) {
		again := parse(t, p.FEN())
		if again.FEN() != p.FEN() || again.Key() != p.Key() || again.Turn() != p.Turn() ||
			again.HalfMoves() != p.HalfMoves() || len(again.Moves()) != len(p.Moves()) {
			t.Errorf("%s is read as %s", p.FEN(), again.FEN())
		}
		for i, m := range p.Moves() {
			if n := again.Moves()[i]; n.UCI() != m.UCI() || n.Capture != m.Capture || n.Check != m.Check {
				t.Errorf("%s: %s becomes %s", p.FEN(), m.UCI(), n.UCI())
			}
		}
	})
}

// TestEndsAgreeWithLibrary: mate, stalemate and check are what the chess-rules
// library says; the code that says so here is our own.
func TestEndsAgreeWithLibrary(t *testing.T) {
	t.Parallel()
	mates, stalemates, checks := 0, 0, 0
	wander(t, 66, 2, func(p board.Position) {
		var lib chess.Position
		if err := lib.UnmarshalText([]byte(p.FEN())); err != nil {
			t.Fatal(err)
		}
		method := lib.Status()
		if p.Checkmate() != (method == chess.Checkmate) || p.Stalemate() != (method == chess.Stalemate) {
			t.Errorf("%s: the library says %v", p.FEN(), method)
		}
		if p.Checkmate() {
			mates++
		}
		if p.Stalemate() {
			stalemates++
		}
		for _, m := range p.Moves() {
			if next := p.Play(m); next.InCheck() != m.Check {
				t.Errorf("%s %s: check is %v by the library, %v by us", p.FEN(), m.UCI(), m.Check, next.InCheck())
			} else if m.Check {
				checks++
			}
		}
	})
	if mates < 2 || stalemates < 1 || checks < 50 {
		t.Errorf("%d mates, %d stalemates, %d checks met: too few to say", mates, stalemates, checks)
	}
}

// TestEveryMoveIsFound: SAN and coordinates of each legal move lead back to it,
// and SAN tells all of them apart.
func TestEveryMoveIsFound(t *testing.T) {
	t.Parallel()
	wander(t, 18, 3, func(p board.Position) {
		seen := map[string]bool{}
		for _, m := range p.Moves() {
			san := p.SAN(m)
			for _, text := range []string{san, m.UCI(), " " + strings.TrimRight(san, "+#") + " ", san + "!?"} {
				if found, err := p.Find(text); err != nil || found.UCI() != m.UCI() {
					t.Errorf("%s: %q finds %s, %v", p.FEN(), text, found.UCI(), err)
				}
			}
			if seen[san] {
				t.Errorf("%s: two moves are %s", p.FEN(), san)
			}
			seen[san] = true
		}
	})
}

// TestPlayLeavesThePosition: a position is a value; many may read one at once.
func TestPlayLeavesThePosition(t *testing.T) {
	t.Parallel()
	p := board.Start()
	fen, moves := p.FEN(), len(p.Moves())
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			for _, m := range p.Moves() {
				next := p.Play(m)
				if p.SAN(m) == "" || next.FEN() == fen || len(next.Moves()) != 20 || p.InCheck() {
					t.Errorf("%s leads to %s", m.UCI(), next.FEN())
				}
			}
		})
	}
	wg.Wait()
	if p.FEN() != fen || len(p.Moves()) != moves || moves != 20 {
		t.Errorf("the position became %s", p.FEN())
	}
}

// slides are the steps of line movers, leaps those of the others.
var (
	slides = map[board.Kind][][2]int{
		board.Rook: {{1, 0}, {-1, 0}, {0, 1}, {0, -1}}, board.Bishop: {{1, 1}, {1, -1}, {-1, 1}, {-1, -1}},
		board.Queen: {{1, 0}, {-1, 0}, {0, 1}, {0, -1}, {1, 1}, {1, -1}, {-1, 1}, {-1, -1}},
	}
	leaps = map[board.Kind][][2]int{
		board.King:   {{1, 0}, {-1, 0}, {0, 1}, {0, -1}, {1, 1}, {1, -1}, {-1, 1}, {-1, -1}},
		board.Knight: {{1, 2}, {2, 1}, {-1, 2}, {-2, 1}, {1, -2}, {2, -1}, {-1, -2}, {-2, -1}},
	}
)

// covered walks the lines of a side's men, square by square, through the other
// side's king.
func covered(p board.Position, by board.Color) map[board.Square]bool {
	out := map[board.Square]bool{}
	for sq := board.Square(0); sq < 64; sq++ {
		m := p.At(sq)
		if !m.There || m.Color != by {
			continue
		}
		up := 1 - 2*int(m.Color)
		steps := leaps[m.Kind]
		if m.Kind == board.Pawn {
			steps = [][2]int{{1, up}, {-1, up}}
		}
		for _, s := range steps {
			mark(out, sq.File()+s[0], sq.Rank()+s[1])
		}
		for _, s := range slides[m.Kind] {
			for f, r := sq.File()+s[0], sq.Rank()+s[1]; mark(out, f, r); f, r = f+s[0], r+s[1] {
				if at := p.At(board.Square(8*r + f)); at.There && (at.Kind != board.King || at.Color == by) {
					break
				}
			}
		}
	}
	return out
}

// mark sets a square, if it is one.
func mark(out map[board.Square]bool, f, r int) bool {
	if f < 0 || f > 7 || r < 0 || r > 7 {
		return false
	}
	out[board.Square(8*r+f)] = true
	return true
}

// TestCoversByWalking: cover is that of a walk along the lines.
func TestCoversByWalking(t *testing.T) {
	t.Parallel()
	wander(t, 24, 4, func(p board.Position) {
		for _, c := range []board.Color{board.White, board.Black} {
			want := covered(p, c)
			for sq := board.Square(0); sq < 64; sq++ {
				if p.Covers(c, sq) != want[sq] {
					t.Errorf("%s: %s covers %s is %v", p.FEN(), c, sq, p.Covers(c, sq))
				}
			}
		}
	})
}

// TestKeyIsTheRepetition: FIDE Laws 9.2.3. The same men with the same rights are
// the same position, by whatever way and at whatever move.
func TestKeyIsTheRepetition(t *testing.T) {
	t.Parallel()
	play := func(p board.Position, moves string) board.Position {
		for _, text := range strings.Fields(moves) {
			m, err := p.Find(text)
			if err != nil {
				t.Fatal(err)
			}
			p = p.Play(m)
		}
		return p
	}
	start := board.Start()
	if there := play(start, "Nf3 Nf6 Ng1 Ng8"); there.Key() != start.Key() || there.FEN() == start.FEN() {
		t.Errorf("to and fro: %q and %q", there.Key(), start.Key())
	}
	a, b := play(start, "Nf3 Nf6 Nc3 Nc6"), play(start, "Nc3 Nc6 Nf3 Nf6")
	if a.Key() != b.Key() {
		t.Errorf("two ways: %q and %q", a.Key(), b.Key())
	}
	castle := parse(t, "r3k2r/8/8/8/8/8/8/R3K2R w KQkq - 0 1")
	if lost := play(castle, "Ke2 Ke7 Ke1 Ke8"); lost.Key() == castle.Key() || lost.Castling() || !castle.Castling() {
		t.Error("rights to castle were lost, and the position is the same")
	}
	white, black := parse(t, "8/8/8/4k3/8/8/8/4K2R w - - 0 1"), parse(t, "8/8/8/4k3/8/8/8/4K2R b - - 0 1")
	if white.Key() == black.Key() {
		t.Error("the side to move makes no difference")
	}
	passing := play(parse(t, "4k3/2p5/8/3P4/8/8/8/4K3 b - - 0 1"), "c5")
	if sq, ok := passing.Passing(); !ok || sq.String() != "c6" {
		t.Errorf("en passant on %s, %v", sq, ok)
	}
	if later := play(passing, "Kd2 Kd7 Ke1 Ke8"); later.Key() == passing.Key() {
		t.Error("the right to take in passing was lost, and the position is the same")
	}
}

// TestHalfMoves: the clock of the fifty-move rule counts from the last capture
// or pawn move (FIDE Laws 9.3).
func TestHalfMoves(t *testing.T) {
	t.Parallel()
	wander(t, 24, 5, func(p board.Position) {
		for _, m := range p.Moves() {
			want := p.HalfMoves() + 1
			if m.Capture || p.At(m.From).Kind == board.Pawn {
				want = 0
			}
			next := p.Play(m)
			if next.HalfMoves() != want || next.Turn() == p.Turn() {
				t.Errorf("%s %s: clock %d, want %d", p.FEN(), m.UCI(), next.HalfMoves(), want)
			}
			if taken := p.Count() - next.Count(); taken != map[bool]int{true: 1}[m.Capture] {
				t.Errorf("%s %s: %d men are gone", p.FEN(), m.UCI(), taken)
			}
		}
	})
}

// TestNames: squares, kinds and sides by their names, and what is no square.
func TestNames(t *testing.T) {
	t.Parallel()
	for sq := board.Square(0); sq < 64; sq++ {
		back, ok := board.ParseSquare(sq.String())
		if !ok || back != sq || int(sq) != 8*sq.Rank()+sq.File() {
			t.Errorf("%d is %s is %d", sq, sq, back)
		}
	}
	for _, bad := range []string{"", "e", "e9", "i1", "E4", "e44", "4e", "é4", "e0"} {
		if sq, ok := board.ParseSquare(bad); ok {
			t.Errorf("%q is %s", bad, sq)
		}
	}
	var kinds, letters string
	for k := board.King; k <= board.Pawn; k++ {
		kinds += k.String() + " "
		letters += string(k.Letter())
	}
	if kinds != "king queen rook bishop knight pawn " || letters != "KQRBNP" ||
		board.White.String()+board.Black.String() != "WhiteBlack" {
		t.Error(kinds, letters)
	}
}
