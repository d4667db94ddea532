package practice_test

import (
	"fmt"
	"math/rand/v2"
	"reflect"
	"testing"
	"time"

	"drover/game/practice"
)

// TestIncrement plays games with random thought and take-backs, by a clock that is
// counted here anew (FIDE Laws 6.3.2: time is added after a move): what is left is what
// the clock began with and what the moves added, less the thought; at nothing the game
// has ended, and stays so; and the log folds to the same time.
func TestIncrement(t *testing.T) {
	t.Parallel()
	ends := map[practice.End]int{}
	for seed := range uint64(60) {
		rng := rand.New(rand.NewPCG(seed, 18)) //nolint:gosec // a seed makes the same games
		clock, adds := 4+rng.IntN(20), rng.IntN(4)
		g := begin(t, "KQK", "8/8/8/4k3/8/8/8/3QK3 w - - 0 1", func(s *practice.Setup) {
			s.Clock, s.Increment, s.Backs = clock, adds, 2
		})
		at, left, moves := began, 1000*clock, 0
		for n := 0; g.End == "" && n < 60; n++ {
			took := rng.IntN(5000)
			at = at.Add(time.Duration(took) * time.Millisecond)
			c := practice.Command{Do: practice.Move, Ply: g.Ply(), Took: took, By: me, ID: fmt.Sprint("c", n), At: at}
			if g.BacksLeft() > 0 && len(g.Line) > 0 && rng.IntN(6) == 0 {
				c.Do = practice.Back
			} else if o, ok, err := judge.Best(ctx, g.Pos); err == nil && ok {
				c.Move = o.Move.UCI()
			}
			next, err := practice.Apply(ctx, judge, g.State, c)
			if err != nil {
				t.Fatal(err)
			}
			next.Stamp(at)
			g.State = next
			switch {
			case c.Do == practice.Back: // thinks on, and nothing is added
			case took >= left:
				if left = 0; g.End != practice.Time || g.Last().Move != "" {
					t.Fatalf("seed %d: %+v after the time", seed, g.Last())
				}
			default:
				moves++
				left += 1000*adds - took
			}
			checkTime(t, g.State, left, 1000*(clock+adds*moves))
		}
		ends[g.End]++
	}
	if ends[practice.Time] < 5 || ends[practice.Mated] < 5 {
		t.Errorf("the games ended by %v", ends)
	}
}

// checkTime holds the time left against a count, before and after its log is read anew.
func checkTime(t *testing.T, s practice.State, left, most int) {
	t.Helper()
	again, err := practice.Folded(s.Setup, s.Acts)
	if err != nil {
		t.Fatal(err)
	}
	if got := s.TimeLeft(); got != left || got > most || got <= 0 && s.End == "" || got != again.TimeLeft() ||
		!reflect.DeepEqual(s.Acts, again.Acts) || s.End != again.End {
		t.Fatalf("%d ms left, want %d, at most %d; folded %d; ended %q", got, left, most, again.TimeLeft(), s.End)
	}
	if s.End != practice.Time {
		return
	}
	late := practice.Command{Do: practice.Move, Ply: s.Ply(), Move: s.Pos.Moves()[0].UCI(), By: me, ID: "late",
		At: began.Add(time.Hour)}
	if _, err := practice.Apply(ctx, judge, s, late); err == nil {
		t.Error("a move after the time has run out goes on")
	}
}

// TestIncrementWithoutClock: where there is no clock there is nothing to add to.
func TestIncrementWithoutClock(t *testing.T) {
	t.Parallel()
	g := begin(t, "KQK", "8/8/8/4k3/8/8/8/3QK3 w - - 0 1", func(s *practice.Setup) { s.Increment = 5 })
	if g.best(); g.TimeLeft() != 0 || g.End != "" {
		t.Errorf("without a clock: %d ms left, ended by %q", g.TimeLeft(), g.End)
	}
}
