package ending_test

import (
	"context"
	"os"
	"strings"
	"testing"

	"drover/game"
	"drover/game/board"
	"drover/game/ending"
	"drover/solver"
)

var judge = ending.NewJudge(solver.NewTables())

func TestMain(m *testing.M) {
	if err := judge.Ready(context.Background()); err != nil {
		panic(err)
	}
	os.Exit(m.Run())
}

func parse(t testing.TB, fen string) board.Position {
	t.Helper()
	p, err := board.ParseFEN(fen)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func find(t testing.TB, p board.Position, move string) board.Move {
	t.Helper()
	m, err := p.Find(move)
	if err != nil {
		t.Fatalf("%s in %s: %v", move, p.FEN(), err)
	}
	return m
}

// verdict judges a move from a position without a history.
func verdict(t testing.TB, fen, move string) (ending.Verdict, ending.Facts) {
	t.Helper()
	p := parse(t, fen)
	m := find(t, p, move)
	v, err := judge.Judge(context.Background(), p, m, 0)
	if err != nil {
		t.Fatal(err)
	}
	f, err := judge.Facts(context.Background(), ending.Situation{Before: p, Move: m, Verdict: v})
	if err != nil {
		t.Fatal(err)
	}
	return v, f
}

// TestBestPlayMates: from starts of every stage of every ending, best play
// against each defender mates in exactly the distance that was said at the
// start or sooner, every move is on course, and the sticking stage never falls.
func TestBestPlayMates(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	for _, plan := range ending.Plans() {
		for _, d := range ending.Defenders() {
			starts, err := judge.Starts(ctx, &plan, plan.Steps[0].Stage, 4, 7)
			if err != nil {
				t.Fatal(err)
			}
			for _, p := range starts {
				bestPlay(t, p, d.Code)
			}
		}
	}
}

func bestPlay(t *testing.T, p board.Position, defender string) {
	ctx := context.Background()
	start, _ := judge.Look(ctx, p)
	stage := 0
	for moves := 1; ; moves++ {
		best, ok, err := judge.Best(ctx, p)
		if err != nil || !ok {
			t.Fatalf("%s: %v", p.FEN(), err)
		}
		v, err := judge.Judge(ctx, p, best.Move, stage)
		if err != nil || v.Grade != ending.OnCourse || v.Cost != 0 || v.Stage < stage {
			t.Fatalf("%s %s: %+v, %v", p.FEN(), p.SAN(best.Move), v, err)
		}
		stage = v.Next
		p = p.Play(best.Move)
		if p.Checkmate() {
			if moves > start.MateIn() || defender == "longest" && moves != start.MateIn() {
				t.Errorf("%s: mate in %d, said %d", defender, moves, start.MateIn())
			}
			return
		}
		r, err := judge.Reply(ctx, p, defender, 1)
		if err != nil {
			t.Fatal(err)
		}
		p = p.Play(r)
	}
}

// TestGrades has a real position for each grade and each sentence.
func TestGrades(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, fen, move string
		grade           ending.Grade
		say             string
	}{
		{"mate", "7k/8/6K1/8/8/8/8/R7 w - - 0 1", "Ra8#", ending.OnCourse, "Checkmate."},
		{"stalemate", "7k/8/6K1/8/8/8/5Q2/8 w - - 0 1", "Qf7", ending.WinGone, "stalemate, a draw"},
		{"rook given away", "8/8/8/8/3k4/8/8/K6R w - - 0 1", "Rh4+", ending.OnCourse, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			v, f := verdict(t, c.fen, c.move)
			said := strings.Join(f.Sentences(), " ")
			t.Logf("%s %s: %s, cost %d: %s", c.fen, c.move, v.Grade, v.Cost, said)
			if v.Grade != c.grade || !strings.Contains(said, c.say) {
				t.Errorf("graded %s (cost %d), %q", v.Grade, v.Cost, said)
			}
		})
	}
}

// TestRefusedEndings: each position that cannot be judged gets a sentence.
func TestRefusedEndings(t *testing.T) {
	t.Parallel()
	for fen, say := range map[string]string{
		"8/8/8/4k3/8/8/PP6/3QK3 w - - 0 1": "there are 5 men",
		"8/8/8/4k3/8/8/8/4K2R w K - 0 1":   "castling",
	} {
		_, err := judge.Look(context.Background(), parse(t, fen))
		if game.KindOf(err) != game.Bad || !strings.Contains(game.Saying(err), say) {
			t.Errorf("%s: %v", fen, err)
		}
	}
}
