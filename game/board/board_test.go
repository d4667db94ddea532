package board_test

import (
	"bufio"
	"os"
	"strconv"
	"strings"
	"testing"

	"drover/game"
	"drover/game/board"
)

// TestPerft counts move trees against published perft results; the source of
// each row stands in testdata/perft.tsv.
func TestPerft(t *testing.T) {
	t.Parallel()
	for _, row := range rows(t, "testdata/perft.tsv") {
		id, fen := row[0], row[1]
		depth, nodes := number(t, row[2]), number(t, row[3])
		if nodes > 200_000 {
			continue // deeper rows cost minutes and test the same code
		}
		t.Run(id+" "+row[2], func(t *testing.T) {
			t.Parallel()
			p, err := board.ParseFEN(fen)
			if err != nil {
				t.Fatal(err)
			}
			if got := perft(p, depth); got != nodes {
				t.Errorf("%d nodes, published %d", got, nodes)
			}
		})
	}
}

func perft(p board.Position, depth int) int {
	if depth <= 1 {
		return len(p.Moves())
	}
	n := 0
	for _, m := range p.Moves() {
		n += perft(p.Play(m), depth-1)
	}
	return n
}

func rows(t *testing.T, name string) [][]string {
	t.Helper()
	f, err := os.Open(name)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var out [][]string
	lines := bufio.NewScanner(f)
	for lines.Scan() {
		if row := strings.Split(lines.Text(), "\t"); row[0] != "id" {
			out = append(out, row)
		}
	}
	return out
}

func number(t *testing.T, s string) int {
	t.Helper()
	n, err := strconv.Atoi(s)
	if err != nil {
		t.Fatal(err)
	}
	return n
}

// TestParseFENRefuses has a position for each sentence.
func TestParseFENRefuses(t *testing.T) {
	t.Parallel()
	for fen, say := range map[string]string{
		"8/8/8/4k4/8/8/8/4K2R w - - 0 1":               "row 5 has nine squares",
		"8/8/8/3kK3/8/8/8/7R w - - 0 1":                "kings stand side by side",
		"8/8/8/4k3/8/8/8/7R w - - 0 1":                 "White needs one king, there are no",
		"8/8/8/4k3/8/8/8/K3K2R w - - 0 1":              "White needs one king, there are two",
		"4k2P/8/8/8/8/8/8/4K3 w - - 0 1":               "a pawn cannot stand on h8",
		"4k3/8/8/8/8/8/4R3/4K3 w - - 0 1":              "already stands in check from e2",
		"4k3/8/8/8/8/8/8/4K2R x - - 0 1":               "side to move: w or b",
		"4k3/8/8/8/8/8/8/4K2R w":                       "six fields",
		"4k3/8/8/8/8/8/8/4K2R w Kq - 0 1":              `castling: "q" needs king and rook at home`,
		"4k3/8/8/8/8/8/8/4K2R w zz - 0 1":              "castling",
		"4k3/8/8/8/8/8/8/4K2R w - e3 0 1":              "en passant",
		"4k3/8/8/8/8/8/8/4K2R w - e6 0 1":              "no pawn has just gone",
		"4k3/8/8/8/8/8/8/4K2R w - - -1 1":              "half-move clock",
		"4k3/8/8/8/8/8/8/4K2R w - - 0 0":               "move number: a number from 1",
		"4k3/8/8/8/8/8/4K2R w - - 0 1":                 "eight rows are needed, there are 7",
		"4k3/8/8/8/8/8/8/4K2X w - - 0 1":               "row 1 has 'X'",
		"4k3/44/8/8/8/8/8/4K3 w - - 0 1":               "two numbers side by side",
		"4k3/8/8/8/8/8/8/4K2RRRRRRRRRRRRR w - - 0 1":   "row 1 has 20 squares",
		strings.Repeat("8/", 4000) + "8/8 w - - 0 1":   "eight rows",
		"4k3/8/8/8/8/8/8/4K2\x00 w - - 0 1":            "row 1 has",
		"4k3/8/8/8/8/8/8/4K2R w - - 0 1 and something": "six fields",
	} {
		_, err := board.ParseFEN(fen)
		if game.KindOf(err) != game.Bad || !strings.Contains(game.Saying(err), say) {
			t.Errorf("%.40q: got %v, want %q", fen, err, say)
		}
	}
}

