package progress

import (
	"context"
	"encoding/json"
	"flag"
	"os"
	"testing"

	"drover/game/board"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/solver"
)

var writeShelf = flag.Bool("shelf", false, "pick the starts of the ready drills anew and write them to shelf.json")

// TestShelfCanBeDone: every ending that is taught has ready drills of three levels, and
// every drill can be done: its starts are legal, differ, lie in its first stage, and fit its
// rule. No two have a code or a name in common.
func TestShelfCanBeDone(t *testing.T) {
	t.Parallel()
	ctx, judge := context.Background(), ending.NewJudge(solver.NewTables())
	fresh(ctx, t, judge)
	all, err := Shelf()
	if err != nil {
		t.Fatal(err)
	}
	levels, names := map[string]int{}, map[string]bool{}
	for _, r := range all {
		d := r.Drill
		if names[d.Name] || names[r.Code] || d.Trains == "" {
			t.Errorf("%s, %q: not one of a kind, or without a sentence", r.Code, d.Name)
		}
		names[d.Name], names[r.Code] = true, true
		levels[d.Ending] |= 1 << d.Level
		if want := map[bool]int{true: 5, false: 4}[d.Mode == practice.Test]; len(d.Starts) != want {
			t.Errorf("%s has %d starts", r.Code, len(d.Starts))
		}
		var asked []club.Asked
		for _, fen := range d.Starts {
			if names[fen] {
				t.Logf("%s shares %s with another drill", r.Code, fen)
			}
			names[fen] = true
			asked = append(asked, asks(t, judge, &d, fen))
		}
		if err := d.Fits(asked); err != nil {
			t.Errorf("%s cannot be done: %v", r.Code, err)
		}
	}
	for _, plan := range ending.Taught() {
		if levels[plan.Code] != 1<<Beginning|1<<GoingOn|1<<Sure {
			t.Errorf("%s has the levels %b", plan.Code, levels[plan.Code])
		}
	}
	for _, h := range ending.Holds() {
		if levels[h.Code] < 1<<GoingOn {
			t.Errorf("nothing is ready to hold %s", h.Code)
		}
	}
}

// fresh holds the file of starts against what their seeds pick; with -shelf it is written.
func fresh(ctx context.Context, t *testing.T, judge *ending.Judge) {
	t.Helper()
	all, err := pickStarts(ctx, judge)
	if err != nil {
		t.Fatal(err)
	}
	text, err := json.MarshalIndent(all, "", "\t")
	if err != nil {
		t.Fatal(err)
	}
	if text = append(text, '\n'); *writeShelf {
		if err := os.WriteFile("shelf.json", text, 0o644); err != nil { //nolint:gosec // a file of the source
			t.Fatal(err)
		}
		readyStarts = text
	}
	if string(text) != string(readyStarts) {
		t.Fatal("shelf.json is stale: go test ./game/progress -run ShelfCanBeDone -shelf")
	}
}

// asks is what a start asks for; it must be won in the drill's first stage.
func asks(t *testing.T, judge *ending.Judge, d *club.Drill, fen string) club.Asked {
	t.Helper()
	p, err := board.ParseFEN(fen)
	if err != nil {
		t.Fatal(err)
	}
	a := club.Asked{Moves: practice.Setup{Budget: d.Rule.Budget}.Wanted(), Clock: p.HalfMoves()}
	if d.Hold {
		return a
	}
	plan, _ := ending.PlanOf(d.Ending)
	l, err := judge.Look(context.Background(), p)
	if err != nil || !l.Won() || plan.Steps[l.Stage].Stage != d.From {
		t.Errorf("%s lies in stage %d of %s, %v", fen, l.Stage, d.Ending, err)
	}
	if a.Moves, err = judge.ParOf(context.Background(), p, plan.Index(d.To)); err != nil {
		t.Fatal(err)
	}
	return a
}
