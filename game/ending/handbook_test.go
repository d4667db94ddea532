package ending_test

import (
	"context"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"drover/game/board"
	"drover/game/ending"
	"drover/solver"
)

// line is one handbook line of testdata/lines.tsv; each names its source there.
type line struct {
	id, fen, end, claim string
	moves               []string
}

func lines(t *testing.T) []line {
	t.Helper()
	out := readLines(t, "testdata/lines.tsv")
	if len(out) != 21 {
		t.Fatalf("%d lines, want 21", len(out))
	}
	return out
}

// readLines reads handbook lines from a file.
func readLines(t *testing.T, file string) []line {
	t.Helper()
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	var out []line
	for _, row := range strings.Split(strings.TrimSpace(string(text)), "\n") {
		f := strings.Split(row, "\t")
		if row[0] == '#' || f[0] == "id" {
			continue
		}
		if len(f) != 8 || f[7] == "" {
			t.Fatalf("%s: a row has eight fields and a source", f[0])
		}
		out = append(out, line{id: f[0], fen: f[1], moves: strings.Fields(f[2]), end: f[4], claim: f[5]})
	}
	return out
}

// judged is a move of the winning side on a line.
type judged struct {
	before board.Position
	move   board.Move
	ending.Verdict
}

// walk replays a line and judges the attacker's moves with the sticking stage.
func (l line) walk(t *testing.T) (moves []judged, last board.Position) {
	t.Helper()
	p, stage := parse(t, l.fen), 0
	for i, san := range l.moves {
		m := find(t, p, san)
		if i%2 == 0 {
			v, err := judge.Judge(context.Background(), p, m, stage)
			if err != nil {
				t.Fatalf("%s, %s: %v", l.id, san, err)
			}
			moves = append(moves, judged{p, m, v})
			stage = v.Next
		}
		p = p.Play(m)
	}
	return moves, p
}

// TestHandbookEnds: each line ends as the book says.
func TestHandbookEnds(t *testing.T) {
	t.Parallel()
	for _, l := range lines(t) {
		moves, last := l.walk(t)
		if last.Checkmate() != (l.end == "checkmate") || last.Stalemate() != (l.end == "stalemate") {
			t.Errorf("%s does not end in %s", l.id, l.end)
		}
		if n := said(l.claim); n > 0 && l.end == "checkmate" && n != len(moves) {
			t.Errorf("%s mates in %d, the book says %d", l.id, len(moves), n)
		}
	}
}

// said is the number of moves in a claim such as "mate in 10"; 0 if there is none.
func said(claim string) int {
	m := regexp.MustCompile(`mate (?:in|move|at move) (\d+)`).FindStringSubmatch(claim)
	if m == nil {
		return 0
	}
	n, _ := strconv.Atoi(m[1]) // digits, by the pattern
	return n
}

// TestHandbookGrades: no handbook move of the winning side is a slip, and the
// win goes only where the book itself warns of stalemate.
func TestHandbookGrades(t *testing.T) {
	t.Parallel()
	for _, l := range lines(t) {
		moves, _ := l.walk(t)
		for i, m := range moves {
			warned := l.end == "stalemate" && i == len(moves)-1
			gone := m.Grade == ending.WinGone
			if m.Grade == ending.Slip || gone != warned {
				t.Errorf("%s, move %d %s: %s (cost %d)", l.id, i+1, m.before.SAN(m.move), m.Grade, m.Cost)
			}
			if m.Before.Outcome != solver.Win {
				t.Errorf("%s, move %d: the position is not won", l.id, i+1)
			}
		}
	}
}

// TestHandbookShortcut: in the two bishops of E. Lasker 8 Ba8 costs two moves
// and ends outside the region that opened its stage, but it was move 1, of cost
// 0, that had left it: so it is a detour and no slip.
func TestHandbookShortcut(t *testing.T) {
	t.Parallel()
	for _, l := range lines(t) {
		if l.id != "elasker-cs-pos3-KBBK" {
			continue
		}
		moves, _ := l.walk(t)
		m := moves[7]
		if m.before.SAN(m.move) != "Ba8" || m.Cost != 2 || m.Grade != ending.Detour || moves[0].Cost != 0 {
			t.Errorf("8 %s: %s, cost %d; 1 cost %d", m.before.SAN(m.move), m.Grade, m.Cost, moves[0].Cost)
		}
		return
	}
	t.Error("the line is missing")
}

// TestOptimalLines: the published optimal lines cost nothing at any move, and
// begin at the published distance (V. Kotesovec in OEIS A225552, A225556, A225557).
func TestOptimalLines(t *testing.T) {
	t.Parallel()
	seen := 0
	for _, l := range lines(t) {
		if !strings.Contains(l.claim, "optimal") {
			continue
		}
		seen++
		moves, _ := l.walk(t)
		if got := moves[0].Before.MateIn(); got != said(l.claim) {
			t.Errorf("%s: mate in %d, published %s", l.id, got, l.claim)
		}
		for i, m := range moves {
			if m.Cost != 0 || m.Grade != ending.OnCourse {
				t.Errorf("%s, move %d: cost %d, %s", l.id, i+1, m.Cost, m.Grade)
			}
		}
	}
	if seen != 3 {
		t.Errorf("%d optimal lines, want 3", seen)
	}
}

// TestHandbookBudgets: queen in at most 10 moves, rook in under 20, two bishops
// in under 30, bishop and knight within 50 (J. R. Capablanca, Chess Fundamentals,
// 1921) hold for best play from any start, and for the lines themselves.
func TestHandbookBudgets(t *testing.T) {
	t.Parallel()
	budget := map[string]int{"KQK": 10, "KRK": 19, "KBBK": 29, "KBNK": 50}
	ctx := context.Background()
	for code, most := range budget {
		plan, _ := ending.PlanOf(code)
		starts, err := judge.Starts(ctx, plan, plan.Steps[0].Stage, 50, 3)
		if err != nil {
			t.Fatal(err)
		}
		for _, p := range starts {
			if l, err := judge.Look(ctx, p); err != nil || l.MateIn() > most {
				t.Errorf("%s: mate in %d, the book says %d", p.FEN(), l.MateIn(), most)
			}
		}
	}
	for _, l := range lines(t) {
		moves, _ := l.walk(t)
		if most, ok := budget[moves[0].Before.Name]; ok && len(moves) > most {
			t.Errorf("%s takes %d moves, the book's budget is %d", l.id, len(moves), most)
		}
	}
}
