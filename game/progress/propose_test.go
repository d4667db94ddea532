package progress_test

import (
	"context"
	"maps"
	"strings"
	"testing"

	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
)

// marks reads endings with the marks of their stages: '-' not begun, 'h' half,
// 'f' full, 'b' bell.
func marks(rows ...string) map[progress.Key]progress.Mark {
	out := map[progress.Key]progress.Mark{}
	for _, row := range rows {
		code, states, _ := strings.Cut(row, " ")
		plan, _ := ending.PlanOf(code)
		for i, c := range states {
			out[progress.Key{Ending: code, Stage: plan.Steps[i].Stage}] = map[rune]progress.Mark{'-': progress.NotBegun,
				'h': progress.InWork, 'f': progress.Reached, 'b': progress.Mastered}[c]
		}
	}
	return out
}

// mastery gives all stages of endings one mastery.
func mastery(s progress.Mastery, codes ...string) map[progress.Key]progress.Mastery {
	out := map[progress.Key]progress.Mastery{}
	for _, code := range codes {
		plan, _ := ending.PlanOf(code)
		for _, step := range plan.Steps {
			out[progress.Key{Ending: code, Stage: step.Stage}] = s
		}
	}
	return out
}

// TestPropose: what holds a student up comes before what was not done, and the
// ladder is climbed from the first ending.
// proposed is what is known of a student, and the drill that follows from it.
type proposed struct {
	known progress.Known
	want  string // ending from to mode kind defender
}

// proposals are cases for Propose.
func proposals() map[string]proposed {
	edge := progress.Key{Ending: "KRK", Stage: ending.Edge}
	habit := func(h practice.Habit, in string) *progress.First { return &progress.First{Ending: in, Habit: h} }
	tested, mastered := progress.Mastery{Tested: 1}, progress.Mastery{Mastered: 1}
	rookMate, queenMate := progress.Key{Ending: "KRK", Stage: ending.Mate}, progress.Key{Ending: "KQK", Stage: ending.Mate}
	held := progress.Key{Ending: "KPK", Stage: ending.HoldStage}
	placed := &progress.PlacementResult{First: rookMate, Why: "So it is."}
	all := map[string]proposed{
		"a stranger": {progress.Known{}, "KRRK mate mate guided random chase"},
		"stuck": {
			progress.Known{Stuck: &edge, First: habit(practice.Stalemates, "KQK")},
			"KRK mate mate guided random centre",
		},
		"stuck in the last stage": {
			progress.Known{Stuck: &queenMate},
			"KQK mate mate guided random centre",
		},
		"stuck in a hold drill": {progress.Known{Stuck: &held}, "KPK hold hold guided random "},
		"the weakest stage": {
			progress.Known{First: &progress.First{Ending: "KRK", Stage: ending.Edge, Shows: practice.Checks}, Marks: marks("KRK fff")},
			"KRK edge mate guided checks longest",
		},
		"the weakest stage, by nothing": {
			progress.Known{First: &progress.First{Ending: "KRK", Stage: ending.Edge}, Marks: marks("KRK fff")},
			"KRK edge mate guided random centre",
		},
		"stuck by stalemates": {
			progress.Known{Stuck: &progress.Key{Ending: "KQK", Stage: ending.Edge},
				First: &progress.First{Ending: "KQK", Stage: ending.Mate, Shows: practice.Stalemates}},
			"KQK mate mate guided trap corner",
		},
		"the weakest is the corner": {
			progress.Known{First: &progress.First{Ending: "KBNK", Stage: ending.Corner}},
			"KBNK corner mate guided random corner",
		},
		"all done alone": {
			progress.Known{Marks: marks("KRK fff", "KBNK h---")},
			"KRK centralise mate test random longest",
		},
		"all done alone, one with a bell": {
			progress.Known{Marks: marks("KQK fb"), Mastery: map[progress.Key]progress.Mastery{queenMate: mastered}},
			"KQK edge mate test random test",
		},
		"tested, waits for its re-check": {
			progress.Known{Marks: marks("KQK ff"), Mastery: mastery(tested, "KQK")},
			"KRK mate mate guided random centre",
		},
		"in progress, the last stage first": {
			progress.Known{Marks: marks("KRK h--")},
			"KRK mate mate guided random centre",
		},
		"in progress, the finish done": {
			progress.Known{Marks: marks("KRK hhf")},
			"KRK edge mate guided random centre",
		},
		"two in progress, the earlier first": {
			progress.Known{Marks: marks("KRK hhf", "KQK h-")},
			"KQK mate mate guided random centre",
		},
		"mastered, the next ending": {
			progress.Known{Marks: marks("KRRK bb", "KQK bb", "KRK bbb"), Mastery: mastery(tested, "KRRK", "KQK", "KRK")},
			"KBBK corner corner guided random centre",
		},
		"placed": {progress.Known{Placed: placed}, "KRK mate mate guided random centre"},
		"placed, and begun": {
			progress.Known{Placed: placed, Marks: marks("KRK --f")},
			"KRK edge mate guided random centre",
		},
		"everything mastered": {
			progress.Known{Marks: marks("KRRK bb", "KQK bb", "KRK bbb", "KBBK bbb", "KBNK bbbb"),
				Mastery: mastery(mastered, progress.Ladder()...)},
			"",
		},
		"a habit in an ending without plan": {
			progress.Known{First: habit(practice.KingHome, "KRPK")},
			"KRRK mate mate guided random chase",
		},
	}
	maps.Copy(all, againstHabits())
	return all
}