// FuzzParseFEN: whatever is read is written and read again the same.
func FuzzParseFEN(f *testing.F) {
	f.Add("8/8/8/4k3/8/8/8/4K2R w - - 0 1")
	f.Add("rnbqkbnr/ppp1pppp/8/8/3pP3/8/PPPP1PPP/RNBQKBNR b KQkq e3 0 3")
	f.Add("8/8/8/4k4/8/8/8/4K2R w - - 0 1")
	f.Fuzz(func(t *testing.T, s string) {
		p, err := board.ParseFEN(s)
		if err != nil {
			if game.KindOf(err) != game.Bad {
				t.Fatalf("%q: %v", s, err)
			}
			return
		}
		again, err := board.ParseFEN(p.FEN())
		if err != nil || again.FEN() != p.FEN() || again.Key() != p.Key() {
			t.Fatalf("%q read as %q, then %v", s, p.FEN(), err)
		}
	})
}

func TestMoves(t *testing.T) {
	t.Parallel()
	p := parse(t, "8/5P1k/8/8/8/8/8/K5N1 w - - 12 40")
	for text, uci := range map[string]string{"Ne2": "g1e2", "g1e2": "g1e2", "f8=Q": "f7f8q", "f7f8n": "f7f8n",
		"f8=N+": "f7f8n", "Kb2\n": "a1b2"} {
		if m, err := p.Find(text); err != nil || m.UCI() != uci {
			t.Errorf("%s: got %s, %v", text, m.UCI(), err)
		}
	}
	for _, text := range []string{"", "e2e4", "Ng3x", "f8", "O-O", strings.Repeat("x", 5000)} {
		if _, err := p.Find(text); game.KindOf(err) != game.Bad || len(game.Saying(err)) > 100 {
			t.Errorf("%.20q: got %v", text, err)
		}
	}
	m, _ := p.Find("Ne2")
	if next := p.Play(m); next.FEN() != "8/5P1k/8/8/8/8/4N3/K7 b - - 13 40" || next.HalfMoves() != 13 {
		t.Errorf("after Ne2: %s", next.FEN())
	}
}

func parse(t *testing.T, fen string) board.Position {
	t.Helper()
	p, err := board.ParseFEN(fen)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// TestKnownPositions holds mates, stalemates and dead positions against
// testdata/known_positions.tsv, where each row names its source.
func TestKnownPositions(t *testing.T) {
	t.Parallel()
	for _, row := range rows(t, "testdata/known_positions.tsv") {
		if row[0] == "ending" {
			continue
		}
		p := parse(t, row[1])
		if p.Stalemate() != (row[2] == "stalemate") || p.Checkmate() != (row[2] == "checkmate") {
			t.Errorf("%s is %s", row[1], row[2])
		}
	}
}

// TestArticle522Dead: FIDE Laws 5.2.2, too little left for any mate.
func TestArticle522Dead(t *testing.T) {
	t.Parallel()
	for fen, dead := range map[string]bool{
		"8/8/4k3/8/8/8/8/4K3 w - - 0 1": true, "8/8/4k3/8/8/8/8/4K2N w - - 0 1": true, "8/8/4k3/8/8/8/8/4K2B w - - 0 1": true,
		"8/8/4k3/8/8/8/8/B3K2b w - - 0 1": false, "8/8/4k3/8/8/8/b7/B3K3 w - - 0 1": false,
		"8/8/4k3/8/8/b7/8/B3K3 w - - 0 1": true,
		"8/8/4k3/8/8/8/8/N3K2n w - - 0 1": false, "8/8/4k3/8/8/8/8/N3K2B w - - 0 1": false,
		"8/8/4k3/8/8/8/P7/4K3 w - - 0 1": false,
	} {
		if got := parse(t, fen).Dead(); got != dead {
			t.Errorf("%s: dead is %v", fen, got)
		}
	}
}

func TestKeyKeepsRightsApart(t *testing.T) {
	t.Parallel()
	with := parse(t, "4k3/8/8/8/3pP3/8/8/4K3 b - e3 0 1")
	without := parse(t, "4k3/8/8/8/3pP3/8/8/4K3 b - - 0 1")
	idle := parse(t, "4k3/8/8/8/4P3/8/8/4K3 b - e3 0 1")
	if with.Key() == without.Key() || !strings.HasSuffix(idle.Key(), " -") {
		t.Errorf("keys: %q %q %q", with.Key(), without.Key(), idle.Key())
	}
}

func TestCoversThroughTheKing(t *testing.T) {
	t.Parallel()
	p := parse(t, "8/8/8/R3k3/8/8/8/4K3 b - - 0 1")
	g5, _ := board.ParseSquare("g5")
	if !p.Covers(board.White, g5) || !p.InCheck() {
		t.Error("the rook's line must go through the lone king")
	}
}
