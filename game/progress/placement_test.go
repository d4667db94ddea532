package progress_test

import (
	"context"
	"testing"

	"drover/game/board"
	"drover/game/ending"
	"drover/game/progress"
)

// TestPickPlacement: whatever the seed, six tasks in the order of teaching, each
// legal and solved within its budget, the question with each answer now and then.
func TestPickPlacement(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	answers := map[string]int{}
	for seed := range int64(25) {
		tasks, err := progress.PickPlacement(ctx, judge, 100*seed)
		if err != nil {
			t.Fatalf("seed %d: %v", seed, err)
		}
		codes := ""
		for _, task := range tasks {
			codes += task.Code + " "
			p, err := board.ParseFEN(task.FEN)
			if err != nil {
				t.Fatalf("%s: %v", task.FEN, err)
			}
			l, err := judge.Look(ctx, p)
			if err != nil {
				t.Fatal(err)
			}
			switch {
			case task.Code == progress.Question:
				answers[progress.Answer(p)]++
				if p.Turn() != board.Black || task.Target != "" {
					t.Errorf("question %s", task.FEN)
				}
			case !l.Won() || p.Turn() != board.White || l.Name != task.Ending:
				t.Errorf("%s: %s is not won", task.Code, task.FEN)
			case task.Code == "one" && (l.MateIn() != 1 || task.Budget != 1):
				t.Errorf("%s mates in %d, budget %d", task.FEN, l.MateIn(), task.Budget)
			case task.Code != "KPK" && task.Budget != l.MateIn()+spare[task.Code]:
				t.Errorf("%s: mate in %d, budget %d", task.FEN, l.MateIn(), task.Budget)
			case task.Code == "KPK" && (task.Budget != spare["KPK"] || !asksForKing(ctx, t, p)):
				t.Errorf("%s: budget %d, or the pawn may simply walk", task.FEN, task.Budget)
			case task.Code == "KPK" && !queens(ctx, t, p, task):
				t.Errorf("%s: no queen within %d moves", task.FEN, task.Budget)
			}
		}
		if codes != "one question KRRK KQK KRK KPK " {
			t.Errorf("tasks %s", codes)
		}
	}
	if len(answers) != 3 {
		t.Errorf("answers %v", answers)
	}
	again, _ := progress.PickPlacement(ctx, judge, 100)
	once, _ := progress.PickPlacement(ctx, judge, 100)
	for i := range once {
		if once[i] != again[i] {
			t.Errorf("the same seed: %v, then %v", once[i], again[i])
		}
	}
}

// spare is how many moves more than the fewest each task allows; with the pawn, how many in all.
var spare = map[string]int{"one": 0, "KRRK": 4, "KQK": 4, "KRK": 5, "KPK": 12}

// asksForKing says whether the pawn stands on row 5 or 6 and its next step throws the win away.
func asksForKing(ctx context.Context, t *testing.T, p board.Position) bool {
	t.Helper()
	for _, m := range p.Moves() {
		if p.At(m.From).Kind != board.Pawn {
			continue
		}
		l, err := judge.Look(ctx, p.Play(m))
		if err != nil {
			t.Fatal(err)
		}
		row := m.From.Rank() + 1
		return !l.Won() && (row == 5 || row == 6)
	}
	return false
}

// queens plays the best moves against the longest defence and says whether the
// pawn gets there within the budget.
func queens(ctx context.Context, t *testing.T, p board.Position, task progress.PickedTask) bool {
	t.Helper()
	for range task.Budget {
		best, ok, err := judge.Best(ctx, p)
		if err != nil || !ok {
			t.Fatalf("best of %s: %v", p.FEN(), err)
		}
		p = p.Play(best.Move)
		if l, err := judge.Look(ctx, p); err != nil || l.Name != "KPK" {
			return err == nil
		}
		reply, err := judge.Reply(ctx, p, "longest", 1)
		if err != nil {
			t.Fatal(err)
		}
		p = p.Play(reply)
	}
	return false
}

// passes reads answers: '+' found, '-' missed, '.' not answered.
func passes(s string) []*bool {
	out := make([]*bool, len(s))
	for i, c := range s {
		if yes := c == '+'; c != '.' {
			out[i] = &yes
		}
	}
	return out
}

func TestOver(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		passed  string
		seconds int
		want    bool
	}{
		{"......", 0, false}, {"-.....", 0, false}, {"--....", 0, true}, {"-+++-.", 0, true}, {"+++++.", 599, false},
		{"+++++.", 600, true}, {"++++++", 0, true}, {"+++++-", 0, true}, {"......", 900, false},
	} {
		if got := progress.PlacementOver(passes(c.passed), c.seconds); got != c.want {
			t.Errorf("%s after %d seconds: over is %v", c.passed, c.seconds, got)
		}
	}
}

// TestPlacementResult: practice begins with the first ending of the ladder whose finish
// was missed or not reached.
func TestPlacementResult(t *testing.T) {
	t.Parallel()
	for passed, want := range map[string]progress.Key{
		"--....": {Ending: "KRRK", Stage: ending.Mate},
		"-+-...": {Ending: "KRRK", Stage: ending.Mate},
		"+--...": {Ending: "KRRK", Stage: ending.Mate},
		"-+++++": {Ending: "KRRK", Stage: ending.Mate},
		"+-+-..": {Ending: "KQK", Stage: ending.Mate},
		"+++-+-": {Ending: "KQK", Stage: ending.Mate},
		"+-++++": {Ending: "KQK", Stage: ending.Mate},
		"++++--": {Ending: "KRK", Stage: ending.Mate},
		"++++..": {Ending: "KRK", Stage: ending.Mate},
		"+++++-": {Ending: "KRK", Stage: ending.Centralise},
		"++++++": {Ending: "KBBK", Stage: ending.Corner},
		"":       {Ending: "KRRK", Stage: ending.Mate},
	} {
		if got := progress.PlacementResultOf(passes(passed)); got.First != want || got.Why == "" {
			t.Errorf("%s: %+v", passed, got)
		}
	}
	const why = "In the starting check mate was found with two rooks and the queen; the finish with the rook comes first."
	if got := progress.PlacementResultOf(passes("++++--")).Why; got != why {
		t.Errorf("said %q", got)
	}
}

// TestAskAt: each task has its words, and there are none before the first and after the last.
func TestAskAt(t *testing.T) {
	t.Parallel()
	n := progress.PlacementCount()
	for i := -1; i <= n; i++ {
		if said := progress.AskAt(i); (said != "") != (i >= 0 && i < n) {
			t.Errorf("task %d of %d: %q", i, n, said)
		}
	}
}
