package ending_test

import (
	"context"
	"slices"
	"strings"
	"testing"

	"drover/game/board"
	"drover/game/ending"
	"drover/solver"
)

// TestStartKinds: each start of a kind is what the kind says, of its stage, and
// no two are alike.
func TestStartKinds(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	plan, _ := ending.PlanOf("KBNK")
	for _, k := range ending.StartKinds() {
		stage := ending.Corner
		found, err := judge.StartsOf(ctx, plan, stage, k.Code, 6, 5)
		if err != nil {
			t.Fatalf("%s: %v", k.Code, err)
		}
		for _, p := range found {
			checks, kings, men := 0, 0, 0
			look, answers, err := judge.Survey(ctx, p)
			if err != nil || look.Plan.Steps[look.Stage].Stage != stage {
				t.Errorf("%s: %s is in stage %d, %v", k.Code, p.FEN(), look.Stage, err)
			}
			course, lost, natural, thrown := 0, 0, 0, 0
			for _, a := range answers {
				if comesToMind(p, a.Move) {
					if natural++; a.After.Outcome != solver.Loss {
						thrown++
					}
				}
				if a.Grade == ending.OnCourse {
					course++
					if p.At(a.Move.From).Kind == board.King {
						kings++
					} else {
						men++
					}
				}
				if a.Move.Check {
					checks++
				}
				if a.After.Outcome != solver.Loss {
					lost++
				}
			}
			king := p.King(board.Black)
			wrong := wrongBy(t, p)
			rim := min(king.File(), 7-king.File(), king.Rank(), 7-king.Rank())
			ok := map[string]bool{"random": true, "trap": thrown > 0 && 3*thrown >= natural, "only": course == 1,
				"corner": wrong <= 1, "edge": rim == 0 && wrong < rightBy(t, p),
				"king": kings > 0 && men == 0, "checks": checks > 0 && checksOnCourse(answers) == 0}
			if !ok[k.Code] {
				t.Errorf("%s is no start of kind %s: %d on course, %d lose, %d from the wrong corner", p.FEN(), k.Code, course,
					lost, wrong)
			}
		}
	}
	if _, err := judge.StartsOf(ctx, plan, ending.Corner, "funny", 1, 1); err == nil {
		t.Error("an unknown kind was taken")
	}
}

// checksOnCourse counts the checks that cost at most 1.
func checksOnCourse(answers []ending.Answer) int {
	n := 0
	for _, a := range answers {
		if a.Move.Check && a.Grade == ending.OnCourse {
			n++
		}
	}
	return n
}

// comesToMind is a check, a step of the king nearer, or a move that leaves the
// lone king fewer squares than he had.
func comesToMind(p board.Position, m board.Move) bool {
	lone, free := p.King(board.Black), 0
	if passed, ok := p.Pass(); ok {
		free = len(passed.Moves())
	}
	nearer := p.At(m.From).Kind == board.King && kingSteps(m.To, lone) < kingSteps(m.From, lone)
	return nearer || p.SAN(m)[len(p.SAN(m))-1] == '+' || len(p.Play(m).Moves()) < free
}

// rightBy is the number of steps from the lone king to the nearest corner in which mate can
// be forced.
func rightBy(t *testing.T, p board.Position) int {
	t.Helper()
	n := 8
	for _, name := range ending.Corners(p, board.White) {
		n = min(n, kingSteps(p.King(board.Black), square(t, name)))
	}
	return n
}

// wrongBy is the number of steps from the lone king to the nearest wrong corner.
func wrongBy(t *testing.T, p board.Position) int {
	t.Helper()
	right := ending.Corners(p, board.White)
	n := 8
	for _, name := range []string{"a1", "a8", "h1", "h8"} {
		if name != right[0] && name != right[1] {
			n = min(n, kingSteps(p.King(board.Black), square(t, name)))
		}
	}
	return n
}

// TestPasted: good lines are kept, each bad one has its sentence (journey of a
// coach who pastes a list).
func TestPasted(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		code, text string
		kept       int
		say        []string
	}{
		{"KRK", "8/8/8/4k4/8/8/8/4K2R w - - 0 1\n\n8/8/8/3kK3/8/8/8/7R w - - 0 1\n" +
			"  8/8/8/4k3/8/8/8/4K2R w - - 0 1\r\n8/8/8/4k3/8/8/8/4K2Q w - - 0 1", 1,
			[]string{"Line 1: row 5 has nine squares, it needs eight.",
				"Line 3: the two kings stand side by side, on e5 and d5.",
				"Line 5: this is the ending Queen, but the drill is for Rook."}},
		{"KQK", "7k/5Q2/6K1/8/8/8/8/8 b - - 0 1\n7k/6Q1/6K1/8/8/8/8/8 b - - 0 1\n7k/8/6K1/8/8/8/8/1Q6 b - - 0 1", 0,
			[]string{"Line 1: it is stalemate already.", "Line 2: it is mate already.",
				"Line 3: the lone king is to move; a start has the other side to move."}},
		{"KBNK", "7N/1B4k1/8/8/3K4/8/8/8 w - - 0 1", 0,
			[]string{"Line 1: it is a draw already, the knight on h8 cannot be saved."}},
		{"KBNK", "8/8/8/8/8/8/8/8\n" + strings.Repeat("x", 9000), 0, []string{"Line 1: ", "Line 2: "}},
	} {
		plan, _ := ending.PlanOf(c.code)
		starts, problems, err := judge.Pasted(context.Background(), plan, c.text)
		if err != nil || len(starts) != c.kept || len(problems) != len(c.say) {
			t.Fatalf("%q: %d kept, %q, %v", c.text, len(starts), problems, err)
		}
		for i, say := range c.say {
			if !strings.HasPrefix(problems[i], say) || len(problems[i]) > 200 {
				t.Errorf("%q, want %q", problems[i], say)
			}
		}
	}
}

// TestPastedSaysTheWhole: beside its line the field of a FEN is not named, and
// nothing else of what is wrong is left out.
func TestPastedSaysTheWhole(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	plan, _ := ending.PlanOf("KRK")
	hold, _ := ending.HoldOf("KPK")
	_, castles, err := judge.Pasted(ctx, plan, "4k3/8/8/8/8/8/8/4K2R w K - 0 1")
	if err != nil {
		t.Fatal(err)
	}
	_, lost, err := judge.HoldPasted(ctx, hold, "4k3/8/4K3/4P3/8/8/8/8 b - - 0 1")
	if err != nil {
		t.Fatal(err)
	}
	got := slices.Concat(castles, lost)
	want := []string{"Line 1: endings are judged without castling; write - in this field.",
		"Line 1: it is lost already, no move holds the draw."}
	if !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}

// TestBlackMayAttack: a pasted start in which Black has the men is played from
// Black's side.
func TestBlackMayAttack(t *testing.T) {
	t.Parallel()
	plan, _ := ending.PlanOf("KRK")
	starts, problems, err := judge.Pasted(context.Background(), plan, "4k2r/8/8/8/4K3/8/8/8 b - - 0 1")
	if err != nil || len(problems) != 0 || len(starts) != 1 || starts[0].Turn() != board.Black {
		t.Errorf("%v, %q, %v", starts, problems, err)
	}
}
