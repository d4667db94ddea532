package cohort_test

import (
	"context"
	"math/rand/v2"
	"os"
	"testing"
	"time"

	"drover/game/board"
	"drover/game/cohort"
	"drover/game/ending"
	"drover/game/practice"
	"drover/solver"
)

var judge = ending.NewJudge(solver.NewTables())

func TestMain(m *testing.M) {
	if err := judge.Ready(context.Background()); err != nil {
		panic(err)
	}
	os.Exit(m.Run())
}

var began = time.Date(2026, 11, 5, 15, 0, 0, 0, time.UTC)

// play plays a student's games from starts of an ending's first stage.
func play(t *testing.T, code string, s cohort.Student, games int, change func(*practice.Setup)) []practice.State {
	t.Helper()
	plan, _ := ending.PlanOf(code)
	starts, err := judge.Starts(context.Background(), plan, plan.Steps[0].Stage, games, 5)
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(11, 7))
	var out []practice.State
	for i, p := range starts {
		set := practice.Setup{
			Game: 1, Student: 7, Ending: code, Start: p.FEN(), Mode: practice.Practice, Target: plan.Steps[plan.Last()].Stage,
			Defender: "longest", Seed: int64(i), Backs: 1, Allowance: 3,
		}
		if change != nil {
			change(&set)
		}
		state, err := cohort.Play(context.Background(), judge, set, s, rng, began)
		if err != nil {
			t.Fatalf("%s: %v", p.FEN(), err)
		}
		out = append(out, state)
	}
	return out
}

var (
	strong = cohort.Student{Name: "Sol", Skill: 1}
	fair   = cohort.Student{Name: "Tam", Skill: 0.7}
	weak   = cohort.Student{Name: "Pim", Skill: 0}
	atRim  = cohort.Student{Name: "Otis", Skill: 0.9,
		Weak: cohort.Lost(func(g cohort.Geometry) bool { return g.Rim == 0 }, 1)}
)

// TestPlayEnds: every game of every student ends, in every ending and mode, and
// its log folds to the same state.
func TestPlayEnds(t *testing.T) {
	t.Parallel()
	for _, plan := range ending.Plans() {
		for _, s := range []cohort.Student{strong, fair, weak, atRim} {
			for _, mode := range []practice.Mode{practice.Practice, practice.Test} {
				for _, g := range play(t, plan.Code, s, 2, func(set *practice.Setup) { set.Mode = mode }) {
					if g.End == "" || len(g.Acts) == 0 {
						t.Errorf("%s, %s: a game of %d acts without an end", plan.Code, s.Name, len(g.Acts))
					}
					again, err := practice.Begin(g.Setup)
					for _, a := range g.Acts {
						if err == nil {
							again, err = again.Fold(a)
						}
					}
					if err != nil || again.Pos.FEN() != g.Pos.FEN() || again.End != g.End {
						t.Errorf("%s, %s: the log folds to %s, %s (%v)", plan.Code, s.Name, again.Pos.FEN(), again.End, err)
					}
				}
			}
		}
	}
}

// TestPlayIsReproducible: the same rng plays the same game, move by move.
func TestPlayIsReproducible(t *testing.T) {
	t.Parallel()
	a, b := play(t, "KBNK", fair, 3, nil), play(t, "KBNK", fair, 3, nil)
	for i := range a {
		if len(a[i].Acts) != len(b[i].Acts) {
			t.Fatalf("game %d has %d and %d acts", i, len(a[i].Acts), len(b[i].Acts))
		}
		for n := range a[i].Acts {
			if a[i].Acts[n] != b[i].Acts[n] {
				t.Errorf("game %d, act %d: %+v and %+v", i, n, a[i].Acts[n], b[i].Acts[n])
			}
		}
	}
}

