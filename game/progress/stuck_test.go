package progress_test

import (
	"context"
	"reflect"
	"testing"

	"drover/game/board"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
	"drover/solver"
)

// tries reads tries: a number of days before each word; '+' won, '-' not won,
// 'p' the last part not won, 'P' the last part won.
func tries(parts ...any) []progress.Try {
	var out []progress.Try
	day := progress.Day(20_000)
	for _, p := range parts {
		switch p := p.(type) {
		case int:
			day += progress.Day(p)
		case string:
			for _, how := range p {
				out = append(out, progress.Try{Day: day, Won: how == '+' || how == 'P', Part: how == 'p' || how == 'P'})
			}
		}
	}
	return out
}

// TestNextOffer: after the third not won in a row the last part comes in place of
// the next try; five tries a day and twenty minutes of play are enough, but for
// a test that was begun today.
func TestNextOffer(t *testing.T) {
	t.Parallel()
	today := progress.Day(20_000)
	for name, c := range map[string]struct {
		tries   []progress.Try
		seconds int
		test    bool
		want    progress.Offer
	}{
		"the first":                            {nil, 0, false, progress.NextTry},
		"two not won":                          {tries("--"), 0, false, progress.NextTry},
		"three not won":                        {tries("---"), 0, false, progress.LastPart},
		"not in a row":                         {tries("--+-"), 0, false, progress.NextTry},
		"three over two days":                  {tries(-1, "--", 1, "-"), 0, false, progress.LastPart},
		"the part was played":                  {tries("---p"), 0, false, progress.NextTry},
		"the part was won":                     {tries("---P"), 0, false, progress.NextTry},
		"three more after it":                  {tries(-1, "---p", 1, "---"), 0, false, progress.LastPart},
		"five tries":                           {tries("+-+-+"), 0, false, progress.EnoughToday},
		"five, the last three not won":         {tries("++---"), 0, false, progress.EnoughToday},
		"that again, a day later":              {tries(-1, "++---"), 0, false, progress.LastPart},
		"four today, five yesterday":           {tries(-1, "+++++", 1, "++++"), 0, false, progress.NextTry},
		"the part is a try of the day":         {tries("---p-"), 0, false, progress.EnoughToday},
		"a second short of twenty minutes":     {tries("+"), 1199, false, progress.NextTry},
		"twenty minutes":                       {tries("+"), 1200, false, progress.EnoughToday},
		"twenty minutes, a test begun today":   {tries("+-"), 1500, true, progress.NextTry},
		"twenty minutes, a test not begun yet": {tries(-1, "+-"), 1500, true, progress.EnoughToday},
		"a test of five is done":               {tries("++-++"), 0, true, progress.EnoughToday},
	} {
		if got := progress.NextOffer(c.tries, today, c.seconds, c.test); got != c.want {
			t.Errorf("%s: %d, want %d", name, got, c.want)
		}
	}
}

// TestStuck: who is stuck stays so until a start is won; the last part changes
// nothing.
func TestStuck(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		tries []progress.Try
		lost  int
		want  bool
	}{
		"nothing": {nil, 0, false}, "two": {tries("+--"), 2, false}, "three": {tries("+---"), 3, true},
		"over days":        {tries("--", 4, "-", 1, "-"), 4, true},
		"the part was won": {tries("---P"), 3, true}, "a start was won": {tries("---P+"), 0, false},
	} {
		if lost, got := progress.Stuck(c.tries); got != c.want || lost != c.lost {
			t.Errorf("%s: %d, %v", name, lost, got)
		}
	}
}

// TestPartOf: over every stage of every ending the part lies one stage later,
// within the drill, and asks for half the moves or fewer.
func TestPartOf(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	for i := range ending.Plans() {
		plan := &ending.Plans()[i]
		for s, step := range plan.Steps {
			starts, err := judge.Starts(ctx, plan, step.Stage, 3, 4)
			if err != nil {
				t.Fatal(err)
			}
			for _, start := range starts {
				to := plan.Steps[plan.Last()].Stage
				p, from, ok, err := progress.PartOf(ctx, judge, progress.Key{Ending: plan.Code, Stage: step.Stage}, to, start, 7)
				if err != nil || !ok {
					t.Errorf("%s, %s: no part, %v", plan.Name, step.Stage, err)
					continue
				}
				whole, _ := judge.ParOf(ctx, start, plan.Last())
				half, err := judge.ParOf(ctx, p, plan.Last())
				l, _ := judge.Look(ctx, p)
				if err != nil || half > max(whole/2, 2) || plan.Index(from) != min(s+1, plan.Last()) ||
					l.Stage != plan.Index(from) {
					t.Errorf("%s, %s: par %d of %d, from %s, lies in %d, %v", plan.Name, step.Stage, half, whole, from, l.Stage, err)
				}
			}
		}
	}
}

// TestLastPartOf: the part is of the start that was tried last, one stage later; in place of
// a test it is practice with the rule of practice, and no budget ends it.
func TestLastPartOf(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	starts := []string{"8/8/8/4k3/8/8/8/4K2R w - - 0 1", "8/8/8/3k4/8/8/8/R3K3 w - - 0 1", "nothing to read"}
	for _, c := range []struct {
		name       string
		mode, want practice.Mode
		start      int
		ok, bad    bool
	}{
		{"a test", practice.Test, practice.Practice, 0, true, false},
		{"practice", practice.Practice, practice.Practice, 1, true, false},
		{"guided", practice.Guided, practice.Guided, 1, true, false},
		{"before the first start", practice.Practice, "", -1, false, false},
		{"after the last start", practice.Practice, "", 3, false, false},
		{"a start that cannot be read", practice.Practice, "", 2, false, true},
	} {
		rule := club.RuleOf(c.mode)
		rule.Budget, rule.Backs = 40, 1
		d := club.Drill{Ending: "KRK", Mode: c.mode, From: ending.Centralise, To: ending.Mate, Starts: starts, Rule: rule}
		part, ok, err := progress.LastPartOf(ctx, judge, progress.TaskTries{Assignment: club.Assignment{ID: 3, Drill: d},
			Tries: []progress.Try{{Start: 1}, {Start: c.start}}})
		if ok != c.ok || (err != nil) != c.bad {
			t.Errorf("%s: %v, %v", c.name, ok, err)
		}
		if !ok {
			continue
		}
		if c.mode == practice.Test {
			rule = club.RuleOf(practice.Practice)
		}
		rule.Budget = 0
		if part.ID != 3 || part.Drill.Mode != c.want || part.Drill.From != ending.Edge || part.Drill.To != ending.Mate ||
			!reflect.DeepEqual(part.Drill.Rule, rule) {
			t.Errorf("%s: %+v", c.name, part)
		}
		whole, half := parOf(ctx, t, starts[c.start]), parOf(ctx, t, part.Start)
		if half > whole/2 || half < 2 {
			t.Errorf("%s: par %d in place of %d", c.name, half, whole)
		}
	}
}

// parOf is the par of a rook ending to mate.
func parOf(ctx context.Context, t *testing.T, fen string) int {
	t.Helper()
	p, err := board.ParseFEN(fen)
	if err != nil {
		t.Fatal(err)
	}
	plan, _ := ending.PlanOf("KRK")
	par, err := judge.ParOf(ctx, p, plan.Last())
	if err != nil {
		t.Fatal(err)
	}
	return par
}

var judge = ending.NewJudge(solver.NewTables())
