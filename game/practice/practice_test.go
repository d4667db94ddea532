package practice_test

import (
	"context"
	"fmt"
	"os"
	"strings"
	"testing"
	"time"

	"drover/game/board"
	"drover/game/ending"
	"drover/game/practice"
	"drover/solver"
)

var (
	ctx   = context.Background()
	judge = ending.NewJudge(solver.NewTables())
	began = time.Date(2026, 11, 24, 17, 0, 0, 0, time.UTC)
)

const me = 7

func TestMain(m *testing.M) {
	if err := judge.Ready(ctx); err != nil {
		panic(err)
	}
	os.Exit(m.Run())
}

// game is a game under test.
type game struct {
	testing.TB
	practice.State
	n int
}

// begin starts a game of an ending from a FEN.
func begin(t testing.TB, code, fen string, change ...func(*practice.Setup)) *game {
	t.Helper()
	set := practice.Setup{Game: 1, Student: me, Ending: code, Start: fen, Mode: practice.Practice, Target: ending.Mate,
		Defender: "longest", Seed: 3, Backs: 1, Allowance: 3}
	for _, f := range change {
		f(&set)
	}
	s, err := practice.Begin(set)
	if err != nil {
		t.Fatal(err)
	}
	return &game{TB: t, State: s}
}

func test(s *practice.Setup)    { s.Mode, s.Backs = practice.Test, 0 }
func toEdge(s *practice.Setup)  { s.Target = ending.Edge }
func budget5(s *practice.Setup) { s.Budget = 5 }

// try applies a command and folds its act.
func (g *game) try(c practice.Command) (practice.Act, error) {
	g.n++
	c.By, c.At, c.ID = me, began.Add(time.Duration(g.n)*10*time.Second), fmt.Sprint("c", g.n)
	if c.Ply == 0 {
		c.Ply = g.Ply()
	}
	next, err := practice.Apply(ctx, judge, g.State, c)
	if err != nil {
		return practice.Act{}, err
	}
	next.Stamp(c.At)
	g.State = next
	return next.Last(), nil
}

func (g *game) do(kind practice.Kind, move string) practice.Act {
	g.Helper()
	c := practice.Command{Do: kind, Took: 4000}
	if move != "" {
		m, err := g.Pos.Find(move)
		if err != nil {
			g.Fatal(err)
		}
		c.Move = m.UCI()
	}
	a, err := g.try(c)
	if err != nil {
		g.Fatal(err)
	}
	return a
}

// best plays the best move, or the best of those that cost something.
func (g *game) best() practice.Act {
	g.Helper()
	o, ok, err := judge.Best(ctx, g.Pos)
	if err != nil || !ok {
		g.Fatalf("no winning move in %s: %v", g.Pos.FEN(), err)
	}
	return g.do(practice.Move, o.Move.UCI())
}

// shuffle plays a winning move that brings mate no nearer, and takes the same
// squares again where it can.
func (g *game) shuffle() practice.Act {
	g.Helper()
	options, err := judge.Options(ctx, g.Pos)
	if err != nil {
		g.Fatal(err)
	}
	l, _ := judge.Look(ctx, g.Pos)
	for _, o := range options {
		if o.After.Outcome == solver.Loss && o.After.Plies == l.Plies+1 && !o.Move.Check {
			return g.do(practice.Move, o.Move.UCI())
		}
	}
	return g.best()
}

func (g *game) outcome() practice.Outcome {
	g.Helper()
	o, err := practice.Summary(ctx, judge, g.State)
	if err != nil {
		g.Fatal(err)
	}
	return o
}

