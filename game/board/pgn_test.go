package board_test

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"drover/game/board"

	"github.com/corentings/chess/v2"
)

// reread reads a game back with the library's PGN reader, which is not ours.
func reread(t *testing.T, pgn string) *chess.Game {
	t.Helper()
	read, err := chess.PGN(strings.NewReader(pgn))
	if err != nil {
		t.Fatalf("%v in\n%s", err, pgn)
	}
	return chess.NewGame(read)
}

// played plays random legal moves from a position, with a comment on some.
func played(t *testing.T, fen string, n int, seed uint64) board.Game {
	t.Helper()
	rng := rand.New(rand.NewPCG(seed, 1))
	g := board.Game{
		Event: "Rook, from the edge to mate", Site: "Ferry Lane", Date: time.Date(2026, 11, 5, 15, 0, 0, 0, time.UTC),
		White: "Juniper", Black: "Longest", Start: parse(t, fen), Result: "*",
	}
	p := g.Start
	for i := range n {
		if len(p.Moves()) == 0 {
			break
		}
		m := board.Annotated{NAG: []int{0, 0, 2, 4, 6}[rng.IntN(5)], Move: p.Moves()[rng.IntN(len(p.Moves()))]}
		if rng.IntN(3) == 0 {
			m.Comment = fmt.Sprintf("Still winning, the long way: move %d was %d moves quicker. "+
				"He has %d squares to step to, and walks on.", i, rng.IntN(9), rng.IntN(9))
		}
		g.Moves, p = append(g.Moves, m), p.Play(m.Move)
	}
	return g
}

// TestPGNIsReadBack: another reader finds the same moves, the same comments and
// the same tags (PGN standard, S. J. Edwards 1994, export format).
func TestPGNIsReadBack(t *testing.T) {
	t.Parallel()
	for i, fen := range []string{
		"8/8/8/4k3/8/8/8/4K2R w - - 0 1", "4k3/8/8/8/8/8/8/2B1K1N1 b - - 4 1", "8/5P1k/8/8/8/8/8/K5N1 w - - 12 40",
		"rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1", "4k3/8/8/8/3pP3/8/8/4K3 b - e3 0 1",
	} {
		for seed := range uint64(6) {
			g := played(t, fen, 40, seed*10+uint64(i))
			back := reread(t, g.PGN())
			moves := back.Moves()
			if len(moves) != len(g.Moves) {
				t.Fatalf("%d moves read back of %d:\n%s", len(moves), len(g.Moves), g.PGN())
			}
			for n, m := range moves {
				if m.String() != g.Moves[n].Move.UCI() {
					t.Errorf("move %d is %s, was %s", n, m, g.Moves[n].Move.UCI())
				}
				want := ""
				if nag := g.Moves[n].NAG; nag > 0 {
					want = fmt.Sprintf("$%d", nag)
				}
				if m.NAG() != want {
					t.Errorf("glyph %d is %q, was %q", n, m.NAG(), want)
				}
				if got := strings.Join(strings.Fields(m.Comments()), " "); got != g.Moves[n].Comment {
					t.Errorf("comment %d is %q, was %q", n, got, g.Moves[n].Comment)
				}
			}
			for tag, want := range map[string]string{
				"Event": g.Event, "Site": g.Site, "Date": "2026.11.05", "Round": "-", "White": g.White, "Black": g.Black,
				"Result": "*", "SetUp": "1", "FEN": fen,
			} {
				if got := back.GetTagPair(tag); got != want {
					t.Errorf("%s is %q, was %q", tag, got, want)
				}
			}
		}
	}
}

