package ending_test

import (
	"context"
	"strconv"
	"strings"
	"testing"

	"drover/game/board"
	"drover/game/ending"
	"drover/solver"
)

// examples computes the two positions of each stage of the guide.
func examples(t *testing.T, check func(g ending.Guide, step ending.GuideStep, two [2]ending.Example)) {
	t.Helper()
	for _, g := range ending.Guides() {
		for _, step := range g.Steps {
			two, err := judge.Examples(context.Background(), g, step.Stage)
			if err != nil {
				t.Fatalf("%s %s: %v", g.Code, step.Stage, err)
			}
			check(g, step, two)
		}
	}
}

// TestGuideHasEveryStage: each stage of each ending has its words in both wordings, and
// each ending that is held.
func TestGuideHasEveryStage(t *testing.T) {
	t.Parallel()
	said := map[string]bool{}
	for _, g := range ending.Guides() {
		for _, step := range g.Steps {
			at := g.Code + " " + string(step.Stage)
			for _, w := range []ending.Worded{step.Wants, step.Often} {
				if w.Eight == "" || w.Fourteen == "" || w.Eight == w.Fourteen {
					t.Errorf("%s has no words of its own for each age: %q", at, w)
				}
			}
			if step.Against == "" || said[step.Wants.Fourteen] {
				t.Errorf("%s has no row of its own", at)
			}
			said[step.Wants.Fourteen] = true
		}
	}
	if len(said) < 23 {
		t.Errorf("only %d stages", len(said))
	}
	for _, plan := range ending.Taught() {
		if g, ok := ending.GuideOf(plan.Code, false); !ok || len(g.Steps) != len(plan.Steps) {
			t.Errorf("%s is not in the guide", plan.Code)
		}
	}
	for _, h := range ending.Holds() {
		if g, ok := ending.GuideOf(h.Code, true); !ok || g.Name != h.Name {
			t.Errorf("holding %s is not in the guide", h.Code)
		}
	}
	if _, ok := ending.GuideOf("KRKB", false); ok {
		t.Error("what is held is taught as won")
	}
}

// mostWords is the longest sentence for a child of eight.
const mostWords = 12

// TestGuideWords: whole sentences that do not shout and do not scold; for eight short
// ones without numbers of moves in SAN.
func TestGuideWords(t *testing.T) {
	t.Parallel()
	examples(t, func(g ending.Guide, step ending.GuideStep, two [2]ending.Example) {
		for _, age := range []int{ending.Eight, ending.Fourteen} {
			texts := []string{step.Wants.For(age), step.Often.For(age)}
			for _, e := range two {
				texts = append(append(texts, e.How()), e.For(age)...)
			}
			for _, text := range texts {
				checkWords(t, g.Code+" "+string(step.Stage), text, age)
			}
		}
	})
}

func checkWords(t *testing.T, at, text string, age int) {
	t.Helper()
	if !strings.HasSuffix(text, ".") || strings.Contains(text, "  ") || strings.Contains(text, "%!") || strings.Contains(text, "!") {
		t.Errorf("%s: no whole sentence: %q", at, text)
	}
	for _, word := range []string{"mistake", "bad", "fail", "should", "you lost", "error"} {
		if strings.Contains(strings.ToLower(text), word) {
			t.Errorf("%s scolds: %q", at, text)
		}
	}
	if age > ending.Eight {
		return
	}
	for _, sentence := range strings.Split(text, ". ") {
		if n := len(strings.Fields(sentence)); n > mostWords {
			t.Errorf("%s: %d words for eight: %q", at, n, sentence)
		}
	}
}

// TestGuidePositions: every position is legal, differs from its neighbour, lies in its
// stage and is won there, or is a draw where one is held; the move that is named is the
// best one. The stage and the distance are asked of the judge once more, the legality of
// the rules library that reads the FEN.
func TestGuidePositions(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	examples(t, func(g ending.Guide, step ending.GuideStep, two [2]ending.Example) {
		if two[0].Position.FEN() == two[1].Position.FEN() {
			t.Errorf("%s %s has one position twice", g.Code, step.Stage)
		}
		for _, e := range two {
			p, err := board.ParseFEN(e.Position.FEN())
			if err != nil || p.Turn() != board.White {
				t.Fatalf("%s: %v", e.Position.FEN(), err)
			}
			l, err := judge.Look(ctx, p)
			if err != nil {
				t.Fatal(err)
			}
			if g.Hold {
				checkHeld(t, p, l, e)
				continue
			}
			best, _, err := judge.Best(ctx, p)
			if err != nil || !l.Won() || l.Attacker != board.White || best.Move != e.Best || l.MateIn() != e.MateIn {
				t.Errorf("%s: mate in %d, best %s, %v", p.FEN(), l.MateIn(), best.Move.UCI(), err)
			}
			stage := l.Plan.Steps[l.Stage].Stage
			if l.Name != step.Drill || step.Drill == g.Code && stage != step.Stage {
				t.Errorf("%s lies in %s of %s, not in %s of %s", p.FEN(), stage, l.Name, step.Stage, g.Code)
			}
		}
	})
}

