package ending_test

import (
	"context"
	"sync"
	"testing"

	"drover/game/board"
	"drover/game/ending"
	"drover/solver"
)

// situation is one judged move of the corpus with its reasons.
type situation struct {
	ending.Situation
	ending.Facts
}

// perStage is how many starts of each stage the corpus has.
const perStage = 20

// situations is the corpus of the tests over random positions: every move from
// starts of every stage of every ending, judged, without a reply and with the
// longest defender's. It is made once.
var situations = sync.OnceValues(func() ([]situation, error) {
	ctx := context.Background()
	var all []situation
	for _, plan := range ending.Plans() {
		for _, step := range plan.Steps {
			starts, err := judge.Starts(ctx, &plan, step.Stage, perStage, 5)
			if err != nil {
				return nil, err
			}
			if step.Region == 0 && plan.Code != "KRRK" { // few stalemates else
				traps, err := judge.StartsOf(ctx, &plan, step.Stage, "trap", perStage, 5)
				if err != nil {
					return nil, err
				}
				starts = append(starts, traps...)
			}
			for _, p := range starts {
				if all, err = judgeAll(ctx, all, p); err != nil {
					return nil, err
				}
			}
		}
	}
	return all, nil
})

// judgeAll adds the moves of one start.
func judgeAll(ctx context.Context, all []situation, p board.Position) ([]situation, error) {
	for _, m := range p.Moves() {
		v, err := judge.Judge(ctx, p, m, 0)
		if err != nil {
			return nil, err
		}
		replies := []*board.Move{nil}
		if after := p.Play(m); len(after.Moves()) > 0 {
			r, err := judge.Reply(ctx, after, "longest", 5)
			if err != nil {
				return nil, err
			}
			replies = append(replies, &r)
		}
		for _, r := range replies {
			s := ending.Situation{Before: p, Move: m, Verdict: v, Reply: r}
			f, err := judge.Facts(ctx, s)
			if err != nil {
				return nil, err
			}
			all = append(all, situation{s, f})
		}
	}
	return all, nil
}

// each hands on the corpus.
func each(t *testing.T, visit func(s ending.Situation, f ending.Facts)) {
	t.Helper()
	all, err := situations()
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range all {
		visit(s.Situation, s.Facts)
	}
}

func judgeMove(t testing.TB, p board.Position, m board.Move, stage int) ending.Verdict {
	t.Helper()
	v, err := judge.Judge(context.Background(), p, m, stage)
	if err != nil {
		t.Fatalf("%s in %s: %v", p.SAN(m), p.FEN(), err)
	}
	return v
}

func facts(t testing.TB, s ending.Situation) ending.Facts {
	t.Helper()
	f, err := judge.Facts(context.Background(), s)
	if err != nil {
		t.Fatalf("%s in %s: %v", s.Before.SAN(s.Move), s.Before.FEN(), err)
	}
	return f
}

func look(t testing.TB, p board.Position) ending.Look {
	t.Helper()
	l, err := judge.Look(context.Background(), p)
	if err != nil {
		t.Fatalf("%s: %v", p.FEN(), err)
	}
	return l
}

func reply(t testing.TB, p board.Position, defender string, seed int64) board.Move {
	t.Helper()
	m, err := judge.Reply(context.Background(), p, defender, seed)
	if err != nil {
		t.Fatalf("%s: %v", p.FEN(), err)
	}
	return m
}

// ring is 0 on the outer ring to 3 in the centre: region 1 is ring 3, region 2
// rings 2 and 3, region 3 rings 1 to 3.
func ring(s board.Square) int { return min(s.File(), 7-s.File(), s.Rank(), 7-s.Rank()) }

func inRegion(s board.Square, region int) bool { return ring(s) >= 4-region }