// TestStrength: a student who always plays the best move is clean and costs
// nothing; one of less skill costs more, and one without any still more.
func TestStrength(t *testing.T) {
	t.Parallel()
	cost := func(s cohort.Student) (n float64) {
		moves := 0
		for _, g := range play(t, "KRK", s, 8, nil) {
			for _, a := range g.Acts {
				if a.Kind == practice.Move {
					n, moves = n+float64(a.Cost), moves+1
				}
			}
		}
		return n / float64(moves)
	}
	best, middle, none := cost(strong), cost(fair), cost(weak)
	if best != 0 || middle <= best || none <= middle {
		t.Errorf("cost a move: %.2f, %.2f, %.2f; want 0 and rising", best, middle, none)
	}
	for _, g := range play(t, "KBNK", strong, 3, nil) {
		o, err := practice.Summary(context.Background(), judge, g)
		if err != nil || o.Result != practice.Clean || g.End != practice.Mated {
			t.Errorf("best play ends %s, %s (%v)", g.End, o.Result, err)
		}
	}
}

// TestWeaknessActs: a weakness makes moves go wrong where its geometry holds
// and nowhere else.
func TestWeaknessActs(t *testing.T) {
	t.Parallel()
	s := atRim
	s.Skill = 1
	inside, outside := 0, 0
	for _, g := range play(t, "KRK", s, 6, nil) {
		for _, made := range g.Line {
			at := cohort.GeometryOf(made.Before, board.White)
			switch {
			case made.Act.Cost == 0:
			case at.Rim == 0:
				inside++
			default:
				outside++
			}
		}
	}
	if inside == 0 || outside != 0 {
		t.Errorf("%d costly moves where it acts, %d elsewhere", inside, outside)
	}
}

// TestTimes: each act is later than the one before, and the thought that counts
// is what passed.
func TestTimes(t *testing.T) {
	t.Parallel()
	for _, g := range play(t, "KQK", fair, 4, nil) {
		last := began
		for i, a := range g.Acts {
			if !a.At.After(last) || a.Kind == practice.Move && (a.Took <= 0 || i > 0 &&
				a.Took > int(a.At.Sub(last).Milliseconds())) {
				t.Errorf("act %d at %s took %d, the one before was at %s", i, a.At, a.Took, last)
			}
			last = a.At
		}
	}
}

// TestLook measures boards that anyone can check by eye.
func TestLook(t *testing.T) {
	t.Parallel()
	for fen, want := range map[string]cohort.Geometry{
		"4k3/8/8/8/8/8/8/2B1K1N1 w - - 0 1": {Rim: 0, Corner: 3, Wrong: false, Near: 7}, // dark bishop: a1 and h8
		"k7/8/1K6/3N4/8/8/8/5B2 w - - 0 1":  {Rim: 0, Corner: 0, Wrong: false, Near: 2}, // light bishop: a8 and h1
		"7k/8/5K2/5BN1/8/8/8/8 w - - 0 1":   {Rim: 0, Corner: 7, Wrong: true, Near: 2},
		"8/8/8/4k3/8/8/8/4K2R w - - 0 1":    {Rim: 3, Corner: 3, Wrong: false, Near: 4}, // every corner serves the rook
		"8/1k6/8/8/8/8/8/4K2R w - - 0 1":    {Rim: 1, Corner: 1, Wrong: false, Near: 6},
	} {
		p, err := board.ParseFEN(fen)
		if err != nil {
			t.Fatal(err)
		}
		if got := cohort.GeometryOf(p, board.White); got != want {
			t.Errorf("%s: %+v, want %+v", fen, got, want)
		}
	}
}

// TestPlayRefuses: a start that is no position is an error and no game.
func TestPlayRefuses(t *testing.T) {
	t.Parallel()
	_, err := cohort.Play(context.Background(), judge, practice.Setup{Start: "nonsense"}, fair,
		rand.New(rand.NewPCG(1, 1)), began)
	if err == nil {
		t.Error("a game was played from nonsense")
	}
}