// TestArticle511Checkmate: FIDE Laws 5.1.1, mate ends the game at once.
func TestArticle511Checkmate(t *testing.T) {
	t.Parallel()
	g := begin(t, "KRK", "7k/8/6K1/8/8/8/8/R7 w - - 0 1")
	a := g.do(practice.Move, "Ra8#")
	if a.End != practice.Mated || a.Reply != "" || a.End.Article() != "FIDE Laws 5.1.1" {
		t.Errorf("act %+v", a)
	}
	if _, err := g.try(practice.Command{Do: practice.Move, Move: "a8a7"}); refusal(err) != practice.Over {
		t.Errorf("a move after mate: %v", err)
	}
	if o := g.outcome(); o.Result != practice.Clean || o.Failed != "" || o.Moves != 1 || o.Par != 1 {
		t.Errorf("outcome %+v", o)
	}
}

func refusal(err error) practice.No {
	n, _ := practice.Refusal(err)
	return n
}

// TestArticle521Stalemate: FIDE Laws 5.2.1, no move and no check; outside a
// test the student may take the move back once.
func TestArticle521Stalemate(t *testing.T) {
	t.Parallel()
	g := begin(t, "KQK", "7k/8/6K1/8/8/8/5Q2/8 w - - 0 1")
	a := g.do(practice.Move, "Qf7")
	if a.Grade != ending.WinGone || a.Reply != "" || a.End != "" || !g.Gone {
		t.Fatalf("act %+v, gone %v", a, g.Gone)
	}
	if _, err := g.try(practice.Command{Do: practice.Move, Move: "f7f2"}); refusal(err) != practice.NotTurn {
		t.Errorf("a move while stopped: %v", err)
	}
	g.do(practice.Back, "")
	if g.Gone || g.Pos.FEN() != g.First.FEN() {
		t.Errorf("after taking back: %s", g.Pos.FEN())
	}
	g.do(practice.Move, "Qf7")
	if _, err := g.try(practice.Command{Do: practice.Back}); refusal(err) != practice.Denied {
		t.Errorf("second take-back: %v", err)
	}
	if a := g.do(practice.Resign, ""); a.End != practice.Stalemate || a.End.Article() != "FIDE Laws 5.2.1" {
		t.Errorf("declined: %+v", a)
	}
	if o := g.outcome(); o.Result != practice.NotWon || o.Failed != ending.Mate {
		t.Errorf("outcome %+v", o)
	}

	exam := begin(t, "KQK", "7k/8/6K1/8/8/8/5Q2/8 w - - 0 1", test)
	if a := exam.do(practice.Move, "Qf7"); a.End != practice.Stalemate {
		t.Errorf("in a test: %+v", a)
	}
}

// TestArticle522DeadPosition: FIDE Laws 5.2.2, the last rook is taken.
func TestArticle522DeadPosition(t *testing.T) {
	t.Parallel()
	const fen = "8/8/8/8/3k4/8/8/4R2K w - - 0 1"
	g := begin(t, "KRK", fen)
	a := g.do(practice.Move, "Re3")
	if a.Grade != ending.WinGone || a.Reply != "d4e3" || a.End != "" || !g.Gone {
		t.Fatalf("act %+v", a)
	}
	if a := g.do(practice.Resign, ""); a.End != practice.Dead || a.End.Article() != "FIDE Laws 5.2.2" {
		t.Errorf("declined: %+v", a)
	}
	if a := begin(t, "KRK", fen, test).do(practice.Move, "Re3"); a.End != practice.Dead {
		t.Errorf("in a test: %+v", a)
	}
}

// TestArticle92Threefold: FIDE Laws 9.2, the defender claims in a test; in
// practice the game goes on.
func TestArticle92Threefold(t *testing.T) {
	t.Parallel()
	if n := repeat(begin(t, "KRK", "4k3/8/8/8/8/8/8/R3K3 w - - 0 1", test)); n != practice.Threefold ||
		n.Article() != "FIDE Laws 9.2" {
		t.Errorf("in a test it ended by %q", n)
	}
}