// TestWayOut: the way out that a slip is explained by is a walk of a king that
// begins beside him, with his own step if he took one, and ends on a square that
// the lost region had kept him from. Few ways are too long to be named.
func TestWayOut(t *testing.T) {
	t.Parallel()
	slips, unnamed := 0, 0
	each(t, func(s ending.Situation, f ending.Facts) {
		if f.Grade != ending.Slip || f.Hangs.There {
			return
		}
		slips++
		if len(f.Out) == 0 {
			unnamed++
			return
		}
		after := s.Before.Play(s.Move)
		at := after.King(after.Turn())
		for i, sq := range f.Out {
			if !touch(at, sq) || inRegion(at, f.Opened) && i > 0 {
				t.Errorf("%s %s: the way %v is no walk out", s.Before.FEN(), s.Before.SAN(s.Move), f.Out)
			}
			at = sq
		}
		if !inRegion(at, f.Opened) {
			t.Errorf("%s %s: the way %v does not end in region %d", s.Before.FEN(), s.Before.SAN(s.Move), f.Out, f.Opened)
		}
		if f.Went && s.Reply.To != f.Out[0] {
			t.Errorf("%s %s: he went to %s, but the way is %v", s.Before.FEN(), s.Before.SAN(s.Move), s.Reply.To, f.Out)
		}
	})
	if slips < 1000 || 20*unnamed > slips {
		t.Errorf("%d slips, %d of them without a way", slips, unnamed)
	}
}

func touch(a, b board.Square) bool {
	df, dr := a.File()-b.File(), a.Rank()-b.Rank()
	return a != b && df*df <= 1 && dr*dr <= 1
}

// TestHanging: the man that is said to hang can really be taken, with a draw
// where the win is gone and else with a longer win; a forked man can be taken
// after every answer.
func TestHanging(t *testing.T) {
	t.Parallel()
	seen := map[string]int{}
	each(t, func(s ending.Situation, f ending.Facts) {
		if !f.Hangs.There {
			return
		}
		after := s.Before.Play(s.Move)
		if after.At(f.HangAt) != f.Hangs || f.Hangs.Color != s.Before.Turn() {
			t.Errorf("%s %s: no such man on %s", s.Before.FEN(), s.Before.SAN(s.Move), f.HangAt)
			return
		}
		if f.Forked {
			seen["forked"]++
			return
		}
		seen[string(f.Grade)]++
		for _, m := range after.Moves() {
			if m.To != f.HangAt {
				continue
			}
			won := look(t, after.Play(m)).Outcome == solver.Win
			if won != (f.Grade != ending.WinGone) {
				t.Errorf("%s %s, then %s: won is %v after %s", s.Before.FEN(), s.Before.SAN(s.Move), after.SAN(m), won, f.Grade)
			}
			if f.Taken != (s.Reply != nil && s.Reply.Capture) {
				t.Errorf("%s %s: taken is %v", s.Before.FEN(), s.Before.SAN(s.Move), f.Taken)
			}
			return
		}
		t.Errorf("%s %s: nobody can take on %s", s.Before.FEN(), s.Before.SAN(s.Move), f.HangAt)
	})
	if seen["win gone"] < 100 || seen["slip"] < 5 || seen["detour"] < 5 || seen["forked"] < 2 {
		t.Errorf("too few of a kind to test: %v", seen)
	}
}

// TestMissingSquare: where a stalemate names a square, he could have gone there
// before the move and cannot now.
func TestMissingSquare(t *testing.T) {
	t.Parallel()
	named, bare := 0, 0
	each(t, func(s ending.Situation, f ending.Facts) {
		if !f.Stale {
			return
		}
		after := s.Before.Play(s.Move)
		lone := after.Turn()
		if !after.Stalemate() || f.Grade != ending.WinGone {
			t.Errorf("%s %s is no stalemate", s.Before.FEN(), s.Before.SAN(s.Move))
		}
		if !f.Only {
			bare++
			return
		}
		named++
		if !touch(after.King(lone), f.Left) || s.Before.Covers(1-lone, f.Left) || !after.Covers(1-lone, f.Left) {
			t.Errorf("%s %s: %s was not free before, or is still", s.Before.FEN(), s.Before.SAN(s.Move), f.Left)
		}
	})
	if named < 5 || bare < 5 {
		t.Errorf("%d stalemates with a square named and %d without: too few", named, bare)
	}
}

