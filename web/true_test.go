package web_test

import (
	"fmt"
	"net/url"
	"strings"
	"testing"
	"time"

	"drover/game"
	"drover/game/board"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/store"
	"drover/store/storetest"
)

// given puts a drill on the shelf and gives it to the fixture's student.
func (s *site) given(f storetest.Fixture, d club.Drill) club.Assignment {
	s.Helper()
	err := d.Validate()
	if err == nil {
		d.ID, err = s.store.KeepDrill(ctx, f.Coach, d)
	}
	task := club.Assignment{Drill: d}
	if err == nil {
		task.ID, err = s.store.Assign(ctx, f.Coach, d.ID, []game.PersonID{f.Student.Person}, nil)
	}
	if err != nil {
		s.Fatal(err)
	}
	return task
}

// does carries out a command of the student and fails where it is refused.
func (s *site) does(a game.Actor, g game.GameID, do practice.Kind, move string) practice.State {
	s.Helper()
	state, err := s.hub.State(ctx, a.Club, g)
	if err != nil {
		s.Fatal(err)
	}
	c := practice.Command{Do: do, ID: fmt.Sprint(do, state.Seq()), Ply: state.Ply(), Took: 5000}
	if move != "" {
		m, err := state.Pos.Find(move)
		if err != nil {
			s.Fatal(err)
		}
		c.Move = m.UCI()
	}
	if _, err := s.hub.Do(ctx, a, g, c); err != nil {
		s.Fatalf("%s %s: %v", do, move, err)
	}
	if state, err = s.hub.State(ctx, a.Club, g); err != nil {
		s.Fatal(err)
	}
	return state
}

// toEnd plays the best moves to the end.
func (s *site) toEnd(a game.Actor, g game.GameID) {
	s.Helper()
	for {
		state, err := s.hub.State(ctx, a.Club, g)
		if err != nil {
			s.Fatal(err)
		}
		if state.End != "" {
			return
		}
		best, ok, err := judge.Best(ctx, state.Pos)
		if err != nil || !ok {
			s.Fatalf("no best move in %s: %v", state.Pos.FEN(), err)
		}
		s.does(a, g, practice.Move, best.Move.UCI())
	}
}

// TestReportOfHoldDrills: a guardian is told whether the draw was held, of which
// ending, and the minutes that it took.
func TestReportOfHoldDrills(t *testing.T) {
	t.Parallel()
	now, _ := movable()
	s := startAt(t, now)
	f := storetest.Club(t, s.store, "draws")
	task := s.given(f, club.Drill{
		Ending: "KRKB", Hold: true, Mode: practice.Practice, Starts: []string{"8/8/8/8/4k3/3r4/3B4/3K4 w - - 0 1"},
		Rule: club.RuleOf(practice.Practice),
	})
	guardian := s.as(f.Guardian)
	at := now().Add(-time.Minute)
	for i, c := range []struct {
		end    practice.End
		result practice.Result
		say    string
	}{
		{practice.LetGo, practice.NotHeld,
			"In the last game, bishop against rook, the draw was not held. The same start comes again."},
		{practice.Abandoned, practice.NotHeld, "The last game, bishop against rook, was not finished."},
		{practice.HeldOut, practice.Clean, "In the last game, bishop against rook, the draw was held."},
	} {
		ended := at.Add(time.Duration(i) * time.Second)
		err := s.store.Import(ctx, f.Coach, []store.Record{{
			Task: task, Try: i + 1, Began: ended.Add(-time.Minute),
			State: practice.State{Setup: practice.Setup{Student: f.Student.Person, Mode: practice.Practice,
				Task: practice.Hold{}}, End: c.end,
				Acts: []practice.Act{{Seq: 1, Kind: practice.Resign, By: f.Student.Person, At: ended, Took: 120_000, End: c.end}}},
			Outcome: practice.Outcome{Task: practice.Hold{}, End: c.end, Result: c.result, Moves: 4},
		}})
		if err != nil {
			t.Fatal(err)
		}
		body := guardian.get("/report").body
		if !strings.Contains(body, c.say) || strings.Contains(body, "was won") || strings.Contains(body, "KRKB") {
			t.Errorf("%s: the report does not say %q", c.end, c.say)
		}
		if minutes := fmt.Sprintf("%d minutes in all", 2*(i+1)); !strings.Contains(body, minutes) {
			t.Errorf("%s: the report does not say %q", c.end, minutes)
		}
	}
	if body := guardian.get("/report").body; !strings.Contains(body, "won or held <b>1 of them alone</b>.") {
		t.Error("a draw held alone is not counted")
	}
}