// TestArticle961Fivefold: FIDE Laws 9.6.1, the fifth time is a draw without a
// claim.
func TestArticle961Fivefold(t *testing.T) {
	t.Parallel()
	if n := repeat(begin(t, "KRK", "4k3/8/8/8/8/8/8/R3K3 w - - 0 1")); n != practice.Fivefold ||
		n.Article() != "FIDE Laws 9.6.1" {
		t.Errorf("in practice it ended by %q", n)
	}
}

// repeat walks the rook to and fro until the game ends.
func repeat(g *game) practice.End {
	g.Helper()
	for i := 0; g.End == "" && i < 60; i++ {
		var a practice.Act
		if i%2 == 0 {
			a = g.do(practice.Move, rookMove(g, 1))
		} else {
			a = g.do(practice.Move, rookMove(g, 0))
		}
		if g.Gone {
			g.Fatalf("the rook was lost: %+v", a)
		}
	}
	return g.End
}

// rookMove moves the rook between the a-file and the b-file on row 1 and 2,
// wherever the lone king is not.
func rookMove(g *game, file int) string {
	g.Helper()
	for _, m := range g.Pos.Moves() {
		if g.Pos.At(m.From).Kind == board.Rook && m.To.File() == file && m.To.Rank() == m.From.Rank() {
			return m.UCI()
		}
	}
	g.Fatal("no such rook move")
	return ""
}

// TestArticle93FiftyMoves: FIDE Laws 9.3. A win that cannot be made within
// fifty moves is gone, however near.
func TestArticle93FiftyMoves(t *testing.T) {
	t.Parallel()
	g := begin(t, "KRK", "8/8/8/4k3/8/8/8/R3K3 w - - 70 90")
	a := g.do(practice.Move, "Kd2")
	if a.Grade != ending.OnCourse {
		t.Fatalf("mate in %d plies at clock 70: %+v", a.Plies, a)
	}
	late := begin(t, "KRK", "8/8/8/4k3/8/8/8/R3K3 w - - 76 90")
	a = late.do(practice.Move, "Kd2")
	if a.Grade != ending.WinGone || cause(t, late) != "Fifty-move rule, FIDE Laws 9.3" {
		t.Errorf("mate in %d plies at clock 76: %+v, %s", a.Plies, a, cause(t, late))
	}
}

// TestShuffler: to and fro with the rook from an edge start. Four own moves
// without coming nearer are said, six count against the stage, and the game
// ends as a draw by an article of the Laws.
func TestShuffler(t *testing.T) {
	t.Parallel()
	g := begin(t, "KRK", "3k4/8/8/8/8/8/8/4K2R w - - 0 1")
	for g.End == "" && !g.Gone {
		g.shuffle()
		if n := g.NoNearer(); n > len(g.Line) {
			t.Fatalf("no nearer %d after %d moves", n, len(g.Line))
		}
	}
	if g.Gone {
		g.do(practice.Resign, "")
	}
	o := g.outcome()
	if o.Result != practice.NotWon || o.Failed == "" || o.End.Article() == "" && o.End != practice.Drawn {
		t.Errorf("outcome %+v", o)
	}
	for _, r := range o.Stages {
		if r.Moves >= 8 && (r.Bad == 0 || r.Clean) {
			t.Errorf("stage %+v", r)
		}
	}
}

// TestNoNearer: the count starts again with a new shortest distance and after
// each move of cost 2 or more.
func TestNoNearer(t *testing.T) {
	t.Parallel()
	var n practice.Nearer
	for i, step := range []struct {
		plies, cost, want int
	}{{19, 0, 0}, {17, 1, 1}, {17, 1, 2}, {17, 0, 0}, {15, 3, 0}, {19, 0, 0}, {19, 1, 1}, {19, 1, 2}, {19, 1, 3},
		{19, 1, 4}} {
		n.Add(practice.Act{Kind: practice.Move, Plies: step.plies, Cost: step.cost})
		if n.Count != step.want {
			t.Fatalf("after step %d: %d, want %d", i, n.Count, step.want)
		}
	}
}

