package progress_test

import (
	"context"
	"maps"
	"slices"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
)

// allProposals are the proposals that can be made, by code: of being stuck in each stage and
// hold, of each habit and stage that is taught first, of each rung of the ladder and each
// test.
func allProposals() map[string]progress.Proposal {
	out := map[string]progress.Proposal{}
	add := func(k progress.Known) {
		if p, ok := progress.Propose(k); ok {
			out[p.Code()] = p
		}
	}
	add(progress.Known{})
	for _, h := range ending.Holds() {
		add(progress.Known{Stuck: &progress.Key{Ending: h.Code, Stage: ending.HoldStage}})
	}
	for _, plan := range ending.Taught() {
		for _, step := range append(slices.Clone(plan.Steps), ending.Step{}) {
			at := progress.Key{Ending: plan.Code, Stage: step.Stage}
			for _, habit := range append(slices.Clone(practice.Habits()), "") {
				if habit != "" || step.Stage != "" {
					add(progress.Known{First: &progress.First{Ending: plan.Code, Stage: step.Stage, Habit: habit}})
				}
			}
			if step.Stage != "" {
				add(progress.Known{Stuck: &at})
				add(progress.Known{Placed: &progress.PlacementResult{First: at, Why: "So it is."}})
			}
		}
		add(progress.Known{Marks: marks(plan.Code + " " + "ffff"[:len(plan.Steps)])})
		for n := range plan.Steps {
			add(progress.Known{Marks: marks(plan.Code + " " + "hhhh"[:len(plan.Steps)-n] + "ffff"[:n])})
		}
		add(progress.Known{Marks: marks(plan.Code + " " + "bbbb"[:len(plan.Steps)]),
			Mastery: mastery(progress.Mastery{Tested: 1}, plan.Code)})
	}
	return out
}

// TestEveryProposalIsADrill: what is proposed can be given. A drill that is made of it is
// valid, suits it, has starts that differ, and fits its own rule; its name says no more than
// fits on a card. A proposal that a ready drill suits begins in the same ending with the
// same kind of starts.
func TestEveryProposalIsADrill(t *testing.T) {
	t.Parallel()
	ready, err := progress.Shelf()
	if err != nil {
		t.Fatal(err)
	}
	all, names, tests := allProposals(), map[string]string{}, 0
	for _, code := range slices.Sorted(maps.Keys(all)) {
		p := all[code]
		d, err := p.Make(context.Background(), judge)
		if err != nil {
			t.Errorf("%s: %v", code, err)
			continue
		}
		starts := slices.Compact(slices.Sorted(slices.Values(d.Starts)))
		if err := d.Validate(); err != nil || p.Suits(d) == 0 || len(starts) != len(d.Starts) {
			t.Errorf("%s: %q does not suit what it was made of: %v", code, d.Name, err)
		}
		if (d.Mode == practice.Test) != (d.Rule.PassOf(len(d.Starts)) == club.PassMost) || (d.Rule.Budget > 0) != (p.Near) {
			t.Errorf("%s has the rule %+v", code, d.Rule)
		}
		if p.Mode == practice.Test {
			tests++
		}
		if r, ok := p.ReadyFor(ready, nil); ok {
			if r.Drill.Ending != p.Ending || r.Drill.Hold != p.Hold || r.Drill.Kind != p.Kind || (r.Drill.Mode == practice.Test) != (p.Mode == practice.Test) {
				t.Errorf("%s is given %s", code, r.Code)
			}
			if _, again := p.ReadyFor(ready, map[string]bool{r.Code: true}); again && p.Kind == ending.AtRandom {
				t.Errorf("%s suits two ready drills", code)
			}
		} else if other, is := names[d.Name]; is && all[other].Suits(d) == 0 {
			t.Errorf("%s and %s are both called %q", code, other, d.Name)
		} else {
			names[d.Name] = code
		}
	}
	if len(all) < 40 || tests != len(progress.Ladder()) {
		t.Errorf("%d proposals, %d of them tests", len(all), tests)
	}
}

