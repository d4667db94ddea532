package practice_test

import (
	"testing"

	"drover/game/ending"
	"drover/game/practice"
)

// reweigh counts the weights of a game from the survey of each position.
func reweigh(t *testing.T, s practice.State) map[ending.Stage]practice.Weights {
	t.Helper()
	out := map[ending.Stage]practice.Weights{}
	now, err := practice.Begin(s.Setup)
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range s.Acts {
		if a.Kind == practice.Move {
			_, answers, err := judge.Survey(ctx, now.Pos)
			if err != nil {
				t.Fatal(err)
			}
			best := 1 << 20
			for _, o := range answers {
				if o.After.Won() && o.After.Attacker == s.Side {
					best = min(best, o.After.MateIn())
				}
			}
			w := out[a.Stage]
			for _, o := range answers {
				c := 5 // the win lost
				if o.After.Won() && o.After.Attacker == s.Side {
					c = []int{0, 1, 2, 2, 3, 3, 3, 3, 4}[min(o.After.MateIn()-best, 8)]
				}
				if o.Move.UCI() == a.Move {
					w.Made[c]++
				}
				w.Offered[c] += 1_000_000 / len(answers)
			}
			out[a.Stage] = w
		}
		if now, err = now.Fold(a); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

// TestWeightsAgainstRecount: over simulated games the weights of each stage are
// its own moves, and the legal ones of the same positions, class by class.
func TestWeightsAgainstRecount(t *testing.T) {
	t.Parallel()
	var sum practice.Weights
	simulated(t, func(s practice.State, o practice.Outcome) {
		want := reweigh(t, s)
		for _, r := range o.Stages {
			n := 0
			for c, made := range r.Weights.Made {
				n += made
				if off := 1000*r.Weights.Offered[c] - want[r.Stage].Offered[c]; off > 1000*r.Moves || off < -1000*r.Moves {
					t.Errorf("%s, %s: of class %d %d are offered, counted anew %d", s.Start, r.Stage, c, 1000*r.Weights.Offered[c],
						want[r.Stage].Offered[c])
				}
			}
			if n != r.Moves || r.Weights.Made != want[r.Stage].Made {
				t.Errorf("%s, %s: %v made in %d moves, counted anew %v", s.Start, r.Stage, r.Weights.Made, r.Moves,
					want[r.Stage].Made)
			}
			sum = sum.Add(r.Weights)
		}
	})
	for c, n := range sum.Made {
		if n == 0 || sum.Offered[c] == 0 {
			t.Errorf("class %d was made %d times, offered %d", c, n, sum.Offered[c])
		}
	}
}

// TestWeightsOfOneMove: a stalemate throws the win away, a mate is the best, and
// a move that was shown is not the student's own.
func TestWeightsOfOneMove(t *testing.T) {
	t.Parallel()
	for move, class := range map[string]int{"Qf7": 5, "Qf8#": 0} {
		g := begin(t, "KQK", "7k/8/6K1/8/8/8/5Q2/8 w - - 0 1")
		g.do(practice.Move, move)
		if move == "Qf7" {
			g.do(practice.Resign, "")
		}
		o, err := practice.Summary(ctx, judge, g.State)
		if err != nil || len(o.Stages) != 1 || o.Stages[0].Weights.Made[class] != 1 {
			t.Errorf("%s: %+v, %v", move, o.Stages, err)
		}
	}
	g := begin(t, "KRK", "7k/8/6K1/8/8/8/8/R7 w - - 0 1",
		func(s *practice.Setup) { s.Helps = practice.StepsOf(ending.HelpMove) })
	if _, err := g.try(practice.Command{Do: practice.Help, Step: int(ending.HelpMove)}); err != nil {
		t.Fatal(err)
	}
	g.do(practice.Move, "Ra8#")
	o, err := practice.Summary(ctx, judge, g.State)
	if err != nil || o.Stages[0].Weights != (practice.Weights{}) {
		t.Errorf("a move that was shown weighs %+v, %v", o.Stages, err)
	}
}
