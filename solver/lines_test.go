package solver

import (
	"slices"
	"strings"
	"testing"

	"github.com/corentings/chess/v2"
)

// replay returns the positions of a handbook line, the start first; the rules
// library reads its moves.
func replay(t *testing.T, start string, moves []string) []Position {
	t.Helper()
	line := []Position{fen(t, start)}
	for _, san := range moves {
		last := line[len(line)-1]
		m, err := chess.AlgebraicNotation{}.Decode(library(t, last), san)
		if err != nil {
			t.Fatalf("%s in %s: %v", san, last.text(), err)
		}
		i := slices.IndexFunc(last.Moves(nil), func(o Move) bool { return o.String() == m.String() })
		if i < 0 {
			t.Fatalf("%s in %s is not legal", san, last.text())
		}
		line = append(line, last.Play(last.Moves(nil)[i]))
	}
	return line
}

// Handbook lines with the claims of their books (testdata/lines.tsv, the source of
// each in its row). A win is kept by every move of the line. A draw stands at its
// end; two lines show the move that gives the win or the draw away.
func TestHandbookLines(t *testing.T) {
	t.Parallel()
	for _, row := range rows(t, "lines.tsv") {
		id, end, claim := row[0], row[4], row[5]
		line := replay(t, row[1], strings.Fields(row[2]))
		last := line[len(line)-1]
		if stale := len(last.Moves(nil)) == 0 && !last.InCheck(); stale != (end == "stalemate") {
			t.Errorf("%s: stalemate %v, the book ends in %s", id, stale, end)
		}
		for i, p := range line {
			won := probe(t, p).Outcome == Win && p.Turn == White || probe(t, p).Outcome == Loss && p.Turn == Black
			if strings.HasPrefix(claim, "win") && !won {
				t.Errorf("%s: the book wins, but not after %d moves", id, i)
			}
		}
		if end := probe(t, last); claim == "pawn queens" && end != (Value{Loss, end.Plies}) {
			t.Errorf("%s: the book queens, but the end is %+v", id, end)
		}
		if strings.Contains(claim, "draw") && probe(t, last) != (Value{}) {
			t.Errorf("%s: the book draws, but the end is %+v", id, probe(t, last))
		}
	}
}
