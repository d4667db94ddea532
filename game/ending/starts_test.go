package ending_test

import (
	"context"
	"fmt"
	"slices"
	"strings"
	"testing"

	"drover/game"
	"drover/game/board"
	"drover/game/ending"
)

func starts(t *testing.T, plan *ending.Plan, stage ending.Stage, n int, seed int64) []board.Position {
	t.Helper()
	found, err := judge.Starts(context.Background(), plan, stage, n, seed)
	if err != nil {
		t.Fatalf("%s, %s: %v", plan.Code, stage, err)
	}
	return found
}

// TestStarts: as many as asked, White to move and attacking, won, in the stage,
// at least two moves from its end, and no two the same but for a mirror.
func TestStarts(t *testing.T) {
	t.Parallel()
	for _, plan := range ending.Plans() {
		for i, step := range plan.Steps {
			found := starts(t, &plan, step.Stage, 24, 41)
			classes := map[string]string{}
			for _, p := range found {
				l := look(t, p)
				if !l.Won() || l.Name != plan.Code || l.Turn != board.White || l.Attacker != board.White {
					t.Errorf("%s is no start of %s: %+v", p.FEN(), plan.Code, l)
				}
				if l.Stage != i || l.Par < 2 || l.Clock != 0 {
					t.Errorf("%s: stage %d, par %d; want stage %d, par 2 or more", p.FEN(), l.Stage, l.Par, i)
				}
				if other, twice := classes[symmetric(p)]; twice {
					t.Errorf("%s mirrors %s", p.FEN(), other)
				}
				classes[symmetric(p)] = p.FEN()
			}
			if len(found) != 24 {
				t.Errorf("%s, %s: %d starts", plan.Code, step.Stage, len(found))
			}
		}
	}
}

// symmetric is the same text for positions that turn or mirror into each other.
func symmetric(p board.Position) string {
	var all []string
	for turn := range 8 {
		var men []string
		for sq := board.Square(0); sq < 64; sq++ {
			m := p.At(sq)
			if !m.There {
				continue
			}
			f, r := sq.File(), sq.Rank()
			for range turn % 4 {
				f, r = 7-r, f
			}
			if turn >= 4 {
				f = 7 - f
			}
			men = append(men, fmt.Sprintf("%d%c%d%d", m.Color, m.Kind.Letter(), f, r))
		}
		slices.Sort(men)
		all = append(all, strings.Join(men, " "))
	}
	return slices.Min(all)
}

// TestStartsBySeed: a seed always picks the same, another seed others.
func TestStartsBySeed(t *testing.T) {
	t.Parallel()
	plan, _ := ending.PlanOf("KBNK")
	fens := func(seed int64) (out []string) {
		for _, p := range starts(t, plan, ending.Corner, 6, seed) {
			out = append(out, p.FEN())
		}
		return out
	}
	if a, b := fens(1), fens(1); !slices.Equal(a, b) {
		t.Errorf("one seed picked %v and %v", a, b)
	}
	if a, b := fens(1), fens(2); slices.Equal(a, b) {
		t.Errorf("two seeds picked %v", a)
	}
	if short := starts(t, plan, ending.Corner, 3, 1); short[2].FEN() != fens(1)[2] {
		t.Error("asking for more changed the first ones")
	}
}

// TestStartsRefuse: a stage of another plan, and more than there are.
func TestStartsRefuse(t *testing.T) {
	t.Parallel()
	queen, _ := ending.PlanOf("KQK")
	for _, c := range []struct {
		stage ending.Stage
		n     int
		say   string
	}{
		{ending.Corner, 4, "has no stage of that name"},
		{"", 4, "has no stage of that name"},
		{ending.Mate, 100_000, "Ask for fewer"},
	} {
		_, err := judge.Starts(context.Background(), queen, c.stage, c.n, 1)
		if game.KindOf(err) != game.Bad || !strings.Contains(game.Saying(err), c.say) {
			t.Errorf("%d of %q: %v", c.n, c.stage, err)
		}
	}
}

