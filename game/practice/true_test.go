package practice_test

import (
	"fmt"
	"testing"
	"time"

	"drover/game/ending"
	"drover/game/practice"
)

// coached lets a coach act in a game.
func (g *game) coached(do practice.Kind, move string) practice.Act {
	g.Helper()
	at := began.Add(time.Duration(g.n) * 10 * time.Second)
	c := practice.Command{Do: do, Move: move, Ply: g.Ply(), By: 99, Who: "Coach Maren", Coach: true, At: at}
	switch do {
	case practice.Watch:
		c.ID = practice.Line{ID: "1"}.Begins()
	case practice.Unseen:
		c.ID = practice.Line{ID: "1"}.Ends()
	default:
		c.ID = fmt.Sprint(do, g.n)
	}
	next, err := practice.Apply(ctx, judge, g.State, c)
	if err != nil {
		g.Fatal(err)
	}
	next.Stamp(at)
	g.State = next
	return next.Last()
}

func byHand(s *practice.Setup) { s.Defender = ending.ByHand }

// TestGameByHandCountsForNothing: one reply by a coach's hand makes the game one
// that was played together; the same drill with nobody watching counts.
func TestGameByHandCountsForNothing(t *testing.T) {
	t.Parallel()
	for _, hand := range []bool{true, false} {
		g := begin(t, "KRK", "8/8/8/4k3/8/8/8/4K2R w - - 0 1", byHand)
		if hand {
			g.coached(practice.Watch, "")
			g.best()
			g.coached(practice.Hand, g.Pos.Moves()[0].UCI())
			g.coached(practice.Unseen, "")
		}
		for g.End == "" {
			g.best()
		}
		o := g.outcome()
		if !hand {
			if o.Shared || o.Result != practice.Clean || len(o.Stages) == 0 || o.Next() != practice.OnStep {
				t.Errorf("with nobody there: %+v", o)
			}
			continue
		}
		if !o.Shared || o.With != "Coach Maren" || o.Result != practice.WonHelped || len(o.Stages) != 0 ||
			o.Failed != "" {
			t.Errorf("by hand: %+v", o)
		}
		if say := fmt.Sprint(o.Sentences()); say != "[You played it with Coach Maren. Now try the same start alone.]" {
			t.Error(say)
		}
	}
}

// TestStageWhileHandWaits: while a reply by hand is awaited the game stands in the
// stage that the last move left it in.
func TestStageWhileHandWaits(t *testing.T) {
	t.Parallel()
	g := begin(t, "KRK", "3k4/8/1K6/8/8/8/8/4R3 w - - 0 1", byHand)
	g.coached(practice.Watch, "")
	g.best()
	now, err := practice.Now(ctx, judge, g.State)
	if err != nil || !g.Waiting() || now.Stage != ending.Mate || now.Par == 0 {
		t.Errorf("%+v, waiting %v (%v)", now, g.Waiting(), err)
	}
}

// TestQueenedPawnStaysInMate: once the pawn is a queen the game stands in the last
// stage of the pawn's plan to its end, with the moves to mate as par, and no stage
// counts as lost.
func TestQueenedPawnStaysInMate(t *testing.T) {
	t.Parallel()
	g := begin(t, "KPK", "4k3/8/8/8/8/8/4P3/4K3 w - - 0 1")
	queened := 0
	for g.End == "" {
		now, err := practice.Now(ctx, judge, g.State)
		if err != nil {
			t.Fatal(err)
		}
		if now.Look.Name == "KQK" {
			queened++
			if now.Stage != ending.Mate || now.Par != now.Look.MateIn() {
				t.Errorf("under the queen it stands in %s, par %d, and mate is in %d", now.Stage, now.Par, now.Look.MateIn())
			}
		}
		g.best()
	}
	if queened < 2 {
		t.Fatalf("%d moves with the queen", queened)
	}
	o := g.outcome()
	last := o.Stages[len(o.Stages)-1]
	if last.Stage != ending.Mate || last.Moves != queened || last.Par != queened || !last.Clean {
		t.Errorf("an optimal end has the row %+v, of %d moves", last, queened)
	}
	penned := 0
	for _, made := range g.Line {
		if l, err := judge.Look(ctx, made.Before); err != nil || (made.Pen > 0) != (l.Name == "KQK") {
			t.Errorf("move %s: his pen has %d squares in %s (%v)", made.Act.Move, made.Pen, l.Name, err)
		} else if made.Pen > 0 {
			penned++
		}
		situation, err := g.Verdict(ctx, judge, made)
		if err != nil || g.Lost(situation.Verdict) {
			t.Errorf("move %s lost a stage (%v)", made.Act.Move, err)
		}
	}
	if penned != queened {
		t.Errorf("he has a pen before %d moves, the queen made %d", penned, queened)
	}
}

// TestVisitsAddUp: the stays in stages have the moves of the line that stands; a
// stay that ended with an earlier stage says so, and moves taken back are none.
func TestVisitsAddUp(t *testing.T) {
	t.Parallel()
	simulated(t, func(s practice.State, _ practice.Outcome) {
		moves, n := 0, 0
		visits := s.Visits()
		for i, v := range visits {
			for ; n < len(s.Line) && s.Line[n].Act.Stage == v.Stage && v.Moves > 0; n++ {
				v.Moves--
			}
			if v.Moves != 0 {
				t.Fatalf("visits %+v are not the line's", visits)
			}
			back := i+1 < len(visits) && stageOrder(s, visits[i+1].Stage) < stageOrder(s, v.Stage)
			if visits[i].Lost != back {
				t.Errorf("visit %d of %+v", i, visits)
			}
			moves += visits[i].Moves
		}
		if moves != len(s.Line) {
			t.Errorf("%d moves in visits, %d on the line", moves, len(s.Line))
		}
	})
	g := begin(t, "KQK", "7k/8/6K1/8/8/8/5Q2/8 w - - 0 1")
	g.do(practice.Move, "Qf7")
	g.do(practice.Back, "")
	g.best()
	if v := g.Visits(); len(v) != 1 || v[0].Moves != 1 || g.Title() != "Checkmate in 1 move" {
		t.Errorf("%s above %+v", g.Title(), v)
	}
}

