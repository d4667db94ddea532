package ending_test

import (
	"context"
	"strings"
	"testing"

	"drover/game/board"
	"drover/game/ending"
	"drover/solver"
)

func judgeHold(t testing.TB, p board.Position, m board.Move) ending.HoldVerdict {
	t.Helper()
	v, err := judge.JudgeHold(context.Background(), p, m)
	if err != nil {
		t.Fatalf("%s in %s: %v", p.SAN(m), p.FEN(), err)
	}
	return v
}

// TestHandbookHolds: in a line that the book calls a draw each move of the
// defender holds; in Lasker's line that is lost if the king goes to e8, that
// move alone is 'draw gone'.
func TestHandbookHolds(t *testing.T) {
	t.Parallel()
	held, gone := 0, map[string][]string{}
	for _, l := range readLines(t, "testdata/holds.tsv") {
		p := parse(t, l.fen)
		for _, san := range l.moves {
			m := find(t, p, san)
			at := look(t, p)
			if at.Turn != at.Attacker && at.Outcome == solver.Draw {
				if judgeHold(t, p, m).Grade == ending.Held {
					held++
				} else {
					gone[l.id] = append(gone[l.id], san)
				}
			}
			p = p.Play(m)
		}
	}
	want := map[string]string{"elasker-cs-diag49-50-KPK-lost-if-Ke8": "Ke8"}
	for id, moves := range gone {
		if strings.Join(moves, " ") != want[id] {
			t.Errorf("%s: draw gone at %v", id, moves)
		}
	}
	if len(gone) != len(want) || held < 30 {
		t.Errorf("%d moves held, gone %v", held, gone)
	}
}

// TestHoldSentences: each sentence on a real position.
func TestHoldSentences(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ name, fen, move, eight, fourteen string }{
		{"only move", "3k4/8/3P4/4K3/8/8/8/8 b - - 0 1", "Kd7", "Still a draw. Only this move held. Well seen.",
			"Still a draw. Only this move held. Well seen."},
		{"several", "8/8/8/4k3/8/8/4K3/8 b - - 0 1", "", "", ""},
		{"pawn through", "3k4/8/3PK3/8/8/8/8/8 b - - 0 1", "Kc8",
			"Ke7, and the pawn gets through in 3 moves. Only Ke8 held the draw.",
			"Ke7 wins: the pawn queens in 3, mate in 9. Only Ke8 held the draw."},
		{"stalemate", "4k3/3P4/4K3/8/8/8/8/8 b - - 0 1", "Kd8", "", ""},
		{"bishop falls", "7k/5r2/8/8/8/1b6/8/K6R w - - 0 1", "", "", ""},
	} {
		if c.eight == "" {
			continue
		}
		p := parse(t, c.fen)
		m := find(t, p, c.move)
		f, err := judge.HoldFacts(context.Background(), ending.HoldSituation{Before: p, Move: m, Verdict: judgeHold(t, p, m)})
		if err != nil {
			t.Fatal(err)
		}
		for age, want := range map[int]string{8: c.eight, 14: c.fourteen} {
			if got := strings.Join(f.For(age), " "); got != want {
				t.Errorf("%s, for %d: %q, want %q", c.name, age, got, want)
			}
		}
	}
}