// TestBestDrill: of the drills that suit a proposal the one comes first that begins where it
// does, then that with its defender; what is not asked for suits nothing.
func TestBestDrill(t *testing.T) {
	t.Parallel()
	p, _ := progress.Propose(progress.Known{First: &progress.First{Ending: "KRK", Stage: ending.Edge, Habit: practice.KingHome}})
	starts := []string{"a", "b", "c", "d"}
	with := func(change func(*club.Drill)) club.Drill {
		d := p.Draft()
		d.Starts = starts
		change(&d)
		return d
	}
	exact := with(func(*club.Drill) {})
	elsewhere := with(func(d *club.Drill) { d.From = ending.Centralise })
	defended := with(func(d *club.Drill) { d.Defender, d.Mode = ending.TestsMoves, practice.Practice })
	if got := p.Best([]club.Drill{elsewhere, defended, exact, exact}); got != 2 {
		t.Errorf("the best is %d", got)
	}
	if got := p.Best([]club.Drill{elsewhere, defended}); got != 1 {
		t.Errorf("the next best is %d", got)
	}
	for name, other := range map[string]club.Drill{
		"another ending":    with(func(d *club.Drill) { d.Ending = "KQK" }),
		"other starts":      with(func(d *club.Drill) { d.Kind = ending.AtRandom }),
		"pasted starts":     with(func(d *club.Drill) { d.Kind = club.Pasted }),
		"a test":            with(func(d *club.Drill) { d.Mode = practice.Test }),
		"a clock":           with(func(d *club.Drill) { d.Rule.Clock = 300 }),
		"few moves":         with(func(d *club.Drill) { d.Rule.Budget = 12 }),
		"hardly any starts": with(func(d *club.Drill) { d.Starts = starts[:2] }),
	} {
		if p.Best([]club.Drill{other}) >= 0 {
			t.Errorf("%s suits it", name)
		}
	}
	if far := with(func(d *club.Drill) { d.Rule.Budget = 50 }); p.Best([]club.Drill{far}) != 0 {
		t.Error("fifty moves are as many as there are anyway")
	}
	random, _ := progress.Propose(progress.Known{First: &progress.First{Ending: "KRK", Stage: ending.Edge}})
	guided := random.Draft()
	guided.Starts = starts
	shown := guided
	shown.Mode = practice.Practice
	if random.Best([]club.Drill{shown}) >= 0 || random.Best([]club.Drill{shown, guided}) != 1 {
		t.Error("the reason says that a verdict comes after each move, and the drill does not")
	}
}

// TestNextKnowsMoreThanEightWeeks: an overview draws the games of the last weeks, and what
// comes next follows from all: who has reached a stage before the holidays does not begin anew.
func TestNextKnowsMoreThanEightWeeks(t *testing.T) {
	t.Parallel()
	now := time.Date(2026, 9, 10, 18, 0, 0, 0, time.UTC)
	r := progress.Record{Now: now}
	for i := range 3 {
		r.Stages = append(r.Stages, progress.StagePlayed{Ending: "KRRK", Stage: ending.Mate, Clean: true, Completed: true, Par: 3, Moves: 3,
			Game: game.GameID(i + 1), Ended: now.Add(-progress.Window - time.Duration(i+1)*time.Hour)})
	}
	o := r.Overview()
	if len(o.Cells) != 0 || o.Next == nil || o.Next.Code() != "KRRK edge mate guided random chase" || o.Test != nil {
		t.Errorf("%d cells, next %+v", len(o.Cells), o.Next)
	}
	for i := range 3 {
		at := r.Stages[i]
		at.Stage = ending.Edge
		r.Stages = append(r.Stages, at)
	}
	if o = r.Overview(); o.Test == nil || o.Test != o.Next || o.Next.Mode != practice.Test {
		t.Errorf("both stages are done alone, and next is %+v", o.Next)
	}
}
