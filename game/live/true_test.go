package live_test

import (
	"encoding/json"
	"fmt"
	"testing"

	"drover/game"
	"drover/game/board"
	"drover/game/ending"
	"drover/game/live"
	"drover/game/practice"
)

var onlooker = game.Actor{Club: 3, Person: 9, Role: game.Coach, Name: "Coach Maren"}

// did carries out a command of a person and gives the frame that is heard.
func did(t *testing.T, h *live.Hub, w *live.Watcher, who game.Actor, c practice.Command) []byte {
	t.Helper()
	state, err := h.State(ctx, pupil.Club, 1)
	if err != nil {
		t.Fatal(err)
	}
	c.ID, c.Ply = fmt.Sprint(c.Do, state.Seq()), state.Ply()
	if _, err := h.Do(ctx, who, 1, c); err != nil {
		t.Fatalf("%s: %v", c.Do, err)
	}
	return <-w.Frames
}

// TestStageStaysWhileHandWaits: while a reply by hand is awaited, the frame has
// the stage that the game stands in, and the coach's name.
func TestStageStaysWhileHandWaits(t *testing.T) {
	t.Parallel()
	m := rook()
	m.setup.Defender, m.setup.Start = ending.ByHand, "3k4/8/1K6/8/8/8/8/4R3 w - - 0 1"
	h := hubOn(m)
	w, first := watch(t, h, 0)
	defer h.Leave(w)
	if first.Now.Stage != 2 {
		t.Fatalf("begins in stage %d", first.Now.Stage)
	}
	frame := did(t, h, w, onlooker, practice.Command{Do: practice.Watch})
	if part(t, frame, "now", "who") != "Coach Maren" || part(t, frame, "act", "who") != "Coach Maren" {
		t.Errorf("nobody says who watches: %s", frame)
	}
	frame = did(t, h, w, pupil, practice.Command{Do: practice.Move, Move: "b6c6"})
	if part(t, frame, "now", "turn") != "hand" || part(t, frame, "now", "stage") != 2.0 ||
		part(t, frame, "now", "move") != 1.0 {
		t.Errorf("while the hand waits: %s", frame)
	}
}

// TestHandFrames: a reply that comes in an act of its own is drawn with its move, its number
// and the position before it; an act without a reply has none of these.
func TestHandFrames(t *testing.T) {
	t.Parallel()
	m := rook()
	m.setup.Defender, m.setup.Start = ending.ByHand, "8/8/8/4k3/8/8/8/4K2R w - - 0 1"
	h := hubOn(m)
	w, _ := watch(t, h, 0)
	defer h.Leave(w)
	drawn := func(frame []byte) string {
		act := part(t, frame, "act").(map[string]any)
		return fmt.Sprint(act["no"], " ", act["mid"], " ", act["reply"])
	}
	did(t, h, w, onlooker, practice.Command{Do: practice.Watch})
	did(t, h, w, pupil, practice.Command{Do: practice.Move, Move: "h1h4"})
	frame := did(t, h, w, onlooker, practice.Command{Do: practice.Hand, Move: "e5d5"})
	if got := drawn(frame); got != "1 8/8/8/4k3/7R/8/8/4K3 b - - 1 1 map[san:Kd5 uci:e5d5]" {
		t.Errorf("the hand's reply: %s", got)
	}
	if got := drawn(did(t, h, w, onlooker, practice.Command{Do: practice.Unseen})); got != "<nil> <nil> <nil>" {
		t.Errorf("a coach who looks away: %s", got)
	}
}

// TestOpeningFrame: the page is told which side it plays, and whether a coach may answer by
// hand.
func TestOpeningFrame(t *testing.T) {
	t.Parallel()
	for side, start := range map[board.Color]string{board.White: "8/8/8/4k3/8/8/8/R3K3 w - - 0 1",
		board.Black: "r3k3/8/8/8/4K3/8/8/8 b - - 0 1"} {
		for defender, hand := range map[string]any{ending.ByHand: true, "longest": nil} {
			m := rook()
			m.setup.Start, m.setup.Side, m.setup.Defender = start, side, defender
			_, first, err := hubOn(m).Join(ctx, pupil, 1, live.About{}, 0)
			if err != nil {
				t.Fatal(err)
			}
			letter := map[board.Color]string{board.White: "w", board.Black: "b"}[side]
			if s, b := part(t, first, "game", "side"), part(t, first, "game", "hand"); s != letter || b != hand {
				t.Errorf("%s against %s: side %v, hand %v", start, defender, s, b)
			}
		}
	}
}

