package ending_test

import (
	"context"
	"testing"

	"drover/game/board"
	"drover/game/ending"
	"drover/solver"
)

// replies lists the defender's legal replies that lose, with what each does to
// the square of the lone king.
func losing(t *testing.T, p board.Position) []ending.Option {
	t.Helper()
	options, err := judge.Options(context.Background(), p)
	if err != nil {
		t.Fatal(err)
	}
	for _, o := range options {
		if o.After.Outcome != solver.Win {
			return nil
		}
	}
	return options
}

// defended walks through games against a defender, best moves against his
// replies, and calls check at each reply that he could not save himself with.
func defended(t *testing.T, code, defender string,
	check func(p board.Position, options []ending.Option, chosen board.Move)) {
	t.Helper()
	ctx := context.Background()
	plan, _ := ending.PlanOf(code)
	starts, err := judge.Starts(ctx, plan, plan.Steps[0].Stage, 6, 21)
	if err != nil {
		t.Fatal(err)
	}
	checked := 0
	for i, p := range starts {
		for {
			best, ok, err := judge.Best(ctx, p)
			if err != nil || !ok {
				t.Fatal(p.FEN(), err)
			}
			if p = p.Play(best.Move); len(p.Moves()) == 0 {
				break
			}
			m, err := judge.Reply(ctx, p, defender, int64(i))
			if err != nil {
				t.Fatal(err)
			}
			if options := losing(t, p); len(options) > 1 {
				check(p, options, m)
				checked++
			}
			p = p.Play(m)
		}
	}
	if checked < 20 {
		t.Errorf("only %d replies were a choice", checked)
	}
}

// least finds the smallest measure over the options, and the chosen one's.
func least(options []ending.Option, chosen board.Move, measure func(o ending.Option) int) (best, own int) {
	best = 1 << 20
	for _, o := range options {
		n := measure(o)
		best = min(best, n)
		if o.Move.UCI() == chosen.UCI() {
			own = n
		}
	}
	return best, own
}

func kingSteps(a, b board.Square) int {
	df, dr := a.File()-b.File(), a.Rank()-b.Rank()
	return max(df, -df, dr, -dr)
}

// TestCornerRunning: with bishop and knight he always steps nearest to a corner
// of the other colour.
func TestCornerRunning(t *testing.T) {
	t.Parallel()
	defended(t, "KBNK", "corner", func(p board.Position, options []ending.Option, chosen board.Move) {
		right := ending.Corners(p, board.White)
		best, own := least(options, chosen, func(o ending.Option) int {
			n := 8
			for _, name := range []string{"a1", "a8", "h1", "h8"} {
				if name != right[0] && name != right[1] {
					n = min(n, kingSteps(o.Move.To, square(t, name)))
				}
			}
			return n
		})
		if own != best {
			t.Errorf("%s: %s leads %d steps from a wrong corner, %d was there", p.FEN(), chosen.UCI(), own, best)
		}
	})
}

// TestChasing: with two bishops he steps nearest to a bishop that nothing
// guards, where there is one.
func TestChasing(t *testing.T) {
	t.Parallel()
	defended(t, "KBBK", "chase", func(p board.Position, options []ending.Option, chosen board.Move) {
		best, own := least(options, chosen, func(o ending.Option) int {
			next := p.Play(o.Move)
			loose, any := 8, 8
			for sq := board.Square(0); sq < 64; sq++ {
				if m := next.At(sq); m.There && m.Kind == board.Bishop {
					n := kingSteps(o.Move.To, sq)
					any = min(any, n)
					if !next.Covers(board.White, sq) {
						loose = min(loose, n)
					}
				}
			}
			if loose == 8 {
				return any
			}
			return loose
		})
		if own != best {
			t.Errorf("%s: %s is %d steps from a loose man, %d was there", p.FEN(), chosen.UCI(), own, best)
		}
	})
}

// TestTesting: after his reply the fewest moves are on course.
func TestTesting(t *testing.T) {
	t.Parallel()
	defended(t, "KRK", "test", func(p board.Position, options []ending.Option, chosen board.Move) {
		best, own := least(options, chosen, func(o ending.Option) int {
			_, answers, err := judge.Survey(context.Background(), p.Play(o.Move))
			if err != nil {
				t.Fatal(err)
			}
			n := 0
			for _, a := range answers {
				if a.Grade == ending.OnCourse {
					n++
				}
			}
			return n
		})
		if own != best {
			t.Errorf("%s: after %s %d moves are on course, %d was there", p.FEN(), chosen.UCI(), own, best)
		}
	})
}

// TestVaried: never more than two moves short of the longest, and not always
// the longest.
func TestVaried(t *testing.T) {
	t.Parallel()
	shorter := 0
	defended(t, "KBNK", "varied", func(p board.Position, options []ending.Option, chosen board.Move) {
		best, own := least(options, chosen, func(o ending.Option) int { return -o.After.Plies })
		if own-best > 4 {
			t.Errorf("%s: %s gives up %d plies", p.FEN(), chosen.UCI(), own-best)
		}
		if own > best {
			shorter++
		}
	})
	if shorter == 0 {
		t.Error("always the longest")
	}
}