// againstHabits are the drills against each habit.
func againstHabits() map[string]proposed {
	habit := func(h practice.Habit, in string) *progress.First { return &progress.First{Ending: in, Habit: h} }
	return map[string]proposed{
		"stalemates": {
			progress.Known{First: habit(practice.Stalemates, "KRRK")},
			"KQK mate mate guided trap corner",
		},
		"the wrong corner": {
			progress.Known{First: habit(practice.WrongCorner, "KBNK")},
			"KBNK corner mate guided corner corner",
		},
		"king at home": {
			progress.Known{First: habit(practice.KingHome, "KRK")},
			"KRK centralise mate guided king centre",
		},
		"men hanging": {
			progress.Known{First: habit(practice.Hanging, "KBBK")},
			"KBBK centralise corner guided trap chase",
		},
		"useless checks": {
			progress.Known{First: habit(practice.Checks, "KQK")},
			"KQK edge mate guided checks longest",
		},
		"men hanging where there are no traps": {
			progress.Known{First: habit(practice.Hanging, "KRRK")},
			"KRRK mate mate guided trap chase",
		},
		"in a hurry": {
			progress.Known{First: habit(practice.Hurry, "KBBK")},
			"KBBK corner corner guided random longest",
		},
		"the shuffler": {
			progress.Known{First: habit(practice.Shuffling, "KRK")},
			"KRK centralise mate guided random longest",
		},
	}
}

func TestPropose(t *testing.T) {
	t.Parallel()
	for name, c := range proposals() {
		p, ok := progress.Propose(c.known)
		got := strings.Join([]string{p.Ending, string(p.From), string(p.To), string(p.Mode), p.Kind, p.Defender}, " ")
		if !ok {
			got = ""
		}
		if got != c.want || ok && !strings.HasSuffix(p.Why, ".") {
			t.Errorf("%s: %q (%s), want %q", name, got, p.Why, c.want)
		}
		if ok {
			canBeSet(t, name, p)
		}
	}
}

// canBeSet holds a proposal against what the drill builder makes of it: its
// defender is there, and its kind of start is found in its stage.
func canBeSet(t *testing.T, name string, p progress.Proposal) {
	t.Helper()
	if p.Hold {
		h, _ := ending.HoldOf(p.Ending)
		if picked, err := judge.HoldStarts(context.Background(), h, ending.Wanted{Kind: p.Kind, N: 5, Seed: 3}); err != nil ||
			len(picked.Starts) != 5 {
			t.Errorf("%s: %d starts, %v", name, len(picked.Starts), err)
		}
		return
	}
	plan, _ := ending.PlanOf(p.Ending)
	if _, ok := ending.DefenderOf(p.Defender); !ok {
		t.Errorf("%s: no defender %s", name, p.Defender)
	}
	starts, err := judge.StartsOf(context.Background(), plan, p.From, p.Kind, 5, 3)
	if err != nil || len(starts) != 5 {
		t.Errorf("%s: %d starts, %v", name, len(starts), err)
	}
}

// TestLadder: the ladder and the defenders are of endings and defenders that
// there are.
func TestLadder(t *testing.T) {
	t.Parallel()
	if len(progress.Ladder()) != len(ending.Plans()) {
		t.Errorf("%d rungs, %d plans", len(progress.Ladder()), len(ending.Plans()))
	}
	for _, code := range progress.Ladder() {
		plan, ok := ending.PlanOf(code)
		if !ok {
			t.Fatalf("no plan of %s", code)
		}
		for _, step := range plan.Steps {
			if _, ok := ending.DefenderOf(progress.Trainer(progress.Key{Ending: code, Stage: step.Stage})); !ok {
				t.Errorf("%s, %s has no trainer", code, step.Stage)
			}
		}
		if _, ok := ending.DefenderOf(progress.Tester(code)); !ok {
			t.Errorf("%s has no tester", code)
		}
	}
}
