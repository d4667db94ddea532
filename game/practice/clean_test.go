package practice_test

import (
	"testing"

	"drover/game/ending"
	"drover/game/practice"
)

// roomy are starts in a stage of bishop and knight that takes so many moves that
// some may be lost and it is still not far over par.
func roomy(t *testing.T, n int) []string {
	t.Helper()
	plan, _ := ending.PlanOf("KBNK")
	picked, err := judge.Pick(ctx, plan, ending.Wanted{Stage: ending.Corner, To: ending.Corner, Kind: ending.AtRandom,
		Least: 12, N: n, Seed: 8})
	if err != nil {
		t.Fatal(err)
	}
	var fens []string
	for _, p := range picked.Starts {
		fens = append(fens, p.FEN())
	}
	return fens
}

// costing plays a move of a cost that loses no stage; false where there is none.
func (g *game) costing(cost int) bool {
	g.Helper()
	_, answers, err := judge.Survey(ctx, g.Pos)
	if err != nil {
		g.Fatal(err)
	}
	for _, a := range answers {
		if a.Cost == cost && (a.Grade == ending.Detour || a.Grade == ending.OnCourse) && !g.Pos.Play(a.Move).Dead() {
			return g.do(practice.Move, a.Move.UCI()).Cost == cost
		}
	}
	return false
}

// finished plays the best moves to the mate and gives the row of the first stage.
// ok is false where the game cannot say anything: it was far over par, so other
// limits of 'clean' decide too.
func (g *game) finished() (row practice.StageResult, ok bool) {
	g.Helper()
	for g.End == "" {
		g.best()
	}
	row = g.outcome().Stages[0]
	return row, row.Stage == ending.Corner && row.Slips == 0 && row.Moves <= row.Par+max(2, (row.Par+1)/2)
}

// TestCleanAllowsACostOfTwo: a move that costs two leaves its stage clean, one
// that costs three does not.
func TestCleanAllowsACostOfTwo(t *testing.T) {
	t.Parallel()
	seen := map[int]int{}
	for _, fen := range roomy(t, 12) {
		for cost := 1; cost <= 4; cost++ {
			g := begin(t, "KBNK", fen)
			if !g.costing(cost) {
				continue
			}
			row, ok := g.finished()
			if !ok {
				continue
			}
			if seen[cost]++; row.Clean != (cost < 3) {
				t.Errorf("%s: a move that costs %d, clean %v: %+v", fen, cost, row.Clean, row)
			}
		}
	}
	if seen[2] == 0 || seen[3] == 0 {
		t.Errorf("games by the cost of a move: %v", seen)
	}
}

// TestCleanAllowsFiveNoNearer: five moves running without coming nearer leave
// their stage clean, six do not.
func TestCleanAllowsFiveNoNearer(t *testing.T) {
	t.Parallel()
	seen := map[int]int{}
	for _, fen := range roomy(t, 12) {
		for _, lost := range []int{4, 5, 6, 7} {
			g := begin(t, "KBNK", fen)
			n := 0
			for n < lost && g.costing(1) {
				n++
			}
			if n < lost || g.NoNearer() != lost {
				continue
			}
			row, ok := g.finished()
			if !ok {
				continue
			}
			if seen[lost]++; row.Clean != (lost < 6) {
				t.Errorf("%s: %d moves no nearer, clean %v: %+v", fen, lost, row.Clean, row)
			}
		}
	}
	if seen[5] == 0 || seen[6] == 0 {
		t.Errorf("games by moves no nearer: %v", seen)
	}
}

// TestCleanAllowsNoHelp: a step of help, a move taken back and help from somebody keep the
// stage from being clean; the best moves alone leave it so.
func TestCleanAllowsNoHelp(t *testing.T) {
	t.Parallel()
	helped := func(s *practice.Setup) { s.Helps, s.Backs = practice.StepsOf(ending.HelpWish), 1 }
	for name, help := range map[string]func(*game){
		"alone":   func(*game) {},
		"a wish":  func(g *game) { g.try1(practice.Command{Do: practice.Help, Step: int(ending.HelpWish)}) },
		"back":    func(g *game) { g.best(); g.try1(practice.Command{Do: practice.Back}) },
		"by hand": func(g *game) { g.try1(practice.Command{Do: practice.Helped}) },
	} {
		g := begin(t, "KBNK", roomy(t, 1)[0], helped)
		help(g)
		row, ok := g.finished()
		if !ok || !row.Completed || row.Clean != (name == "alone") {
			t.Errorf("%s: %+v", name, row)
		}
	}
}

// try1 does what the game allows.
func (g *game) try1(c practice.Command) {
	g.Helper()
	if _, err := g.try(c); err != nil {
		g.Fatal(err)
	}
}
