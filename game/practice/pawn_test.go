package practice_test

import (
	"fmt"
	"testing"

	"drover/game/ending"
	"drover/game/practice"
)

// TestPawnToMate: king and pawn is played on as a queen to the mate; all rows
// keep stages of the pawn's own plan.
func TestPawnToMate(t *testing.T) {
	t.Parallel()
	g := begin(t, "KPK", "4k3/8/8/8/8/8/4P3/4K3 w - - 0 1")
	for g.End == "" {
		g.best()
	}
	o := g.outcome()
	if g.End != practice.Mated || o.Result != practice.Clean {
		t.Fatalf("ended by %s, %+v", g.End, o)
	}
	var stages []ending.Stage
	for _, r := range o.Stages {
		stages = append(stages, r.Stage)
	}
	if fmt.Sprint(stages) != "[front escort mate]" {
		t.Errorf("stages %v", stages)
	}
	short := begin(t, "KPK", "4k3/8/8/8/8/8/4P3/4K3 w - - 0 1", func(s *practice.Setup) { s.Target = ending.Escort })
	for short.End == "" {
		short.best()
	}
	if short.End != practice.Reached || short.Pos.Count() != 3 {
		t.Errorf("to the end row: %s in %s", short.End, short.Pos.FEN())
	}
}
