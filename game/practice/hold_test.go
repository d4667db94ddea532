package practice_test

import (
	"strings"
	"testing"
	"time"

	"drover/game/board"
	"drover/game/ending"
	"drover/game/practice"
)

func hold(s *practice.Setup) {
	s.Task, s.Target, s.Defender, s.Allowance = practice.Hold{}, ending.HoldStage, "", 0
}

// firm plays the firmest move that holds.
func (g *game) firm() practice.Act {
	g.Helper()
	m, ok, err := judge.Firmest(ctx, g.Pos, 1)
	if err != nil || !ok {
		g.Fatalf("no move holds in %s: %v", g.Pos.FEN(), err)
	}
	return g.do(practice.Move, m.UCI())
}

// TestHeldForTen: best defence holds in every ending of the hold drills, for ten
// moves or until the draw is there before; it is clean, and help makes it helped.
func TestHeldForTen(t *testing.T) {
	t.Parallel()
	for _, h := range ending.Holds() {
		picked, err := judge.HoldStarts(ctx, &h, ending.Wanted{Kind: ending.AtRandom, N: 3, Seed: 9})
		if err != nil {
			t.Fatalf("%s: %v", h.Code, err)
		}
		for i, p := range picked.Starts {
			g := begin(t, h.Code, p.FEN(), hold)
			if g.Helps = practice.StepsOf(ending.HelpMan); i == 2 {
				g.try(practice.Command{Do: practice.Help, Step: int(ending.HelpMan)})
			}
			for g.End == "" {
				if a := g.firm(); a.Grade != ending.Held {
					t.Fatalf("%s: %s is %s", p.FEN(), a.Move, a.Grade)
				}
			}
			o, err := practice.Summary(ctx, judge, g.State)
			want := practice.Clean
			if i == 2 {
				want = practice.WonHelped
			}
			if err != nil || !g.Success() || o.Result != want || len(g.Line) > practice.HeldMoves || len(o.Stages) > 0 {
				t.Errorf("%s ends %s after %d moves: %+v (%v)", p.FEN(), g.End, len(g.Line), o, err)
			}
			if g.End == practice.HeldOut && len(g.Line) != practice.HeldMoves {
				t.Errorf("%s: held after %d moves", p.FEN(), len(g.Line))
			}
		}
	}
}

// TestDrawGone follows Lasker's line (E. Lasker, Chess Strategy, 1915, diagrams
// 49 and 50): with the pawn on d6 and his king on e5, Kd8 holds and Ke8 loses.
func TestDrawGone(t *testing.T) {
	t.Parallel()
	black := func(s *practice.Setup) { s.Side = board.Black }
	g := begin(t, "KPK", "8/3k4/3P4/4K3/8/8/8/8 b - - 0 1", hold, black)
	a := g.do(practice.Move, "Ke8")
	if a.Grade != ending.DrawGone || !g.Gone || g.End != "" || a.Reply != "e5e6" {
		t.Fatalf("%+v, gone %v", a, g.Gone)
	}
	if _, err := g.try(practice.Command{Do: practice.Move, Move: "e8d8"}); !strings.Contains(err.Error(), "draw is gone") {
		t.Errorf("a move after the draw went: %v", err)
	}
	g.do(practice.Back, "")
	if a = g.do(practice.Move, "Kd8"); a.Grade != ending.Held || g.Gone {
		t.Fatalf("%+v", a)
	}
	for g.End == "" {
		g.firm()
	}
	if o, err := practice.Summary(ctx, judge, g.State); err != nil || o.Result != practice.WonHelped {
		t.Errorf("held after a move back: %+v (%v)", o, err)
	}

	g = begin(t, "KPK", "8/3k4/3P4/4K3/8/8/8/8 b - - 0 1", hold, black)
	g.do(practice.Move, "Ke8")
	g.do(practice.Resign, "")
	o, err := practice.Summary(ctx, judge, g.State)
	if err != nil || g.End != practice.LetGo || o.Result != practice.NotHeld || g.Title() != "The draw is gone" {
		t.Errorf("declined: %s, %+v (%v)", g.End, o, err)
	}

	g = begin(t, "KPK", "8/3k4/3P4/4K3/8/8/8/8 b - - 0 1", hold, black, test)
	if a = g.do(practice.Move, "Ke8"); a.End != practice.LetGo {
		t.Errorf("in a test: %+v", a)
	}
}