func checkHeld(t *testing.T, p board.Position, l ending.Look, e ending.Example) {
	t.Helper()
	after, err := judge.Look(context.Background(), p.Play(e.Best))
	if err != nil || l.Outcome != solver.Draw || after.Outcome == solver.Win || l.Attacker != board.Black || e.MateIn != 0 {
		t.Errorf("%s: %v, after %s %v, %v", p.FEN(), l.Outcome, e.Best.UCI(), after.Outcome, err)
	}
}

// TestGuideIsTheSameEachTime: another judge, with tables of its own, finds the same
// positions.
func TestGuideIsTheSameEachTime(t *testing.T) {
	t.Parallel()
	ctx, other := context.Background(), ending.NewJudge(solver.NewTables())
	for _, g := range ending.Guides()[:3] {
		for _, step := range g.Steps {
			a, err := judge.Examples(ctx, g, step.Stage)
			if err != nil {
				t.Fatal(err)
			}
			b, err := other.Examples(ctx, g, step.Stage)
			if err != nil || a[0].Position.FEN() != b[0].Position.FEN() || a[1].Position.FEN() != b[1].Position.FEN() {
				t.Errorf("%s %s differs the second time: %v", g.Code, step.Stage, err)
			}
		}
	}
}

// TestGuideSaysWhatIsTrue: what is said of a best move holds on the board, counted here
// in another way: his pen by walking it, a gap by the steps that are left to him.
func TestGuideSaysWhatIsTrue(t *testing.T) {
	t.Parallel()
	kinds := map[string]int{}
	examples(t, func(g ending.Guide, step ending.GuideStep, two [2]ending.Example) {
		e := two[1]
		say, after := strings.Join(e.For(ending.Eight), " "), e.Position.Play(e.Best)
		switch {
		case strings.Contains(say, "his pen shrinks"):
			kinds["pen"]++
			want := " from " + strconv.Itoa(walk(e.Position)) + " squares to " + strconv.Itoa(walk(after)) + "."
			if !strings.HasSuffix(say, want) || len(e.Pen) > 0 && len(e.Pen) != walk(e.Position) {
				t.Errorf("%s %q, want %q", e.Position.FEN(), say, want)
			}
		case strings.Contains(say, " closes "):
			kinds["gap"]++
			for _, gap := range e.Gaps {
				for _, m := range after.Moves() {
					if m.To == gap.To && m.From == gap.From && !m.Capture && stillOut(t, after.Play(m), step.Stage, g) {
						t.Errorf("%s %q, but he gets out by %s", e.Position.FEN(), say, m.UCI())
					}
				}
			}
		case strings.Contains(say, "only this move holds"):
			kinds["only"]++
			if keeps, err := judge.HoldingMoves(context.Background(), e.Position); err != nil || len(keeps) != 1 || keeps[0] != e.Best {
				t.Errorf("%s %q: %d moves hold, %v", e.Position.FEN(), say, len(keeps), err)
			}
		case strings.Contains(say, "where the pawn goes next"):
			kinds["escort"]++
			_, next, _ := strings.Cut(strings.TrimSuffix(say, ", where the pawn goes next."), " guards ")
			if at := square(t, next); kingSteps(after.King(board.White), at) != 1 || after.At(at-8).Kind != board.Pawn || !after.At(at-8).There {
				t.Errorf("%s %q", e.Position.FEN(), say)
			}
		case strings.Contains(say, "whoever moves"):
			kinds["front"]++
			if l, err := judge.Look(context.Background(), withAttacker(t, after)); err != nil || !l.Won() {
				t.Errorf("%s %q: with the other side to move it is not won, %v", e.Position.FEN(), say, err)
			}
		}
	})
	for _, kind := range []string{"pen", "gap", "only", "front", "escort"} {
		if kinds[kind] == 0 {
			t.Errorf("nothing is said of the kind %q: %v", kind, kinds)
		}
	}
}

// stillOut says whether he is no longer shut out of what the stage keeps him from.
func stillOut(t *testing.T, p board.Position, stage ending.Stage, g ending.Guide) bool {
	t.Helper()
	l, err := judge.Look(context.Background(), p)
	if err != nil {
		t.Fatal(err)
	}
	plan, _ := ending.PlanOf(g.Code)
	i := plan.Index(stage)
	return i > 0 && !l.ShutOut[plan.Steps[i-1].Region-1]
}

// withAttacker is a position with the turn passed to White.
func withAttacker(t *testing.T, p board.Position) board.Position {
	t.Helper()
	return parse(t, strings.Replace(p.FEN(), " b ", " w ", 1))
}

// walk counts the squares that the lone king reaches by steps alone, by filling the
// board from his square.
func walk(p board.Position) int {
	start := p.King(board.Black)
	seen, list := map[board.Square]bool{start: true}, []board.Square{start}
	covered := p.Cover(board.White)
	for len(list) > 0 {
		from := list[0]
		list = list[1:]
		for to := board.Square(0); to < 64; to++ {
			if kingSteps(from, to) == 1 && !covered[to] && !seen[to] {
				seen[to] = true
				list = append(list, to)
			}
		}
	}
	return len(seen)
}