// TestByHandLeavesStartOpen: a game in which the coach moved the king counts
// nowhere, is called what it was, and its start comes again; the next one, with
// nobody there, passes the drill.
func TestByHandLeavesStartOpen(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "together")
	d := club.Drill{Ending: "KRK", Mode: practice.Guided, From: ending.Mate, To: ending.Mate, Defender: ending.ByHand,
		Starts: []string{storetest.FinishStart}, Rule: club.RuleOf(practice.Guided)}
	task := s.given(f, d)
	g, err := s.store.StartGame(ctx, f.Student, task.ID)
	if err != nil {
		t.Fatal(err)
	}
	leave, err := s.hub.LookOn(ctx, f.Coach, g)
	if err != nil {
		t.Fatal(err)
	}
	state := s.does(f.Student, g, practice.Move, "Re2")
	s.does(f.Coach, g, practice.Hand, state.Pos.Moves()[0].UCI())
	leave(false)
	s.until("the coach has gone", func() bool {
		state, err := s.hub.State(ctx, f.Coach.Club, g)
		return err == nil && len(state.Lines) == 0
	})
	s.toEnd(f.Student, g)
	info, err := s.store.Game(ctx, f.Student.Club, g)
	if err != nil || info.Counts || info.Result != practice.WonHelped {
		t.Errorf("%+v, %v", info, err)
	}
	if of, err := s.store.RecordOf(ctx, f.Student.Club, f.Student.Person, store.WithStages); err != nil ||
		len(of.Stages) != 0 {
		t.Errorf("it is in the stage view: %+v, %v", of.Stages, err)
	}
	file := s.as(f.Coach).get(fmt.Sprintf("/students/%d", f.Student.Person)).body
	if !strings.Contains(file, "played with a coach") {
		t.Error("the student's page does not say that it was played together")
	}
	if review := s.as(f.Coach).get(fmt.Sprintf("/games/%d", g)).body; !strings.Contains(review, "Help: "+f.Coach.Name+" moved the king") {
		t.Error("the review does not say who moved the king")
	}
	again, err := s.store.StartGame(ctx, f.Student, task.ID)
	if err != nil || again == g {
		t.Fatalf("the start is not open: game %d, %v", again, err)
	}
	s.toEnd(f.Student, again)
	if info, err = s.store.Game(ctx, f.Student.Club, again); err != nil || !info.Counts || info.TaskOpen {
		t.Errorf("alone: %+v, %v", info, err)
	}
}

// TestNewTryIsNoLostTry: a try that a new one takes the place of does not count
// towards the three after which the last part comes.
func TestNewTryIsNoLostTry(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "anew")
	p := s.as(f.Student)
	g := f.Game
	for range 4 {
		s.does(f.Student, g, practice.Move, firstMove(t, s, f, g))
		got := p.post(fmt.Sprintf("/play/%d/end", g), url.Values{"then": {"again"}})
		var next game.GameID
		if _, err := fmt.Sscanf(got.header.Get("Location"), "/play/%d", &next); err != nil || next == g {
			t.Fatalf("%d to %q", got.status, got.header.Get("Location"))
		}
		if info, err := s.store.Game(ctx, f.Student.Club, g); err != nil || info.End != practice.Restarted ||
			info.Failed != "" {
			t.Errorf("%+v, %v", info, err)
		}
		g = next
	}
	if info, err := s.store.Game(ctx, f.Student.Club, g); err != nil || info.Kind != store.OfDrill || info.Start != 0 {
		t.Errorf("after four new tries comes %+v, %v", info, err)
	}
	if body := s.as(f.Coach).stages(); strings.Contains(body, "stuck in") {
		t.Error("the coach is told that the student is stuck")
	}
}

func firstMove(t *testing.T, s *site, f storetest.Fixture, g game.GameID) string {
	t.Helper()
	state, err := s.hub.State(ctx, f.Student.Club, g)
	if err != nil {
		t.Fatal(err)
	}
	return state.Pos.Moves()[0].UCI()
}

