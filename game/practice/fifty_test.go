package practice_test

import (
	"testing"

	"drover/game/ending"
	"drover/game/practice"
)

// cause is what is said of a stopped game.
func cause(t *testing.T, g *game) string {
	t.Helper()
	say, err := g.Task.Cause(ctx, judge, g.State)
	if err != nil {
		t.Fatal(err)
	}
	return say
}

// TestFiftyRunsOut: a game in which only the moves ran out says so, ends by
// article 9.3 of the FIDE Laws, and blames the stage with the greatest excess.
func TestFiftyRunsOut(t *testing.T) {
	t.Parallel()
	g := begin(t, "KRK", "8/8/8/4k3/8/8/8/R3K3 w - - 0 1")
	for i := 0; !g.Gone && g.End == ""; i++ {
		wander(g, i)
	}
	if !g.Gone || cause(t, g) != "Fifty-move rule, FIDE Laws 9.3" {
		t.Fatalf("ended by %q, gone %v", g.End, g.Gone)
	}
	if a := g.do(practice.Resign, ""); a.End != practice.Fifty {
		t.Errorf("declined: %s", a.End)
	}
	o := g.outcome()
	var most practice.StageResult
	for _, r := range o.Stages {
		if r.Moves-r.Par > most.Moves-most.Par || most.Stage == "" {
			most = r
		}
	}
	if o.Failed != most.Stage {
		t.Errorf("blamed is %q of %+v", o.Failed, o.Stages)
	}
}

// wander plays winning moves that make no headway and no fifth repetition: each
// time another one of those that win.
func wander(g *game, i int) {
	g.Helper()
	options, err := judge.Options(ctx, g.Pos)
	if err != nil {
		g.Fatal(err)
	}
	var winning []ending.Option
	for _, o := range options {
		if o.Wins() && o.After.Plies > 12 {
			winning = append(winning, o)
		}
	}
	if len(winning) == 0 {
		g.best()
		return
	}
	g.do(practice.Move, winning[(i*7+3)%len(winning)].Move.UCI())
}

// TestLeftBlamesNobody: a game that was left has no stage that lost it.
func TestLeftBlamesNobody(t *testing.T) {
	t.Parallel()
	g := begin(t, "KRK", "8/8/8/4k3/8/8/8/R3K3 w - - 0 1")
	g.best()
	g.best()
	g.do(practice.Left, "")
	if o := g.outcome(); g.End != practice.Abandoned || o.Failed != "" || o.Result != practice.NotWon {
		t.Errorf("%s: %+v", g.End, o)
	}
}

// TestStoppedCountsForNothing: a game that is stopped from outside ends as that, also where the
// win had just gone; it blames nobody and counts for nothing.
func TestStoppedCountsForNothing(t *testing.T) {
	t.Parallel()
	g := begin(t, "KRK", "8/8/8/4k3/8/8/8/R3K3 w - - 0 1")
	g.best()
	g.do(practice.Move, "a1a5") // offers nothing
	g.do(practice.Stop, "")
	if o := g.outcome(); g.End != practice.Stopped || o.Failed != "" || !o.Uncounted() || o.Next() != practice.RestStep {
		t.Errorf("%s: %+v", g.End, o)
	}
}
