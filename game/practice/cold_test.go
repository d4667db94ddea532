package practice_test

import (
	"context"
	"errors"
	"testing"

	"drover/game/ending"
	"drover/game/practice"
	"drover/solver"
)

// TestNoTables: without tables nothing is judged, refused or ended: the cause
// comes out as it is, and the state is as it was.
func TestNoTables(t *testing.T) {
	t.Parallel()
	gone, cancel := context.WithCancel(ctx)
	cancel()
	cold := ending.NewJudge(solver.NewTables())
	g := begin(t, "KRK", "8/8/8/4k3/8/8/8/R3K3 w - - 0 1",
		func(s *practice.Setup) { s.Helps = practice.StepsOf(ending.HelpWish) })
	g.best()
	before := g.Seq()
	o, _, err := judge.Best(ctx, g.Pos)
	if err != nil {
		t.Fatal(err)
	}
	for name, ask := range map[string]func() error{
		"move": func() error {
			_, err := practice.Apply(gone, cold, g.State,
				practice.Command{Do: practice.Move, Move: o.Move.UCI(), Ply: g.Ply(), By: me})
			return err
		},
		"help": func() error {
			_, err := practice.Apply(gone, cold, g.State, practice.Command{Do: practice.Help, Step: 1, Ply: g.Ply(), By: me})
			return err
		},
		"stage":   func() error { _, err := practice.Now(gone, cold, g.State); return err },
		"verdict": func() error { _, err := g.Verdict(gone, cold, g.Line[0]); return err },
		"summary": func() error { _, err := practice.Summary(gone, cold, g.State); return err },
	} {
		err := ask()
		if _, refused := practice.Refusal(err); !errors.Is(err, context.Canceled) || refused {
			t.Errorf("%s: %v", name, err)
		}
	}
	if g.Seq() != before {
		t.Error("the state has changed")
	}
	if _, err := practice.Begin(practice.Setup{Start: "8/8/8/4k4/8/8/8/4K2R w - - 0 1"}); err == nil {
		t.Error("a game begins from what is no position")
	}
}

// TestGoneCause: what made the win go, with the article where the Laws have one.
func TestGoneCause(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ code, fen, move, want string }{
		{"KQK", "7k/8/6K1/8/8/8/5Q2/8 w - - 0 1", "Qf7", "Stalemate, FIDE Laws 5.2.1"},
		{"KRK", "8/8/8/8/3k4/8/8/4R2K w - - 0 1", "Re3", "Dead position, FIDE Laws 5.2.2"},
		{"KRK", "8/8/8/4k3/8/8/8/R3K3 w - - 76 90", "Kd2", "Fifty-move rule, FIDE Laws 9.3"},
		{"KBNK", "7N/8/8/4kB2/8/8/5K2/8 w - - 0 1", "Bh3", "He can hold the draw from here"},
	} {
		g := begin(t, c.code, c.fen)
		g.do(practice.Move, c.move)
		if got := cause(t, g); !g.Gone || got != c.want {
			t.Errorf("%s %s: %q, want %q", c.fen, c.move, got, c.want)
		}
	}
}

// TestBlackAttacks: the student has the black men, and nothing else changes.
func TestBlackAttacks(t *testing.T) {
	t.Parallel()
	g := begin(t, "KRK", "r3k3/8/8/8/4K3/8/8/8 b - - 0 1", func(s *practice.Setup) { s.Side = 1 })
	for g.End == "" {
		g.best()
	}
	w := begin(t, "KRK", "8/8/8/4k3/8/8/8/R3K3 w - - 0 1")
	for w.End == "" {
		w.best()
	}
	if o := g.outcome(); g.End != practice.Mated || o.Result != practice.Clean || o.Moves != w.outcome().Moves ||
		o.Par != w.outcome().Par {
		t.Errorf("Black: %+v, White %+v", o, w.outcome())
	}
}

// TestSteps is a set of steps of help.
func TestSteps(t *testing.T) {
	t.Parallel()
	s := practice.StepsOf(ending.HelpMove, ending.HelpWish)
	for h, want := range map[ending.Help]bool{ending.HelpAim: false, ending.HelpWish: true, ending.HelpCover: false,
		ending.HelpMan: false, ending.HelpMove: true, -1: false, 70: false} {
		if s.Has(h) != want {
			t.Errorf("step %d is %v", h, !want)
		}
	}
	if l := s.List(); len(l) != 2 || l[0] != ending.HelpWish || l[1] != ending.HelpMove {
		t.Errorf("%v", l)
	}
	if l := practice.StepsOf().List(); l == nil || len(l) != 0 {
		t.Errorf("no steps are %v", l)
	}
}
