package practice_test

import (
	"testing"

	"drover/game/practice"
)

// TestStatesAreApart: two acts folded onto the same state give two states that know
// nothing of each other, and the first state stays as it was; also after a move was
// taken back.
func TestStatesAreApart(t *testing.T) {
	t.Parallel()
	g := begin(t, "KRK", "8/8/8/4k3/8/8/8/R3K3 w - - 0 1", func(s *practice.Setup) { s.Backs = 3 })
	for range 6 {
		g.best()
	}
	root := g.State
	fen, acts := root.Pos.FEN(), len(root.Acts)
	twins := make([]practice.State, 0, len(root.Pos.Moves()))
	for _, m := range root.Pos.Moves() {
		next, err := root.Fold(practice.Act{Seq: acts + 1, Kind: practice.Move, Move: m.UCI()})
		if err != nil {
			t.Fatal(err)
		}
		if next, err = next.Fold(practice.Act{Seq: acts + 2, Kind: practice.Back}); err != nil {
			t.Fatal(err)
		}
		if next, err = next.Fold(practice.Act{Seq: acts + 3, Kind: practice.Move, Move: m.UCI()}); err != nil {
			t.Fatal(err)
		}
		twins = append(twins, next)
	}
	for i, m := range root.Pos.Moves() {
		s := twins[i]
		if len(s.Acts) != acts+3 || s.Acts[acts].Move != m.UCI() || s.Last().Move != m.UCI() ||
			s.Line[len(s.Line)-1].Act.Move != m.UCI() || s.Ply() != root.Ply()+1 || s.PlyBefore() != root.Ply() {
			t.Errorf("%s: %+v", m.UCI(), s.Acts[acts:])
		}
	}
	if root.Pos.FEN() != fen || len(root.Acts) != acts || root.Seq() != acts {
		t.Errorf("the first state is at %s now, after %d acts", root.Pos.FEN(), root.Seq())
	}
	root.Acts = append(root.Acts, practice.Act{Kind: practice.Left}) // a stranger's append writes to nobody's memory
	if twins[0].Acts[acts].Kind != practice.Move {
		t.Error("an append to one state's acts wrote into another's")
	}
}

// TestApplyIsFold: the state that Apply gives is the one that its act gives when the
// log is folded.
func TestApplyIsFold(t *testing.T) {
	t.Parallel()
	g := begin(t, "KQK", "8/8/8/4k3/8/8/8/3QK3 w - - 0 1")
	for g.End == "" {
		before := g.State
		g.best()
		again, err := before.Fold(g.Last())
		if err != nil {
			t.Fatal(err)
		}
		if again.Pos.FEN() != g.Pos.FEN() || again.Ply() != g.Ply() || again.End != g.End || again.Gone != g.Gone ||
			again.NoNearer() != g.NoNearer() || again.Times() != g.Times() ||
			again.Line[len(again.Line)-1].Act != g.Line[len(g.Line)-1].Act {
			t.Fatalf("act %d: %+v and %+v", g.Seq(), again.Last(), g.Last())
		}
	}
}