// TestStageOfUnstagedGames: a quiet game and a hold drill stand in the one stage that the
// page has, without a par; a game that is given up before the first move stands in none.
func TestStageOfUnstagedGames(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		set         func(*practice.Setup)
		first, last string // stage, par, moves held
		do          practice.Command
	}{
		"quiet": {func(s *practice.Setup) { s.Quiet = true }, "0 0 <nil>", "0 0 <nil>",
			practice.Command{Do: practice.Move, Move: "a1a4"}},
		"hold": {func(s *practice.Setup) {
			s.Ending, s.Start, s.Task = "KPK", "8/8/8/8/4k3/3p4/3K4/8 w - - 0 1", practice.Hold{}
			s.Target, s.Defender, s.Allowance = ending.HoldStage, "", 0
		}, "0 0 <nil>", "0 0 1", practice.Command{Do: practice.Move, Move: "d2d1"}},
		"given up": {func(*practice.Setup) {}, "0 3 <nil>", "-1 0 <nil>", practice.Command{Do: practice.Resign}},
	} {
		m := rook()
		c.set(&m.setup)
		h := hubOn(m)
		w, first, err := h.Join(ctx, pupil, 1, live.About{}, 0)
		if err != nil {
			t.Fatal(err)
		}
		stand := func(frame []byte) string {
			return fmt.Sprint(part(t, frame, "now", "stage"), part(t, frame, "now", "par"), " ", part(t, frame, "now", "held"))
		}
		if got := stand(first); got != c.first {
			t.Errorf("%s begins with %s, want %s", name, got, c.first)
		}
		if got := stand(did(t, h, w, pupil, c.do)); got != c.last {
			t.Errorf("%s goes on with %s, want %s", name, got, c.last)
		}
		h.Leave(w)
	}
}

// TestHandEndsTheGameForAll: a coach's reply that ends the drill is told as its end, and a
// node that reads the log afterwards tells the same.
func TestHandEndsTheGameForAll(t *testing.T) {
	t.Parallel()
	m := rook()
	m.setup.Defender, m.setup.Budget, m.setup.Start = ending.ByHand, 1, "8/8/8/4k3/8/8/8/4K2R w - - 0 1"
	h := hubOn(m)
	w, _ := watch(t, h, 0)
	defer h.Leave(w)
	did(t, h, w, onlooker, practice.Command{Do: practice.Watch})
	did(t, h, w, pupil, practice.Command{Do: practice.Move, Move: "h1h4"})
	frame := did(t, h, w, onlooker, practice.Command{Do: practice.Hand, Move: "e5d5"})
	if part(t, frame, "now", "turn") != "over" || part(t, frame, "now", "end") == nil {
		t.Errorf("after the reply: %s", frame)
	}
	state, err := hubOn(m).State(ctx, pupil.Club, 1)
	if err != nil || state.End != practice.OverMoves {
		t.Errorf("on another node: %q, %v", state.End, err)
	}
}

// TestQueenedPawnFrames: under the queen the frame stays in the last stage of the
// pawn's plan with the moves to mate as par, the second step of help is his pen,
// and the end says as many moves as were played.
func TestQueenedPawnFrames(t *testing.T) {
	t.Parallel()
	m := rook()
	m.setup.Ending, m.setup.Start = "KPK", "8/4P1k1/4K3/8/8/8/8/8 w - - 0 1"
	h := hubOn(m)
	w, first := watch(t, h, 0)
	defer h.Leave(w)
	if first.Now.Stage != 1 || first.Now.Par != 0 || first.Now.Cover != "cover" {
		t.Fatalf("before the pawn queens: %+v", first.Now)
	}
	moves := 0
	for {
		frame := send(t, h, w, next(t, h))
		moves++
		got := read(t, frame)
		if got.Act.Back {
			t.Errorf("a best move has lost a stage: %s", frame)
		}
		if got.Now.End != nil {
			stages, _ := json.Marshal(part(t, frame, "now", "end", "stages"))
			want := fmt.Sprintf(`[{"id":"escort","moves":1,"par":0,"visits":[{"moves":1}]},`+
				`{"id":"mate","moves":%d,"par":%[1]d,"visits":[{"moves":%[1]d}]}]`, moves-1)
			if string(stages) != want || got.Now.Move != moves || got.Now.Stage != 2 {
				t.Errorf("after %d moves: %s, move %d, stage %d", moves, stages, got.Now.Move, got.Now.Stage)
			}
			return
		}
		if got.Now.Stage != 2 || got.Now.Par == 0 || got.Now.Cover != "pen" {
			t.Errorf("under the queen: %+v", got.Now)
		}
	}
}

