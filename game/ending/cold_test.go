package ending_test

import (
	"context"
	"errors"
	"testing"

	"drover/game"
	"drover/game/ending"
	"drover/solver"
)

// TestNoTables: a judge whose tables are not built, asked by somebody who does
// not wait, answers every question with the reason and no verdict.
func TestNoTables(t *testing.T) {
	t.Parallel()
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	cold := ending.NewJudge(solver.NewTables())
	p := parse(t, "k7/8/1K6/3N4/8/8/8/5B2 w - - 0 1")
	m := find(t, p, "Ba6")
	plan, _ := ending.PlanOf("KBNK")
	s := ending.Situation{Before: p, Move: m, Verdict: judgeMove(t, p, m, 0)}
	slip := ending.Situation{Before: p, Move: find(t, p, "Ka5")}
	slip.Verdict = judgeMove(t, p, slip.Move, 0)
	for name, ask := range map[string]func() error{
		"ready":   func() error { return cold.Ready(ctx) },
		"look":    func() error { _, err := cold.Look(ctx, p); return err },
		"judge":   func() error { _, err := cold.Judge(ctx, p, m, 0); return err },
		"options": func() error { _, err := cold.Options(ctx, p); return err },
		"best":    func() error { _, _, err := cold.Best(ctx, p); return err },
		"survey":  func() error { _, _, err := cold.Survey(ctx, p); return err },
		"par":     func() error { _, err := cold.ParOf(ctx, p, 0); return err },
		"facts":   func() error { _, err := cold.Facts(ctx, s); return err },
		"slip":    func() error { _, err := cold.Facts(ctx, slip); return err },
		"reply":   func() error { _, err := cold.Reply(ctx, p.Play(m), "longest", 1); return err },
		"starts":  func() error { _, err := cold.Starts(ctx, plan, ending.Mate, 1, 1); return err },
		"wish":    func() error { _, err := cold.Hint(ctx, p, ending.HelpWish, 3, "longest", 1); return err },
		"cover":   func() error { _, err := cold.Hint(ctx, p, ending.HelpCover, 3, "longest", 1); return err },
		"man":     func() error { _, err := cold.Hint(ctx, p, ending.HelpMan, 3, "longest", 1); return err },
	} {
		if err := ask(); !errors.Is(err, context.Canceled) || game.KindOf(err) == game.Bad {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestParOf: the par of each stage of the plan from one position rises with the
// stage, is the distance in the last, and is nothing where nothing is won.
func TestParOf(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	for _, plan := range ending.Plans() {
		for _, p := range starts(t, &plan, plan.Steps[0].Stage, 10, 61) {
			last := 0
			for i := range plan.Steps {
				par, err := judge.ParOf(ctx, p, i)
				if err != nil || par < last {
					t.Errorf("%s: par of stage %d is %d, of the one before %d (%v)", p.FEN(), i, par, last, err)
				}
				last = par
			}
			if l := look(t, p); last != l.MateIn() {
				t.Errorf("%s: par of the last stage is %d, mate in %d", p.FEN(), last, l.MateIn())
			}
			for _, stage := range []int{-1, len(plan.Steps)} {
				if par, err := judge.ParOf(ctx, p, stage); par != 0 || err != nil {
					t.Errorf("%s: par of stage %d is %d, %v", p.FEN(), stage, par, err)
				}
			}
		}
	}
	if par, err := judge.ParOf(ctx, parse(t, "7k/8/7K/8/8/8/8/6Q1 b - - 0 1"), 0); par != 0 || err != nil {
		t.Errorf("a stalemate has par %d, %v", par, err)
	}
}

// TestParIsForced: par is what can be forced and no more: some move brings it
// down by one against every reply, and no move by more.
func TestParIsForced(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	plan, _ := ending.PlanOf("KBNK")
	for _, p := range starts(t, plan, ending.Corner, 6, 62) {
		par := look(t, p).Par
		best := par + 1
		for _, m := range p.Moves() {
			next, worst := p.Play(m), 0
			if !look(t, next).Won() {
				continue
			}
			for _, r := range next.Moves() {
				if r.Capture {
					worst = 1 << 10
					break
				}
				n, err := judge.ParOf(ctx, next.Play(r), 2)
				if err != nil {
					t.Fatal(err)
				}
				if look(t, next.Play(r)).ShutOut[2] {
					n = 0
				}
				worst = max(worst, n)
			}
			best = min(best, worst)
		}
		if best != par-1 {
			t.Errorf("%s: par %d, and the best move leaves %d", p.FEN(), par, best)
		}
	}
}
