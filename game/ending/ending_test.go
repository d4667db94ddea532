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