// TestEndCountsTheLine: a stage that was lost and won again has both its stays;
// what was taken back is no move of any.
func TestEndCountsTheLine(t *testing.T) {
	t.Parallel()
	m := rook()
	m.setup.Ending, m.setup.Start, m.setup.Backs = "KQK", "8/8/8/8/K7/8/5Q2/7k w - - 0 1", 1
	h := hubOn(m)
	w, _ := watch(t, h, 0)
	defer h.Leave(w)
	did(t, h, w, pupil, practice.Command{Do: practice.Move, Move: "a4a3"}) // stalemate
	did(t, h, w, pupil, practice.Command{Do: practice.Back})
	lost := did(t, h, w, pupil, practice.Command{Do: practice.Move, Move: "f2c5"})
	if part(t, lost, "act", "grade") != "slip" || part(t, lost, "act", "back") != true {
		t.Fatalf("%s", lost)
	}
	for {
		frame := send(t, h, w, next(t, h))
		if read(t, frame).Now.End == nil {
			continue
		}
		s, err := h.State(ctx, pupil.Club, 1)
		if err != nil {
			t.Fatal(err)
		}
		n, text := 0, ""
		for _, stage := range part(t, frame, "now", "end", "stages").([]any) {
			for _, v := range stage.(map[string]any)["visits"].([]any) {
				visit := v.(map[string]any)
				n += int(visit["moves"].(float64))
				text += fmt.Sprint(stage.(map[string]any)["id"], " ", visit["lost"], "; ")
			}
		}
		if n != len(s.Line) || text != "mate true; mate <nil>; edge <nil>; " {
			t.Errorf("%d moves in %q, and %d on the line", n, text, len(s.Line))
		}
		return
	}
}

// TestTestGivesNothingAway: while a test goes on no frame tells a stage, a par or
// a grade; the act that ends it tells them all.
func TestTestGivesNothingAway(t *testing.T) {
	t.Parallel()
	m := rook()
	m.setup.Mode, m.setup.Backs, m.setup.Start = practice.Test, 0, "3k4/8/1K6/8/8/8/8/4R3 w - - 0 1"
	h := hubOn(m)
	w, first := watch(t, h, 0)
	defer h.Leave(w)
	if first.Now.Stage != -1 || first.Now.Par != 0 {
		t.Errorf("the first frame tells %+v", first.Now)
	}
	for {
		frame := send(t, h, w, next(t, h))
		over := read(t, frame).Now.End != nil
		told := part(t, frame, "now", "stage") != -1.0 || part(t, frame, "now", "par") != 0.0 ||
			part(t, frame, "act", "stage") != -1.0 || part(t, frame, "act", "par") != nil ||
			part(t, frame, "act", "back") != nil || part(t, frame, "act", "grade") != nil
		if told != over {
			t.Errorf("over is %v: %s", over, frame)
		}
		past, _ := part(t, frame, "past").([]any)
		if !over {
			if past != nil {
				t.Errorf("the past is told: %s", frame)
			}
			continue
		}
		if len(past) != len(m.log()) {
			t.Errorf("%d acts are told at the end", len(past))
		}
		for _, a := range past {
			if act := a.(map[string]any); act["stage"] != 2.0 || act["grade"] == nil {
				t.Errorf("at the end it is told %v", act)
			}
		}
		return
	}
}

// TestShufflerFrames: from the fourth move without coming nearer the grade that is
// shown says so, the one that is kept does not, and the end lists the first.
func TestShufflerFrames(t *testing.T) {
	t.Parallel()
	m := rook()
	h := hubOn(m)
	w, _ := watch(t, h, 0)
	defer h.Leave(w)
	var grades []any
	for range 6 {
		s, err := h.State(ctx, pupil.Club, 1)
		if err != nil {
			t.Fatal(err)
		}
		options, err := judge.Options(ctx, s.Pos)
		if err != nil {
			t.Fatal(err)
		}
		l, err := judge.Look(ctx, s.Pos)
		if err != nil {
			t.Fatal(err)
		}
		for _, o := range options {
			if o.Wins() && o.After.Plies == l.Plies+1 && !o.Move.Check {
				frame := did(t, h, w, pupil, practice.Command{Do: practice.Move, Move: o.Move.UCI()})
				grades = append(grades, part(t, frame, "act", "grade"))
				if now, _ := part(t, frame, "now").(map[string]any); (now["aim"] != nil) != (len(grades) >= 4) {
					t.Errorf("after move %d the aim is drawn: %v", len(grades), now["aim"])
				}
				break
			}
		}
	}
	if got := fmt.Sprint(grades); got != "[on course on course on course no nearer no nearer no nearer]" {
		t.Errorf("shown: %s", got)
	}
	for _, a := range m.log() {
		if a.Grade != ending.OnCourse || a.Kind == practice.Help {
			t.Errorf("kept: %s, %s", a.Kind, a.Grade)
		}
	}
	end := did(t, h, w, pupil, practice.Command{Do: practice.Resign})
	looks, _ := json.Marshal(part(t, end, "now", "end", "look"))
	const want = `[{"grade":"no nearer","no":4,"say":"4 moves and no nearer. Where would he like to go?","seq":4}]`
	if string(looks) != want {
		t.Errorf("moves to look at: %s", looks)
	}
	if part(t, end, "now", "end", "next") != "again" || part(t, end, "now", "move") != 6.0 {
		t.Errorf("%s", end)
	}
}