func stageOrder(s practice.State, stage ending.Stage) int {
	plan, _ := ending.PlanOf(s.Ending)
	return plan.Index(stage)
}

// TestStoryKeepsWhatWasTakenBack: a stalemate that was taken back belongs to the
// story, with its number and its place.
func TestStoryKeepsWhatWasTakenBack(t *testing.T) {
	t.Parallel()
	g := begin(t, "KQK", "7k/8/6K1/8/8/8/5Q2/8 w - - 0 1")
	g.do(practice.Move, "Qf7")
	g.do(practice.Back, "")
	g.best()
	story, err := g.Story()
	if err != nil || len(story) != 2 {
		t.Fatalf("%+v (%v)", story, err)
	}
	first, second := story[0], story[1]
	if !first.Away || first.No != 1 || first.Act.Grade != ending.WinGone || second.Away || second.No != 1 ||
		second.Before.FEN() != g.First.FEN() {
		t.Errorf("%+v, then %+v", first.Act, second.Act)
	}
}

// TestShufflerIsNotOnCourse: from the fourth move without coming nearer a move is
// shown as 'no nearer', the first such is marked in the story, and what is kept is
// as it was. With a pawn on the board nothing of the kind is said.
func TestShufflerIsNotOnCourse(t *testing.T) {
	t.Parallel()
	g := begin(t, "KRK", "8/8/8/4k3/8/8/8/4K2R w - - 0 1")
	for range 6 {
		g.shuffle()
	}
	story, err := g.Story()
	if err != nil {
		t.Fatal(err)
	}
	var marked []int
	for _, told := range story {
		if told.Stuck {
			marked = append(marked, told.Nearer)
		}
		shown := practice.ShownGrade(told.Act.Grade, told.Nearer)
		if told.Act.Grade != ending.OnCourse || (shown == practice.StuckGrade) != (told.Nearer >= 4) {
			t.Errorf("a count of %d: %s, shown as %s", told.Nearer, told.Act.Grade, shown)
		}
	}
	if fmt.Sprint(marked) != "[4]" {
		t.Errorf("marked at the counts %v", marked)
	}
	if got := practice.ShownGrade(ending.Detour, 7); got != ending.Detour {
		t.Errorf("a detour is shown as %s", got)
	}
	pawn := begin(t, "KPK", "7k/8/8/8/8/4K3/4P3/8 w - - 0 1")
	for i, uci := range []string{"e3d4", "d4e4", "e4d4", "d4e4", "e4d4", "d4e4", "e4d4"} {
		pawn.do(practice.Move, uci)
		if n := pawn.NoNearer(); n != 0 || pawn.Gone {
			t.Errorf("king and pawn, move %d: a count of %d, win gone %v", i+1, n, pawn.Gone)
		}
	}
}

// TestNewTryBlamesNobody: a game that a new try takes the place of is not won, and
// no stage is blamed; where the win was gone before, it ends as if given up.
func TestNewTryBlamesNobody(t *testing.T) {
	t.Parallel()
	g := begin(t, "KRK", "8/8/8/4k3/8/8/8/4K2R w - - 0 1")
	g.best()
	if a := g.do(practice.Anew, ""); a.End != practice.Restarted {
		t.Fatalf("%+v", a)
	}
	if o := g.outcome(); o.Result != practice.NotWon || o.Failed != "" {
		t.Errorf("%+v", o)
	}
	g = begin(t, "KQK", "7k/8/6K1/8/8/8/5Q2/8 w - - 0 1")
	g.do(practice.Move, "Qf7")
	if a := g.do(practice.Anew, ""); a.End != practice.Stalemate {
		t.Errorf("after a stalemate: %+v", a)
	}
}

// TestStudentEndsNobodysLook: the student's own word for 'go on without the coach'
// brings the reply that is due, and the coaches who watch still do; each line
// ends with its own act alone, also that of a log from before lines had names.
func TestStudentEndsNobodysLook(t *testing.T) {
	t.Parallel()
	g := begin(t, "KRK", "8/8/8/4k3/8/8/8/4K2R w - - 0 1", byHand)
	g.coached(practice.Watch, "")
	g.best()
	c := practice.Command{Do: practice.Unseen, By: me, ID: "late", At: g.Acts[len(g.Acts)-1].At.Add(2 * time.Minute)}
	next, err := practice.Apply(ctx, judge, g.State, c)
	if err != nil || next.Last().Reply == "" {
		t.Fatalf("%+v, %v", next.Last(), err)
	}
	if g.State = next; len(g.Lines) != 1 || g.Watching() != "Coach Maren" {
		t.Errorf("after the student's word %+v watch (%v)", g.Lines, err)
	}
	old, err := practice.Begin(g.Setup)
	if err != nil {
		t.Fatal(err)
	}
	for i, kind := range []practice.Kind{practice.Watch, practice.Watch, practice.Unseen} {
		if old, err = old.Fold(practice.Act{Seq: i + 1, Kind: kind, By: 99}); err != nil {
			t.Fatal(err)
		}
	}
	if len(old.Lines) != 1 {
		t.Errorf("of two old lines one ended, and %d are left", len(old.Lines))
	}
}