// TestBetter: the better move that is named keeps the win and costs nothing.
func TestBetter(t *testing.T) {
	t.Parallel()
	named := 0
	each(t, func(s ending.Situation, f ending.Facts) {
		wanted := f.Grade == ending.WinGone || f.Cost >= 2
		if wanted != (f.Best != "") {
			t.Fatalf("%s %s (%s, cost %d): better is %q", s.Before.FEN(), s.Before.SAN(s.Move), f.Grade, f.Cost, f.Best)
		}
		if !wanted {
			return
		}
		named++
		if v := judgeMove(t, s.Before, find(t, s.Before, f.Best), 0); v.Cost != 0 || v.Grade != ending.OnCourse {
			t.Errorf("%s: %s is named better, but is %s and costs %d", s.Before.FEN(), f.Best, v.Grade, v.Cost)
		}
	})
	if named < 500 {
		t.Errorf("only %d", named)
	}
}

// TestShutOutIsSaid: a region is said to close exactly where every reply leaves
// it held though it did not hold before, and it is one of the plan's.
func TestShutOutIsSaid(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	for _, plan := range ending.Plans() {
		starts, err := judge.Starts(ctx, &plan, plan.Steps[0].Stage, 8, 9)
		if err != nil {
			t.Fatal(err)
		}
		said := 0
		for _, p := range starts {
			for {
				best, ok, err := judge.Best(ctx, p)
				if err != nil || !ok {
					t.Fatalf("%s: %v", p.FEN(), err)
				}
				f := facts(t, ending.Situation{Before: p, Move: best.Move, Verdict: judgeMove(t, p, best.Move, 0)})
				before := look(t, p).ShutOut
				if p = p.Play(best.Move); p.Checkmate() {
					break
				}
				if want := shut(t, plan, before, p); f.Closed != want {
					t.Errorf("%s: region %d is said to close, it is %d", p.FEN(), f.Closed, want)
				}
				said += min(f.Closed, 1)
				p = p.Play(reply(t, p, "centre", 1))
			}
		}
		if said == 0 {
			t.Errorf("%s: never said in %d games", plan.Code, len(starts))
		}
	}
}

// shut is the greatest region of a plan that did not hold before and holds
// after every reply.
func shut(t *testing.T, plan ending.Plan, before [3]bool, p board.Position) int {
	t.Helper()
	most := 0
	for _, step := range plan.Steps {
		if step.Region == 0 || before[step.Region-1] {
			continue
		}
		all := true
		for _, m := range p.Moves() {
			all = all && look(t, p.Play(m)).ShutOut[step.Region-1]
		}
		if all {
			most = max(most, step.Region)
		}
	}
	return most
}

// TestTakes: where a detour's better move is said to take a square, the lone king
// could step there after the move that was made, and not after the better one.
func TestTakes(t *testing.T) {
	t.Parallel()
	said := 0
	each(t, func(s ending.Situation, f ending.Facts) {
		if !f.Takes {
			return
		}
		said++
		to := func(p board.Position) bool {
			for _, m := range p.Moves() {
				if m.To == f.Taking {
					return true
				}
			}
			return false
		}
		if f.Grade != ending.Detour || !to(s.Before.Play(s.Move)) || to(s.Before.Play(find(t, s.Before, f.Best))) {
			t.Errorf("%s %s: %s does not take %s", s.Before.FEN(), s.Before.SAN(s.Move), f.Best, f.Taking)
		}
	})
	if said < 20 {
		t.Errorf("said %d times: too few", said)
	}
}