// TestReviewTellsWhatWasTakenBack: a stalemate that was taken back stands in the
// review, struck through, with its reason, and can be looked at on the board.
func TestReviewTellsWhatWasTakenBack(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "story")
	d := club.Drill{Ending: "KQK", Mode: practice.Guided, From: ending.Mate, To: ending.Mate, Defender: "longest",
		Starts: []string{"7k/8/6K1/8/8/8/5Q2/8 w - - 0 1"}, Rule: club.RuleOf(practice.Guided)}
	g, err := s.store.StartGame(ctx, f.Student, s.given(f, d).ID)
	if err != nil {
		t.Fatal(err)
	}
	s.does(f.Student, g, practice.Move, "Qf7")
	s.does(f.Student, g, practice.Back, "")
	s.toEnd(f.Student, g)
	page := s.as(f.Student).get(fmt.Sprintf("/games/%d", g)).body
	for _, want := range []string{"One move to look at", "<s>Qf7</s>", "taken back",
		"stalemate, a draw. Leave him one square", "no stage was lost, except by a move that was taken back"} {
		if !strings.Contains(page, want) {
			t.Errorf("the review does not say %q", want)
		}
	}
	if at := s.as(f.Student).get(fmt.Sprintf("/games/%d?at=1", g)).body; !strings.Contains(at, `id="step-label">1 Qf7<`) {
		t.Error("the move taken back is not on the board")
	}
}

// TestReviewOfAShuffler: the first move that came no nearer is listed with the
// habit, and such moves are not among those that were on course.
func TestReviewOfAShuffler(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "shuffle")
	for range 6 {
		state, err := s.hub.State(ctx, f.Student.Club, f.Game)
		if err != nil {
			t.Fatal(err)
		}
		s.does(f.Student, f.Game, practice.Move, noNearer(t, state.Pos))
	}
	s.does(f.Student, f.Game, practice.Resign, "")
	page := s.as(f.Coach).get(fmt.Sprintf("/games/%d", f.Game)).body
	for _, want := range []string{"4 moves and no nearer.", "Habit: no nearer, in 3 of 6 moves.",
		"3 of 6 moves were on course.", "One move to look at"} {
		if !strings.Contains(page, want) {
			t.Errorf("the review does not say %q", want)
		}
	}
}

// noNearer is a winning move of cost 1 that gives no check.
func noNearer(t *testing.T, p board.Position) string {
	t.Helper()
	options, err := judge.Options(ctx, p)
	if err != nil {
		t.Fatal(err)
	}
	l, err := judge.Look(ctx, p)
	if err != nil {
		t.Fatal(err)
	}
	for _, o := range options {
		if o.Wins() && o.After.Plies == l.Plies+1 && !o.Move.Check {
			return o.Move.UCI()
		}
	}
	t.Fatalf("no such move in %s", p.FEN())
	return ""
}

// TestPawnStagesHaveNames: what was lost in a pawn ending is called by its name.
func TestPawnStagesHaveNames(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "pawn")
	d := club.Drill{Ending: "KPK", Mode: practice.Test, From: ending.Front, To: ending.Mate, Defender: "longest",
		Starts: []string{"4k3/8/8/8/8/8/4P3/4K3 w - - 0 1"}, Rule: club.RuleOf(practice.Test)}
	g, err := s.store.StartGame(ctx, f.Student, s.given(f, d).ID)
	if err != nil {
		t.Fatal(err)
	}
	if state := s.does(f.Student, g, practice.Move, "e4"); state.End == "" {
		t.Fatal("the pawn runs ahead, and the win is not gone")
	}
	for path, who := range map[string]game.Actor{fmt.Sprintf("/games/%d", g): f.Coach,
		fmt.Sprintf("/students/%d", f.Student.Person): f.Coach, "/report": f.Guardian} {
		body := s.as(who).get(path).body
		if !strings.Contains(body, "while getting in front of the pawn") || strings.Contains(body, "at the game") {
			t.Errorf("%s does not name the stage", path)
		}
	}
}

// TestStoppedIsNotLost: a game that was given up while it was still won is nowhere
// said to have lost the win.
func TestStoppedIsNotLost(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "stopped")
	s.does(f.Student, f.Game, practice.Move, firstMove(t, s, f, f.Game))
	s.does(f.Student, f.Game, practice.Resign, "")
	for path, want := range map[string]string{
		fmt.Sprintf("/games/%d", f.Game):              f.Student.Name + " stopped at the centre",
		fmt.Sprintf("/students/%d", f.Student.Person): "stopped at the centre",
	} {
		if body := s.as(f.Coach).get(path).body; !strings.Contains(body, want) || strings.Contains(body, "lost the win") {
			t.Errorf("%s does not say %q", path, want)
		}
	}
	if body := s.as(f.Guardian).get("/report").body; !strings.Contains(body, "In the last game, mate with king and rook, the game stopped at the centre") {
		t.Error("the report does not say that it stopped")
	}
}