// TestPlans: each plan is found by its code, ends in a stage that the mate
// completes, and its regions only grow.
func TestPlans(t *testing.T) {
	t.Parallel()
	for _, plan := range ending.Plans() {
		found, ok := ending.PlanOf(plan.Code)
		if !ok || found.Name != plan.Name || found.Name == "" || found.Pass == 0 {
			t.Errorf("%s: %+v", plan.Code, found)
		}
		region := 0
		for i, step := range plan.Steps {
			last := i == plan.Last()
			if plan.Index(step.Stage) != i || step.Aim == "" || last != (step.Region == 0) || !last && step.Region <= region {
				t.Errorf("%s, stage %d: %+v", plan.Code, i, step)
			}
			region = step.Region
		}
		if plan.Index("nothing") != -1 {
			t.Errorf("%s has a stage of no name", plan.Code)
		}
	}
	if _, ok := ending.PlanOf("KNK"); ok {
		t.Error("there is a plan for what cannot be won")
	}
	if got := ending.Centralise.For(8); got != "To the middle" {
		t.Errorf("the first stage is named %s to a child of eight", got)
	}
	for stage, name := range map[ending.Stage]string{
		ending.Centralise: "Centralise", ending.Edge: "Drive to the edge", ending.Corner: "Drive to the corner",
		ending.Mate: "Mate",
	} {
		if stage.Name() != name {
			t.Errorf("%s is named %s", stage, stage.Name())
		}
		if got := stage.For(14); got != name {
			t.Errorf("%s is named %s to a reader of fourteen", stage, got)
		}
	}
}

// TestCorners: with bishop and knight, mate can be forced in the corners of the
// bishop's colour alone (J. R. Capablanca, Chess Fundamentals, 1921, example 39);
// in other endings no corner is marked.
func TestCorners(t *testing.T) {
	t.Parallel()
	for fen, want := range map[string]string{
		"4k3/8/8/8/8/8/8/2B1K1N1 w - - 0 1": "a1 h8", "4k3/8/8/8/8/8/8/4KBN1 w - - 0 1": "a8 h1",
		"4k3/8/8/8/8/8/8/2B1KB2 w - - 0 1": "", "4k3/8/8/8/8/8/8/4K2Q w - - 0 1": "", "4k3/8/8/8/8/8/8/2B1K3 w - - 0 1": "",
		"4k3/8/8/8/8/8/8/R3K1N1 w - - 0 1": "",
	} {
		got := ending.Corners(parse(t, fen), board.White)
		if strings.Join(got, " ") != want || got == nil {
			t.Errorf("%s: %v, want %s", fen, got, want)
		}
	}
	black := parse(t, "2b1k1n1/8/8/8/8/8/8/4K3 w - - 0 1")
	if got := ending.Corners(black, board.Black); strings.Join(got, " ") != "a8 h1" {
		t.Errorf("Black's light bishop: %v", got)
	}
}

// TestPen counts squares on boards that anyone can check by eye.
func TestPen(t *testing.T) {
	t.Parallel()
	for fen, want := range map[string]int{
		"k7/2Q5/8/8/8/8/8/7K w - - 0 1":  1,      // the queen covers a7, b7 and b8
		"k7/8/8/8/8/8/1R6/1K6 w - - 0 1": 6,      // a3 to a8: the guarded rook covers a2 and the b-file
		"4k3/8/R7/1K6/8/8/8/8 w - - 0 1": 14,     // rows 7 and 8 without the rook's file
		"7k/8/8/8/8/8/8/K7 w - - 0 1":    64 - 4, // all but what the other king stands on and covers
		"8/8/8/8/8/8/1R6/k1K5 w - - 0 1": 1,      // nowhere: a2 and b1 are covered, b2 is guarded
		"k7/8/8/8/8/8/1R5K/8 w - - 0 1":  6 + 1 + 1 + 6*7 - 4,
		// with no guard he takes it and walks on: a1, and six files but row 2 and four squares by the king
	} {
		p := parse(t, fen)
		pen := ending.Pen(p, board.Black)
		seen := map[board.Square]bool{}
		for _, sq := range pen {
			if seen[sq] {
				t.Errorf("%s: %s is counted twice", fen, sq)
			}
			seen[sq] = true
		}
		if pen[0] != p.King(board.Black) || len(pen) != want {
			t.Errorf("%s: %d squares %v, want %d", fen, len(pen), pen, want)
		}
	}
}