// TestTargetStageEndsTheGame: a drill that runs to a stage ends when the region
// that completes it holds.
func TestTargetStageEndsTheGame(t *testing.T) {
	t.Parallel()
	g := begin(t, "KRK", "8/8/8/4k3/8/8/8/R3K3 w - - 0 1", toEdge)
	par, err := practice.ParOfStart(ctx, judge, g.State)
	if err != nil || par < 2 {
		t.Fatalf("par %d, %v", par, err)
	}
	for g.End == "" {
		g.best()
	}
	l, _ := judge.Look(ctx, g.Pos)
	if g.End != practice.Reached || !l.ShutOut[2] {
		t.Errorf("ended by %s with held %v", g.End, l.ShutOut)
	}
	if o := g.outcome(); o.Par != par || o.Result == practice.NotWon {
		t.Errorf("outcome %+v", o)
	}
}

func TestBudget(t *testing.T) {
	t.Parallel()
	g := begin(t, "KRK", "8/8/8/4k3/8/8/8/R3K3 w - - 0 1", budget5)
	for g.End == "" {
		g.best()
	}
	if g.End != practice.OverMoves || len(g.Line) != 5 || g.outcome().Result != practice.NotWon {
		t.Errorf("ended by %s after %d moves", g.End, len(g.Line))
	}
}

// TestRefusals: each leaves the state as it was and has a sentence.
func TestRefusals(t *testing.T) {
	t.Parallel()
	g := begin(t, "KRK", "8/8/8/4k3/8/8/8/R3K3 w - - 0 1")
	g.best()
	for _, c := range []struct {
		practice.Command
		by   int
		want practice.No
	}{
		{practice.Command{Do: practice.Move, Move: "a1h8"}, me, practice.Illegal},
		{practice.Command{Do: practice.Move, Move: ""}, me, practice.Illegal},
		{practice.Command{Do: practice.Move, Move: "a1a2", Ply: 99}, me, practice.Stale},
		{practice.Command{Do: practice.Move, Move: "a1a2"}, 8, practice.Denied},
		{practice.Command{Do: "dance"}, me, practice.Bad},
		{practice.Command{Do: practice.Move, ID: strings.Repeat("x", 33)}, me, practice.Bad},
	} {
		cmd := c.Command
		cmd.At = began.Add(time.Minute)
		cmd.By = begin(t, "KRK", g.Start).Student
		if c.by != me {
			cmd.By++
		}
		if cmd.Ply == 0 {
			cmd.Ply = g.Ply()
		}
		_, err := practice.Apply(ctx, judge, g.State, cmd)
		if refusal(err) != c.want || !strings.HasSuffix(strings.SplitN(err.Error(), ": ", 2)[0], ".") {
			t.Errorf("%+v: %v, want %s", c.Command, err, c.want)
		}
	}
}

// TestHelpedAfterTheEnd: 'someone helped me' turns a clean game into a helped
// one, once, without blame.
func TestHelpedAfterTheEnd(t *testing.T) {
	t.Parallel()
	g := begin(t, "KRK", "7k/8/6K1/8/8/8/8/R7 w - - 0 1")
	g.do(practice.Move, "Ra8#")
	g.do(practice.Helped, "")
	if o := g.outcome(); o.Result != practice.WonHelped {
		t.Errorf("outcome %+v", o)
	}
	if _, err := g.try(practice.Command{Do: practice.Helped}); refusal(err) != practice.Stale {
		t.Errorf("noted twice: %v", err)
	}
}

// TestPromisedTime: the thought that counts is what the client says, but never
// more than has passed.
func TestPromisedTime(t *testing.T) {
	t.Parallel()
	g := begin(t, "KRK", "8/8/8/4k3/8/8/8/R3K3 w - - 0 1")
	g.best()
	o, _, _ := judge.Best(ctx, g.Pos)
	a, err := g.try(practice.Command{Do: practice.Move, Move: o.Move.UCI(), Took: 86_400_000})
	if err != nil || a.Took != 10_000 {
		t.Errorf("a day of thought within ten seconds: %d, %v", a.Took, err)
	}
}

