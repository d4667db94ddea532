package ending_test

import (
	"context"
	"crypto/sha256"
	"errors"
	"fmt"
	"strings"
	"sync/atomic"
	"testing"

	"drover/game"
	"drover/game/ending"
)

// searches are all that can be asked for and hardly or never found: each stage and
// kind with a par that no start has, and the kinds of the hold drills.
func searches(do func(name string, pick func(ctx context.Context) (ending.Picked, error))) {
	for _, plan := range ending.Plans() {
		for _, step := range plan.Steps {
			for _, k := range ending.StartKinds() {
				for _, least := range []int{0, 49} {
					if k.Only != "" && k.Only != plan.Code {
						continue
					}
					w := ending.Wanted{Stage: step.Stage, Kind: k.Code, Least: least, N: 1 << 20, Seed: 7}
					name := fmt.Sprintf("%s %s %s %d", plan.Code, step.Stage, k.Code, least)
					do(name, func(ctx context.Context) (ending.Picked, error) { return judge.Pick(ctx, &plan, w) })
				}
			}
		}
	}
	for _, h := range ending.Holds() {
		for _, kind := range []string{ending.AtRandom, "only"} {
			do(h.Code+" "+kind, func(ctx context.Context) (ending.Picked, error) {
				return judge.HoldStarts(ctx, &h, ending.Wanted{Kind: kind, N: 1 << 20, Seed: 7})
			})
		}
	}
}

// BenchmarkSearch measures what a unit of a search's work costs, for each search
// that finds too little.
func BenchmarkSearch(b *testing.B) {
	ctx := context.Background()
	searches(func(name string, pick func(context.Context) (ending.Picked, error)) {
		b.Run(name, func(b *testing.B) {
			work := 0
			for b.Loop() {
				p, err := pick(ctx)
				if err == nil {
					b.Fatal("a million starts were found")
				}
				work = p.Work
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/1e6, "ms/search")
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(work), "ns/unit")
			b.ReportMetric(0, "ns/op")
		})
	})
}

// TestSearchKeepsItsBudget: what is not there ends within the budget, with a
// sentence that says what to change.
func TestSearchKeepsItsBudget(t *testing.T) {
	t.Parallel()
	searches(func(name string, pick func(context.Context) (ending.Picked, error)) {
		switch name { // the longest of each sort
		case "KBNK mate random 49", "KBNK mate trap 0", "KBBK centralise trap 0", "KRRK edge only 0", "KQKP random":
		default:
			return
		}
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			p, err := pick(context.Background())
			if p.Work > ending.Budget || p.Work == 0 {
				t.Errorf("%d of %d", p.Work, ending.Budget)
			}
			say := game.Saying(err)
			if game.KindOf(err) != game.Bad || !strings.Contains(say, "Choose") && !strings.Contains(say, "Ask for fewer") &&
				!strings.Contains(say, "Write numbers") {
				t.Errorf("%v", err)
			}
		})
	})
}

// TestNoStartSaysWhatToChange: par that the stage does not have, a kind that it
// does not have, and both.
func TestNoStartSaysWhatToChange(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		code        string
		stage       ending.Stage
		kind        string
		least, most int
		say         string
	}{
		{"KBNK", ending.Mate, ending.AtRandom, 40, 45, "No start with a par of 40 to 45 was found here. Par is 2 to "},
		{"KRK", ending.Edge, ending.AtRandom, 0, 1, "No start with a par of 1 or less was found here. Par is"},
		{"KRRK", ending.Edge, "trap", 0, 0, "No start of this kind was found here. Choose another kind, or another stage."},
		{"KRRK", ending.Edge, "trap", 2, 5,
			"No start of this kind with a par of 2 to 5 was found here. Choose another kind, stage or par: par is 2 to"},
	} {
		plan, _ := ending.PlanOf(c.code)
		_, err := judge.Pick(context.Background(), plan, ending.Wanted{Stage: c.stage, Kind: c.kind, Least: c.least,
			Most: c.most, N: 4, Seed: 3})
		if got := game.Saying(err); game.KindOf(err) != game.Bad || !strings.HasPrefix(got, c.say) {
			t.Errorf("%s, %s, %s: %q, want %q", c.code, c.stage, c.kind, got, c.say)
		}
	}
}

// leaving is a context that ends after some looks at it.
type leaving struct {
	context.Context
	looks atomic.Int64
}

func (c *leaving) Err() error {
	if c.looks.Add(-1) < 0 {
		return context.Canceled
	}
	return nil
}

// TestCancelledSearchEnds: a search whose request is over ends with the next look
// at it, and looks are never further apart than half a millisecond of work.
func TestCancelledSearchEnds(t *testing.T) {
	t.Parallel()
	const apart = 1000 // units of work
	searches(func(name string, pick func(context.Context) (ending.Picked, error)) {
		if !strings.HasPrefix(name, "KBNK") { // their tables are there: nothing else is ended by it
			return
		}
		for _, looks := range []int64{0, 1, 7} {
			ctx := &leaving{Context: context.Background()}
			ctx.looks.Store(looks)
			p, err := pick(ctx)
			if !errors.Is(err, context.Canceled) || int64(p.Work) > (looks+1)*apart {
				t.Errorf("%s, after %d looks: work %d, %v", name, looks, p.Work, err)
			}
		}
	})
}

// TestStartsStayTheSame: the starts of a seed are those that they always were; the
// hash is of the release before the search had a budget.
func TestStartsStayTheSame(t *testing.T) {
	t.Parallel()
	h := sha256.New()
	keep := func(name string, p ending.Picked, err error) {
		if err != nil {
			return
		}
		fmt.Fprintln(h, name)
		for _, start := range p.Starts {
			fmt.Fprintln(h, start.FEN())
		}
	}
	for _, plan := range ending.Plans() {
		for _, step := range plan.Steps {
			for _, kind := range []string{ending.AtRandom, "only", "trap"} {
				p, err := judge.Pick(context.Background(), &plan, ending.Wanted{Stage: step.Stage, Kind: kind, N: 3, Seed: 41})
				keep(fmt.Sprint(plan.Code, step.Stage, kind), p, err)
			}
			p, err := judge.Pick(context.Background(), &plan, ending.Wanted{Stage: step.Stage, Kind: ending.AtRandom, Least: 3,
				Most: 12, N: 3, Seed: 17})
			keep(fmt.Sprint(plan.Code, step.Stage, 3), p, err)
		}
	}
	for _, hold := range ending.Holds() {
		p, err := judge.HoldStarts(context.Background(), &hold, ending.Wanted{Kind: ending.AtRandom, N: 3, Seed: 41})
		keep(hold.Code, p, err)
	}
	const want = "68ccd454d33b0169f35cbcdbfdefdb98d55a04d872655bfc9a0799f3543561da"
	if got := fmt.Sprintf("%x", h.Sum(nil)); got != want {
		t.Errorf("the starts have changed: %s", got)
	}
}
