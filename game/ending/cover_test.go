package ending_test

import (
	"context"
	"testing"

	"drover/game/board"
	"drover/game/ending"
)

// TestHelpIsTrue holds every step of help over positions of every stage against
// the board itself: the cover is cover, a gap is a step that he has and that
// leads out, the man and the move are of a move that costs nothing.
func TestHelpIsTrue(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	gaps := 0
	for _, plan := range ending.Plans() {
		for stage, step := range plan.Steps {
			for _, p := range starts(t, &plan, step.Stage, 6, 51) {
				h := map[ending.Help]ending.Hint{}
				for s := ending.HelpAim; s <= ending.HelpMove; s++ {
					var err error
					if h[s], err = judge.Hint(ctx, p, s, stage, "longest", 1); err != nil || h[s].Step != s {
						t.Fatalf("%s, step %d: %v", p.FEN(), s, err)
					}
				}
				coverIsTrue(t, p, h[ending.HelpCover])
				gaps += gapsAreTrue(t, p, plan, stage, h[ending.HelpCover])
				wishIsTrue(t, p, h[ending.HelpWish])
				move := h[ending.HelpMove].Move
				if move == nil || h[ending.HelpMan].Man == nil || *h[ending.HelpMan].Man != move.From {
					t.Fatalf("%s: the man and the move do not go together", p.FEN())
				}
				if v := judgeMove(t, p, *move, stage); v.Cost != 0 || v.Grade != ending.OnCourse {
					t.Errorf("%s: the move shown, %s, is %s and costs %d", p.FEN(), p.SAN(*move), v.Grade, v.Cost)
				}
			}
		}
	}
	if gaps < 30 {
		t.Errorf("only %d gaps were shown", gaps)
	}
}

func coverIsTrue(t *testing.T, p board.Position, h ending.Hint) {
	t.Helper()
	men, all := 0, map[board.Square]bool{}
	for _, c := range h.Cover {
		men++
		if m := p.At(c.At); !m.There || m.Kind != c.Man || m.Color != p.Turn() {
			t.Errorf("%s: there is no %s on %s", p.FEN(), c.Man, c.At)
		}
		for _, sq := range c.Squares {
			all[sq] = true
		}
	}
	if men != p.Count()-1 {
		t.Errorf("%s: the cover of %d men", p.FEN(), men)
	}
	for sq := board.Square(0); sq < 64; sq++ {
		if all[sq] != p.Covers(p.Turn(), sq) {
			t.Errorf("%s: cover of %s is %v", p.FEN(), sq, all[sq])
		}
	}
}

// gapsAreTrue counts the gaps: a plan shows either his pen or the gaps, and a
// gap is a step after which the region that the stage needs does not hold.
func gapsAreTrue(t *testing.T, p board.Position, plan ending.Plan, stage int, h ending.Hint) int {
	t.Helper()
	if plan.Pen != (len(h.Pen) > 0) || plan.Pen && len(h.Gaps) > 0 {
		t.Errorf("%s: pen %v, gaps %v", p.FEN(), h.Pen, h.Gaps)
	}
	passed, ok := p.Pass()
	if !ok {
		t.Fatalf("%s: the turn cannot pass", p.FEN())
	}
	for _, g := range h.Gaps {
		m := find(t, passed, g.From.String()+g.To.String())
		region := plan.Steps[max(stage-1, 0)].Region
		if !inRegion(g.To, region) && look(t, passed.Play(m)).ShutOut[region-1] {
			t.Errorf("%s: %s to %s leads nowhere", p.FEN(), g.From, g.To)
		}
	}
	return len(h.Gaps)
}

// wishIsTrue: he wishes to go where he could go if the turn passed.
func wishIsTrue(t *testing.T, p board.Position, h ending.Hint) {
	t.Helper()
	passed, _ := p.Pass()
	if h.Wish == nil {
		if len(passed.Moves()) > 0 {
			t.Errorf("%s: he has moves and no wish", p.FEN())
		}
		return
	}
	find(t, passed, passed.King(passed.Turn()).String()+h.Wish.String())
}