// TestHoldEnds: a dead position (FIDE Laws 5.2.2) and stalemate (5.2.1) are a
// draw held.
func TestHoldEnds(t *testing.T) {
	t.Parallel()
	g := begin(t, "KPK", "8/8/8/8/7k/8/4p3/4K3 w - - 0 1", hold)
	if a := g.do(practice.Move, "Kxe2"); a.End != practice.Dead || !g.Success() {
		t.Errorf("the pawn is taken: %+v", a)
	}
	g = begin(t, "KPK", "8/8/8/8/8/4k3/5p2/5K2 w - - 0 1", hold)
	next, err := g.Fold(practice.Act{Seq: 1, Kind: practice.Move, Move: "f1g2", Reply: "e3e2", Grade: ending.Held,
		End: practice.Stalemate})
	if err != nil || !next.Success() {
		t.Errorf("stalemate is no success: %v", err)
	}
}

// TestClock (FIDE Laws 6.9): the student's own thought runs out, by a move that
// comes too late or by the page's word; thought counts no more than has passed.
func TestClock(t *testing.T) {
	t.Parallel()
	clock := func(s *practice.Setup) { s.Clock = 25 }
	g := begin(t, "KRK", "8/8/8/4k3/8/8/8/4K2R w - - 0 1", clock)
	if _, err := g.try(practice.Command{Do: practice.Flag, Took: 24_000}); err == nil {
		t.Error("a flag falls before its time")
	}
	g.best()
	if got := g.TimeLeft(); got != 21_000 {
		t.Errorf("%d ms left after 4 s of thought", got)
	}
	m := g.Pos.Moves()[0].UCI()
	a, err := g.try(practice.Command{Do: practice.Move, Move: m, Took: 60_000})
	if err != nil || a.Kind != practice.Move || a.Took != 10_000 {
		t.Fatalf("a move 10 s later that claims a minute: %+v (%v)", a, err)
	}
	c := practice.Command{Do: practice.Move, Ply: g.Ply(), Move: g.Pos.Moves()[0].UCI(), Took: 11_000, By: me, ID: "late",
		At: g.Acts[len(g.Acts)-1].At.Add(11 * time.Second)}
	next, err := practice.Apply(ctx, judge, g.State, c)
	if err != nil {
		t.Fatal(err)
	}
	if late := next.Last(); late.Kind != practice.Flag || late.End != practice.Time || late.Move != "" {
		t.Fatalf("a move after the time: %+v (%v)", late, err)
	}
	if next.Success() || next.Title() != "The time is up" || next.End.Article() != "FIDE Laws 6.9" {
		t.Errorf("%s, %s (%v)", next.Title(), next.End.Article(), err)
	}
}

// TestHoldSays: a move of a hold drill is told with its own grade and reasons, the last one's.
func TestHoldSays(t *testing.T) {
	t.Parallel()
	g := begin(t, "KPK", "8/8/8/8/4k3/3p4/3K4/8 w - - 0 1", hold)
	for range 2 {
		a := g.firm()
		said, err := practice.Hold{}.Say(ctx, judge, g.State)
		last := g.Line[len(g.Line)-1]
		why, bad := practice.Hold{}.Why(ctx, judge, g.State, last, g.Wording)
		if err != nil || bad != nil || said.Grade != a.Grade || said.Grade != ending.Held ||
			strings.Join(said.Why, " ") != strings.Join(why, " ") {
			t.Errorf("%s: %+v, %v, want %v", a.Move, said, err, why)
		}
	}
}

