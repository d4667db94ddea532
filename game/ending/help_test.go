package ending_test

import (
	"context"
	"slices"
	"testing"

	"drover/game/board"
	"drover/game/ending"
)

func hint(t *testing.T, fen string, step ending.Help, stage int) ending.Hint {
	t.Helper()
	h, err := judge.Hint(context.Background(), parse(t, fen), step, stage, "longest", 1)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

func square(t *testing.T, name string) board.Square {
	t.Helper()
	sq, ok := board.ParseSquare(name)
	if !ok {
		t.Fatal(name)
	}
	return sq
}

// TestHints holds each step of help against a position that can be checked by
// eye.
func TestHints(t *testing.T) {
	t.Parallel()
	const fen = "8/8/5k2/8/4R3/3K4/8/8 w - - 0 1" // the rook shuts the e-file and row 4
	if h := hint(t, fen, ending.HelpAim, 1); h.Wish != nil || h.Cover != nil || h.Man != nil || h.Move != nil {
		t.Errorf("the aim shows %+v", h)
	}
	h := hint(t, fen, ending.HelpCover, 1)
	if len(h.Pen) != 12 || h.Pen[0] != square(t, "f6") || h.Gaps != nil {
		t.Errorf("his pen %v, gaps %v", h.Pen, h.Gaps)
	}
	for _, c := range h.Cover {
		want := map[board.Kind]int{board.King: 8, board.Rook: 14}[c.Man]
		if c.Man == board.Rook {
			want = 14
		}
		if len(c.Squares) != want {
			t.Errorf("the %s on %s covers %v", c.Man, c.At, c.Squares)
		}
	}
	best, _, err := judge.Best(context.Background(), parse(t, fen))
	if err != nil {
		t.Fatal(err)
	}
	if h := hint(t, fen, ending.HelpMan, 1); h.Man == nil || h.Move != nil {
		t.Errorf("which man: %+v", h)
	}
	if h := hint(t, fen, ending.HelpMove, 1); h.Move == nil || h.Move.UCI() != best.Move.UCI() {
		t.Errorf("the move: %+v, best %s", h, best.Move.UCI())
	}
	if h := hint(t, fen, ending.HelpWish, 1); h.Wish == nil {
		t.Error("no wish")
	}
}

// TestGaps: after each step through a gap the king is no longer shut out, and
// after each other step he still is.
func TestGaps(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	plan, _ := ending.PlanOf("KBNK")
	starts, err := judge.Starts(ctx, plan, ending.Corner, 40, 3)
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for _, p := range starts {
		h, err := judge.Hint(ctx, p, ending.HelpCover, 2, "longest", 1)
		if err != nil {
			t.Fatal(err)
		}
		passed, ok := p.Pass()
		if !ok {
			t.Fatal(p.FEN())
		}
		for _, m := range passed.Moves() {
			l, err := judge.Look(ctx, passed.Play(m))
			if err != nil {
				t.Fatal(err)
			}
			gap := slices.Contains(h.Gaps, ending.Gap{From: m.From, To: m.To})
			if !m.Capture && gap == (l.Name == "KBNK" && l.ShutOut[1]) {
				t.Errorf("%s, %s: a gap is %v, shut out of the middle %v", p.FEN(), m.UCI(), gap, l.ShutOut)
			}
		}
		seen += len(h.Gaps)
	}
	if seen == 0 {
		t.Error("no gap in forty positions")
	}
}

// TestGapsOfTheFirstStage: before he is shut out of the centre the gaps are the steps on to
// its four squares, and no others.
func TestGapsOfTheFirstStage(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	plan, _ := ending.PlanOf("KBNK")
	starts, err := judge.Starts(ctx, plan, ending.Centralise, 40, 3)
	if err != nil {
		t.Fatal(err)
	}
	seen, steps := 0, 0
	for _, p := range starts {
		h, err := judge.Hint(ctx, p, ending.HelpCover, 0, "longest", 1)
		if err != nil {
			t.Fatal(err)
		}
		passed, ok := p.Pass()
		if !ok {
			continue
		}
		for _, m := range passed.Moves() {
			centre := slices.Contains([]string{"d4", "e4", "d5", "e5"}, m.To.String())
			if gap := slices.Contains(h.Gaps, ending.Gap{From: m.From, To: m.To}); gap != centre {
				t.Errorf("%s, %s: a gap is %v", p.FEN(), m.UCI(), gap)
			}
			steps++
		}
		seen += len(h.Gaps)
	}
	if seen == 0 || seen == steps {
		t.Errorf("%d of %d steps are gaps", seen, steps)
	}
}