// TestPGNForm: the seven tags of the roster come first and in order, lines
// keep to 79 characters, and the result ends the moves (PGN standard, 4.3, 8.1, 8.2).
func TestPGNForm(t *testing.T) {
	t.Parallel()
	g := played(t, "4k3/8/8/8/8/8/8/2B1K1N1 b - - 4 1", 60, 3)
	g.Result = "1/2-1/2"
	text := g.PGN()
	tags, moves, found := strings.Cut(text, "\n\n")
	if !found || !strings.HasSuffix(moves, "1/2-1/2\n\n") || !strings.HasPrefix(moves, "1... ") {
		t.Errorf("moves:\n%s", moves)
	}
	for i, name := range []string{"Event", "Site", "Date", "Round", "White", "Black", "Result", "SetUp", "FEN"} {
		if line := strings.Split(tags, "\n")[i]; !strings.HasPrefix(line, "["+name+` "`) {
			t.Errorf("tag %d is %s, want %s", i+1, line, name)
		}
	}
	for _, line := range strings.Split(moves, "\n") {
		if len(line) > 79 {
			t.Errorf("%d characters: %s", len(line), line)
		}
	}
}

// TestPGNEscapes: what a person typed cannot break out of a tag or a comment.
func TestPGNEscapes(t *testing.T) {
	t.Parallel()
	p := parse(t, "7k/8/6K1/8/8/8/8/R7 w - - 0 1")
	mate, err := p.Find("Ra8#")
	if err != nil {
		t.Fatal(err)
	}
	g := board.Game{Event: `A "club" \ night`, White: "Ünal-O'Shea", Start: p, Result: "1-0",
		Moves: []board.Annotated{{Move: mate, Comment: "so {this} ends } 1. e4 {"}}}
	back := reread(t, g.PGN())
	if n := len(back.Moves()); n != 1 {
		t.Errorf("%d moves read back:\n%s", n, g.PGN())
	}
	if got := back.GetTagPair("White"); got != g.White {
		t.Errorf("White is %q", got)
	}
	if text := g.PGN(); !strings.Contains(text, `[Event "A \"club\" \\ night"]`) || strings.Count(text, "{") != 1 ||
		strings.Count(text, "}") != 1 {
		t.Errorf("not escaped:\n%s", text)
	}
	g.Moves[0].Comment = " \n "
	if text := g.PGN(); !strings.HasSuffix(text, "\n1. Ra8# 1-0\n\n") {
		t.Errorf("an empty comment:\n%s", text)
	}
}

// TestPGNNumbersFromFEN: moves are numbered as field 6 of the FEN says (PGN
// standard, S. J. Edwards 1994, 8.2.2 and 9.7.2, from memory).
func TestPGNNumbersFromFEN(t *testing.T) {
	t.Parallel()
	for fen, want := range map[string]string{
		"7k/8/6K1/8/8/8/8/R7 w - - 12 34": "34. Ra8# 1-0",
		"7K/8/6k1/8/8/8/8/r7 b - - 12 34": "34... Ra8# 0-1",
	} {
		p, err := board.ParseFEN(fen)
		if err != nil {
			t.Fatal(err)
		}
		m, err := p.Find("a1a8")
		if err != nil {
			t.Fatal(err)
		}
		text := board.Game{Start: p, Moves: []board.Annotated{{Move: m}}, Result: want[len(want)-3:]}.PGN()
		if !strings.Contains(text, "\n"+want+"\n") {
			t.Errorf("%s is written\n%s", fen, text)
		}
	}
}

// TestPGNRemarks: a remark stands after the last move, or before the first.
func TestPGNRemarks(t *testing.T) {
	t.Parallel()
	p := parse(t, "7k/8/6K1/8/8/8/8/R7 w - - 0 1")
	mate, err := p.Find("Ra8#")
	if err != nil {
		t.Fatal(err)
	}
	g := board.Game{Start: p, Result: "1-0"}
	g.Remark("Mate, par 1.")
	g.Moves = []board.Annotated{{Move: mate, Comment: "Checkmate."}}
	g.Remark("Well done.")
	if text := g.PGN(); !strings.HasSuffix(text, "\n{Mate, par 1.} 1. Ra8# {Checkmate. Well done.} 1-0\n\n") {
		t.Errorf("%s", text)
	}
	if back := reread(t, g.PGN()); len(back.Moves()) != 1 {
		t.Errorf("%d moves read back", len(back.Moves()))
	}
}