// TestByHand: while a coach watches, the reply waits for the coach's hand; when
// the coach leaves it comes of itself, and with nobody there it is at once.
func TestByHand(t *testing.T) {
	t.Parallel()
	byHand := func(s *practice.Setup) { s.Defender = ending.ByHand }
	g := begin(t, "KRK", "8/8/8/4k3/8/8/8/4K2R w - - 0 1", byHand)
	if a := g.best(); a.Reply == "" {
		t.Fatal("nobody watches, and no reply came")
	}
	coach := func(do practice.Kind, move string, wait time.Duration) (practice.Act, error) {
		c := practice.Command{Do: do, Move: move, Ply: g.Ply(), By: 99, Coach: true,
			ID: map[practice.Kind]string{practice.Watch: "w1", practice.Unseen: "u1"}[do],
			At: g.Acts[len(g.Acts)-1].At.Add(wait)}
		next, err := practice.Apply(ctx, judge, g.State, c)
		if err != nil {
			return practice.Act{}, err
		}
		next.Stamp(c.At)
		g.State = next
		return next.Last(), nil
	}
	if _, err := coach(practice.Hand, "e5e4", time.Second); err == nil {
		t.Error("a hand moves when it is the student's turn")
	}
	if _, err := coach(practice.Watch, "", time.Second); err != nil || len(g.Lines) != 1 {
		t.Fatal(err)
	}
	if a := g.best(); a.Reply != "" || !g.Waiting() {
		t.Fatalf("%+v", a)
	}
	if _, err := g.try(practice.Command{Do: practice.Move, Move: "a1a2"}); err == nil {
		t.Error("the student moves twice")
	}
	for _, c := range []practice.Command{{Do: practice.Help, Step: 1}, {Do: practice.Back}} {
		if _, err := g.try(c); refusal(err) != practice.NotTurn {
			t.Errorf("%s while the coach's move is awaited: %v", c.Do, err)
		}
	}
	if _, err := coach(practice.Hand, "a1a8", time.Second); err == nil {
		t.Error("an illegal reply was taken")
	}
	for wait, want := range map[time.Duration]practice.No{59 * time.Second: practice.NotTurn, time.Minute: ""} {
		_, err := practice.Apply(ctx, judge, g.State, practice.Command{Do: practice.Unseen, Ply: g.Ply(), By: me, ID: "u9",
			At: g.Acts[len(g.Acts)-1].At.Add(wait)})
		if no, _ := practice.Refusal(err); no != want {
			t.Errorf("the student asks for the reply after %v: %v", wait, err)
		}
	}
	reply := g.Pos.Moves()[0].UCI()
	if a, err := coach(practice.Hand, reply, time.Second); err != nil || a.Reply != reply || g.Waiting() ||
		g.Pos.Turn() != g.Side {
		t.Fatalf("%+v (%v)", a, err)
	}
	g.best()
	if _, err := coach(practice.Unseen, "", time.Second); err != nil || g.Waiting() || len(g.Lines) != 0 {
		t.Fatalf("the coach has gone: %v, waiting %v", err, g.Waiting())
	}
	for g.End == "" {
		g.best()
	}
	if g.End != practice.Mated {
		t.Errorf("ends %s", g.End)
	}
}

// TestHandEndsTheGame: a reply that a coach makes, or that comes when the coach leaves, ends
// the game where one that comes of itself would: at the drill's last stage, or when its
// moves are used up. The log of such a game can be read again.
func TestHandEndsTheGame(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, fen string
		change    func(*practice.Setup)
		end       practice.End
	}{
		{"the drill's moves", "8/8/8/4k3/8/8/8/4K2R w - - 0 1", func(s *practice.Setup) { s.Budget = 1 }, practice.OverMoves},
		{"the drill's last stage", "3k4/8/1K6/8/8/8/8/4R3 w - - 0 1", toEdge, practice.Reached},
	} {
		for _, how := range []practice.Kind{practice.Hand, practice.Unseen} {
			g := begin(t, "KRK", c.fen, byHand, c.change)
			g.coached(practice.Watch, "")
			if a := g.best(); a.End != "" || !g.Waiting() {
				t.Fatalf("%s: before the reply: %+v", c.name, a)
			}
			move := ""
			if how == practice.Hand {
				move = g.Pos.Moves()[0].UCI()
			}
			if a := g.coached(how, move); a.End != c.end || g.End != c.end || a.Reply == "" || g.Waiting() {
				t.Errorf("%s, %s: %+v, %q", c.name, how, a, g.End)
			}
			again, err := practice.Begin(g.Setup)
			for _, a := range g.Acts {
				if err == nil {
					again, err = again.Fold(a)
				}
			}
			if err != nil || again.Pos.FEN() != g.Pos.FEN() || again.End != c.end {
				t.Errorf("%s, %s: read again: %v", c.name, how, err)
			}
		}
	}
}