// TestReplayIsTheSame: folding the acts again gives the same game, and applying
// the same commands gives the same acts: Apply is pure.
func TestReplayIsTheSame(t *testing.T) {
	t.Parallel()
	for _, plan := range ending.Plans() {
		starts, err := judge.Starts(ctx, &plan, plan.Steps[0].Stage, 2, 5)
		if err != nil {
			t.Fatal(err)
		}
		target := plan.Steps[plan.Last()].Stage
		for _, p := range starts {
			a := begin(t, plan.Code, p.FEN(), func(s *practice.Setup) { s.Target = target })
			b := begin(t, plan.Code, p.FEN(), func(s *practice.Setup) { s.Target = target })
			for a.End == "" {
				if x, y := a.best(), b.best(); x != y {
					t.Fatalf("%+v and %+v", x, y)
				}
			}
			again, err := practice.Begin(a.Setup)
			if err != nil {
				t.Fatal(err)
			}
			for _, act := range a.Acts {
				if again, err = again.Fold(act); err != nil {
					t.Fatal(err)
				}
			}
			if again.Pos.FEN() != a.Pos.FEN() || again.End != practice.Mated || a.outcome().Result != practice.Clean {
				t.Errorf("%s: %s, %+v", plan.Code, again.End, a.outcome())
			}
		}
	}
}

// TestOneRookLost: with two rooks, losing one leaves a win; the game goes on
// under the smaller ending's plan.
func TestOneRookLost(t *testing.T) {
	t.Parallel()
	g := begin(t, "KRRK", "8/8/8/8/3k4/8/7R/K3R3 w - - 0 1")
	a := g.do(practice.Move, "Re3")
	if a.Grade == ending.WinGone || g.Gone || g.End != "" || g.Pos.Count() != 3 {
		t.Fatalf("act %+v with %d men left", a, g.Pos.Count())
	}
	for g.End == "" {
		g.best()
	}
	if g.End != practice.Mated {
		t.Errorf("ended by %s", g.End)
	}
}

// TestHelp: only the steps that the drill gives; each use makes the win a
// helped one, and what was played after the man or the move was shown counts
// neither as the student's move nor as the student's mistake.
func TestHelp(t *testing.T) {
	t.Parallel()
	g := begin(t, "KRK", "8/8/8/4k3/8/8/8/R3K3 w - - 0 1", func(s *practice.Setup) {
		s.Helps = practice.StepsOf(ending.HelpWish, ending.HelpMove)
	})
	for step, want := range map[int]practice.No{0: practice.Denied, 2: practice.Denied, 3: practice.Denied,
		5: practice.Denied, -1: practice.Denied, 99: practice.Denied} {
		if _, err := g.try(practice.Command{Do: practice.Help, Step: step}); refusal(err) != want {
			t.Errorf("step %d: %v", step, err)
		}
	}
	if a, err := g.try(practice.Command{Do: practice.Help, Step: 1}); err != nil || a.Help != ending.HelpWish ||
		a.Stage != ending.Centralise {
		t.Fatalf("%+v, %v", a, err)
	}
	g.best()
	if _, err := g.try(practice.Command{Do: practice.Help, Step: 4}); err != nil {
		t.Fatal(err)
	}
	g.best()
	for g.End == "" {
		g.best()
	}
	o := g.outcome()
	moves, helps := 0, 0
	for _, r := range o.Stages {
		moves += r.Moves
		helps += r.Helps
	}
	if o.Result != practice.WonHelped || helps != 2 || moves != len(g.Line)-1 {
		t.Errorf("outcome %+v: %d own moves of %d, %d helps", o, moves, len(g.Line), helps)
	}
}
