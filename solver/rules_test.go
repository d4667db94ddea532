package solver

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/corentings/chess/v2"
)

// library reads a legal position with the chess-rules library
// github.com/corentings/chess/v2, whose rules are not the solver's own.
func library(t testing.TB, p Position) *chess.Position {
	t.Helper()
	set, err := chess.FEN(p.text())
	if err != nil {
		t.Fatalf("%s: %v", p.text(), err)
	}
	return chess.NewGame(set).Position()
}

// random returns a legal position of men given as "KBNK" or "KPKP" (attacker
// first); either colour may attack, either side may be to move, and a pawn may
// just have moved two squares.
func random(r *rand.Rand, name string) Position {
	second := strings.LastIndex(name, "K")
	for {
		p := Position{EnPassant: NoSquare, Turn: Color(r.IntN(2))}
		attacker := Color(r.IntN(2))
		for i, c := range name {
			color := attacker
			if i >= second {
				color = attacker.Other()
			}
			p.Men[i] = Man{Kind(strings.IndexRune(kindLetters, c)), color, Square(r.IntN(64))}
			p.Count++
		}
		if p.Validate() != nil {
			continue
		}
		if q := passedPawn(r, p); q.Validate() == nil {
			return q
		}
		return p
	}
}

// passedPawn marks at random the square behind a pawn of the side not to move.
func passedPawn(r *rand.Rand, p Position) Position {
	row, behind := 3, Square(0)
	if p.Turn == White {
		row, behind = 4, 16
	}
	for _, m := range p.men() {
		if m.Kind == Pawn && m.Color != p.Turn && m.At.rank() == row && r.IntN(2) == 0 {
			p.EnPassant = m.At - 8 + behind
		}
	}
	return p
}

// The legal moves of random positions are those of the library, pawns and
// taking in passing included, and so are mate and stalemate.
func TestMovesAgainstLibrary(t *testing.T) {
	t.Parallel()
	endings := strings.Fields("KK KQK KRK KBK KNK KPK KRRK KBBK KBNK KQKR KRKN KBKP KPPK KPKP KQKP KNPK KRKP")
	r := rand.New(rand.NewPCG(1, 2))
	for range 20_000 {
		p := random(r, endings[r.IntN(len(endings))])
		sameMoves(t, p)
	}
	for range 20_000 { // pawns beside each other, so that passing matters
		p := random(r, "KPKP")
		if p.EnPassant != NoSquare {
			sameMoves(t, p)
		}
	}
}

func sameMoves(t *testing.T, p Position) {
	t.Helper()
	var got, want []string
	for _, m := range p.Moves(nil) {
		got = append(got, m.String())
	}
	theirs := library(t, p)
	for _, m := range theirs.ValidMoves() {
		want = append(want, m.String())
	}
	slices.Sort(got)
	slices.Sort(want)
	if !slices.Equal(got, want) {
		t.Fatalf("%s: moves %v, library %v", p.text(), got, want)
	}
	mate := len(got) == 0 && p.InCheck()
	if status := theirs.Status(); mate != (status == chess.Checkmate) || len(got) == 0 && !mate &&
		status != chess.Stalemate {
		t.Fatalf("%s: in check %v with %d moves, library %v", p.text(), p.InCheck(), len(got), status)
	}
}

// The value of a position follows from the values after the legal moves that
// the library finds: tables that are right about every move are right. 20,000
// random positions of every ending, either colour to win, either side to move,
// promotion and taking in passing included.
func TestValueFollowsFromMoves(t *testing.T) {
	t.Parallel()
	eachRandom(t, append(Endings(), "KK"), 20_000, func(t *testing.T, p Position) {
		if got, want := probe(t, p), fromMoves(t, p); got != want {
			t.Fatalf("%s: %+v, its moves say %+v", p.text(), got, want)
		}
	})
}

