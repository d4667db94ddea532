package ending_test

import (
	"context"
	"testing"

	"drover/game/ending"
	"drover/solver"
)

// TestPawnStages: the key squares of a pawn that has not reached its fifth row
// are the three two rows ahead of it (common practice, taught everywhere; no
// source): with the king there the pawn wins whoever moves, so 'front' is done.
func TestPawnStages(t *testing.T) {
	t.Parallel()
	for fen, want := range map[string]ending.Stage{
		"8/8/4k3/8/4K3/8/4P3/8 w - - 0 1": ending.Escort, // on a key square, whoever moves
		"8/8/4k3/8/4K3/8/4P3/8 b - - 0 1": ending.Escort, // on a key square, whoever moves
		"8/8/8/4k3/8/4K3/4P3/8 b - - 0 1": ending.Front,
		// the opposition wins now, and would not with the other side to move
		"8/8/8/4k3/8/4K3/4P3/8 w - - 0 1": "",
		"4k3/8/8/8/8/8/4P3/4K3 w - - 0 1": ending.Front,
		"k7/8/8/8/3K4/8/4P3/8 w - - 0 1":  ending.Escort,
		"8/1P6/8/8/8/5k2/8/4K3 w - - 0 1": ending.Escort,
		"8/8/8/8/8/k7/P7/1K6 w - - 0 1":   "", // a rook pawn with the corner in his reach
		"4K3/8/4P3/8/8/2k5/8/8 b - - 0 1": ending.Escort,
		"8/4p3/8/3k4/8/8/8/4K3 b - - 0 1": ending.Escort, // Black may attack
	} {
		l, err := judge.Look(context.Background(), parse(t, fen))
		if err != nil {
			t.Fatal(err)
		}
		got := ending.Stage("")
		if l.Stage >= 0 {
			got = l.Plan.Steps[l.Stage].Stage
		}
		if got != want && !(want == "" && !l.Won()) {
			t.Errorf("%s: stage %q (won %v), want %q", fen, got, l.Won(), want)
		}
	}
}

// TestPawnGrades: a move that keeps the win is on course however long, a move
// that loses it is win gone, and nothing is a detour or a slip.
func TestPawnGrades(t *testing.T) {
	t.Parallel()
	_, answers, err := judge.Survey(context.Background(), parse(t, "8/8/5k2/8/5K2/8/4P3/8 w - - 0 1"))
	if err != nil {
		t.Fatal(err)
	}
	grades := map[ending.Grade]int{}
	for _, a := range answers {
		grades[a.Grade]++
		if (a.Grade == ending.OnCourse) != (a.After.Outcome == solver.Loss) {
			t.Errorf("%s: %s with outcome %d", a.Move.UCI(), a.Grade, a.After.Outcome)
		}
	}
	if grades[ending.OnCourse] == 0 || grades[ending.WinGone] == 0 || len(grades) != 2 {
		t.Errorf("grades %v", grades)
	}
}

// TestFiftyTruth: where a pawn can move, a man can be taken or given up, the
// clock alone decides nothing (FIDE Laws 9.3).
func TestFiftyTruth(t *testing.T) {
	t.Parallel()
	for fen, want := range map[string]struct {
		exact bool
		under solver.Outcome
	}{
		"8/8/5k2/8/5K2/8/4P3/8 w - - 90 80":  {false, solver.Win}, // a pawn move starts the count anew
		"8/8/8/4k3/8/8/8/4K2R w - - 72 90":   {true, solver.Win},  // mate in 27 half-moves
		"8/8/8/4k3/8/8/8/4K2R w - - 74 90":   {true, solver.Draw},
		"8/8/8/4k3/8/8/R7/4K2R w - - 98 90":  {false, solver.Win}, // a rook can be given up
		"8/8/8/8/4k3/8/3KP3/8 w - - 99 80":   {true, solver.Draw}, // drawn all the same
		"8/8/8/4k3/8/3q4/8/R3K3 b - - 98 80": {false, solver.Win},
	} {
		l, err := judge.Look(context.Background(), parse(t, fen))
		if err != nil {
			t.Fatal(err)
		}
		if l.FiftyExact() != want.exact || l.UnderFifty() != want.under {
			t.Errorf("%s: exact %v, under the rule %d in %d plies, want %+v", fen, l.FiftyExact(), l.UnderFifty(), l.Plies, want)
		}
	}
}

// TestDead: told apart from other draws (FIDE Laws 5.2.2).
func TestDead(t *testing.T) {
	t.Parallel()
	for fen, want := range map[string]bool{
		"8/8/8/4k3/8/8/8/4K3 w - - 0 1": true, "8/8/8/4k3/8/8/8/4K2N w - - 0 1": true,
		"8/8/8/8/4k3/8/3KP3/8 w - - 0 1": false, "8/8/3b4/4k3/8/8/8/4K2R w - - 0 1": false,
	} {
		if got, err := judge.Dead(parse(t, fen)); err != nil || got != want {
			t.Errorf("%s: dead is %v, %v", fen, got, err)
		}
	}
}