// Where pawns stand beside each other after a double step the right to take in
// passing changes values; it is looked at closely.
func TestValueInPassing(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(6, 6))
	changed, wanted := 0, 5_000
	if racing {
		wanted = 1_000
	}
	for seen := 0; seen < wanted; {
		p := random(r, "KPKP")
		if p.EnPassant == NoSquare || !canPass(p) {
			continue
		}
		seen++
		got := probe(t, p)
		if want := fromMoves(t, p); got != want {
			t.Fatalf("%s: %+v, its moves say %+v", p.text(), got, want)
		}
		p.EnPassant = NoSquare
		if got != probe(t, p) {
			changed++
		}
	}
	if changed < wanted/50 {
		t.Errorf("the right to take in passing changed only %d values: the positions are badly chosen", changed)
	}
}

// canPass reports whether a pawn can take in passing.
func canPass(p Position) bool {
	return slices.ContainsFunc(p.Moves(nil), func(m Move) bool { return m.Capture && m.To == p.EnPassant })
}

// fromMoves derives a value from the positions after each move of the library.
func fromMoves(t *testing.T, p Position) Value {
	t.Helper()
	theirs := library(t, p)
	moves := theirs.ValidMoves()
	if len(moves) == 0 && theirs.Status() == chess.Checkmate {
		return Value{Outcome: Loss}
	}
	var best Value
	for i := range moves {
		v := probe(t, fen(t, theirs.Update(&moves[i]).String())).before()
		if i == 0 || better(v, best) {
			best = v
		}
	}
	return best
}

// better reports whether a player prefers a to b.
func better(a, b Value) bool {
	switch {
	case a.Outcome != b.Outcome:
		return a.Outcome > b.Outcome
	case a.Outcome == Win:
		return a.Plies < b.Plies
	}
	return a.Plies > b.Plies
}

// Move trees of the solver's own generator against published perft results
// (testdata/perft.tsv, the source of each row in it): every row with up to four
// men, no castling right and at most a million nodes.
func TestPerft(t *testing.T) {
	t.Parallel()
	seen := 0
	for _, row := range rows(t, "perft.tsv") {
		fields := strings.Fields(row[1])
		men := 0
		for _, c := range strings.ToUpper(fields[0]) {
			if strings.ContainsRune(kindLetters, c) {
				men++
			}
		}
		if men > MaxMen || fields[2] != "-" || number(t, row[3]) > 1_000_000 {
			continue
		}
		seen++
		if got, want := perft(fen(t, row[1]), number(t, row[2])), number(t, row[3]); got != want {
			t.Errorf("%s, depth %s: %d nodes, published %d", row[1], row[2], got, want)
		}
	}
	if seen < 40 {
		t.Errorf("only %d rows were checked", seen)
	}
}

func perft(p Position, depth int) (nodes int) {
	var buf [64]Move
	moves := p.Moves(buf[:0])
	if depth == 1 {
		return len(moves)
	}
	for _, m := range moves {
		nodes += perft(p.Play(m), depth-1)
	}
	return nodes
}

// A position after a move equals the library's, the right to take in passing
// included where it matters.
func TestPlayAgainstLibrary(t *testing.T) {
	t.Parallel()
	r := rand.New(rand.NewPCG(3, 9))
	for range 3_000 {
		p := random(r, []string{"KPKP", "KRKP", "KBNK", "KPPK"}[r.IntN(4)])
		theirs := library(t, p)
		for _, m := range theirs.ValidMoves() {
			i := slices.IndexFunc(p.Moves(nil), func(o Move) bool { return o.String() == m.String() })
			if i < 0 {
				t.Fatalf("%s: the library's %v is missing", p.text(), m.String())
			}
			after := p.Play(p.Moves(nil)[i])
			want := strings.Fields(theirs.Update(&m).String())
			got := strings.Fields(after.text())
			if got[0] != want[0] || got[1] != want[1] || got[3] != "-" && got[3] != want[3] {
				t.Fatalf("%s after %v: %v, library %v", p.text(), m.String(), got, want)
			}
			if err := after.Validate(); err != nil {
				t.Fatalf("%s after %v: %v", p.text(), m.String(), err)
			}
		}
	}
}
