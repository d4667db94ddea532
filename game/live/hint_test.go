package live_test

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"drover/game"
	"drover/game/ending"
	"drover/game/live"
	"drover/game/practice"
	"drover/solver"
)

// part takes a part out of a frame as plain values.
func part(t *testing.T, frame []byte, path ...string) any {
	t.Helper()
	var v any
	if err := json.Unmarshal(frame, &v); err != nil {
		t.Fatal(err)
	}
	for _, name := range path {
		fields, ok := v.(map[string]any)
		if !ok {
			return nil
		}
		v = fields[name]
	}
	return v
}

// send carries a command out and gives the frame that the watcher hears.
func send(t *testing.T, h *live.Hub, w *live.Watcher, c practice.Command) []byte {
	t.Helper()
	if _, err := h.Do(ctx, pupil, 1, c); err != nil {
		t.Fatal(err)
	}
	return <-w.Frames
}

// keys are the names in a part of a frame, in order.
func keys(v any) string {
	var names []string
	for k := range v.(map[string]any) {
		names = append(names, k)
	}
	slices.Sort(names)
	return strings.Join(names, " ")
}

// TestHintFrames: each step of help shows its own facts and no other's, and
// draws his pen or the gaps as the plan has it.
func TestHintFrames(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		code, start, cover string
	}{
		{"KRK", "8/8/8/4k3/8/8/8/R3K3 w - - 0 1", "cover pen step"},
		{"KBNK", "4k3/8/8/8/8/8/8/2B1K1N1 w - - 0 1", "cover step"},
	} {
		m := rook()
		m.setup.Ending, m.setup.Start = c.code, c.start
		m.setup.Helps = practice.StepsOf(ending.HelpWish, ending.HelpCover, ending.HelpMan, ending.HelpMove)
		h := hubOn(m)
		w, first, err := h.Join(ctx, pupil, 1, live.About{}, 0)
		if err != nil {
			t.Fatal(err)
		}
		got, want := fmt.Sprint(part(t, first, "game", "help"), part(t, first, "game", "pen")), "[1 2 3 4] "
		if got != fmt.Sprint(want, c.code == "KRK") {
			t.Errorf("%s: the game offers %s", c.code, got)
		}
		for step, want := range map[int]string{1: "step wish", 2: c.cover, 3: "man step", 4: "move step"} {
			frame := send(t, h, w, practice.Command{Do: practice.Help, ID: fmt.Sprint("h", step), Step: step})
			hint := part(t, frame, "act", "hint")
			if got := keys(hint); got != want && got != strings.Replace(want, "cover", "cover gaps", 1) {
				t.Errorf("%s, step %d shows %s, want %s", c.code, step, got, want)
			}
			if part(t, frame, "act", "kind") != "help" || part(t, frame, "act", "move") != nil ||
				part(t, frame, "now", "ply") != 0.0 {
				t.Errorf("%s, step %d: %s", c.code, step, frame)
			}
		}
		h.Leave(w)
	}
}

// TestLookingAgainAddsNothing: a step of help that was shown is shown again to the student
// who asks in the same position, and is not written twice; for a page that is behind it is
// refused, and after a move it is asked anew.
func TestLookingAgainAddsNothing(t *testing.T) {
	t.Parallel()
	m := rook()
	m.setup.Helps = practice.StepsOf(ending.HelpWish, ending.HelpCover)
	h := hubOn(m)
	w, _ := watch(t, h, 0)
	defer h.Leave(w)
	wish := func(id string, ply int) practice.Command {
		return practice.Command{Do: practice.Help, ID: id, Ply: ply, Step: 1}
	}
	first := send(t, h, w, wish("one", 0))
	again, err := h.Do(ctx, pupil, 1, wish("two", 0))
	if err != nil || part(t, again, "act", "id") != "two" || len(m.log()) != 1 ||
		keys(part(t, again, "act", "hint")) != keys(part(t, first, "act", "hint")) {
		t.Errorf("looking again: %s, %v, %d acts", again, err, len(m.log()))
	}
	if frame, err := h.Do(ctx, pupil, 1, wish("behind", 4)); err == nil || len(m.log()) != 1 {
		t.Errorf("of another position: %s, %d acts", frame, len(m.log()))
	}
	send(t, h, w, next(t, h))
	s, err := h.State(ctx, pupil.Club, 1)
	if err != nil {
		t.Fatal(err)
	}
	if frame := send(t, h, w, wish("anew", s.Ply())); part(t, frame, "act", "seq") != 3.0 || len(m.log()) != 3 {
		t.Errorf("after a move: %s", frame)
	}
}

// TestGoneFrame: the win goes, the game stops and says why; a take-back leads
// on, and when that is declined the end says what it was.
func TestGoneFrame(t *testing.T) {
	t.Parallel()
	m := rook()
	m.setup.Ending, m.setup.Start = "KQK", "7k/8/6K1/8/8/8/5Q2/8 w - - 0 1"
	h := hubOn(m)
	w, _ := watch(t, h, 0)
	defer h.Leave(w)
	stalemate := practice.Command{Do: practice.Move, ID: "a", Move: "f2f7"}
	frame := send(t, h, w, stalemate)
	if part(t, frame, "now", "turn") != "gone" || part(t, frame, "now", "gone", "back") != true ||
		part(t, frame, "now", "gone", "article") != "Stalemate, FIDE Laws 5.2.1" ||
		part(t, frame, "now", "end") != nil || part(t, frame, "act", "grade") != "win gone" {
		t.Fatalf("%s", frame)
	}
	if said := fmt.Sprint(part(t, frame, "now", "gone", "say")); !strings.Contains(said, "stalemate, a draw") {
		t.Errorf("says %s", said)
	}
	frame = send(t, h, w, practice.Command{Do: practice.Back, ID: "b", Ply: 1})
	if part(t, frame, "now", "turn") != "you" || part(t, frame, "now", "backs") != 0.0 ||
		part(t, frame, "act", "kind") != "back" {
		t.Fatalf("%s", frame)
	}
	stalemate.ID = "c"
	if frame = send(t, h, w, stalemate); part(t, frame, "now", "gone", "back") != false {
		t.Errorf("a second take-back is offered: %s", frame)
	}
	frame = send(t, h, w, practice.Command{Do: practice.Resign, ID: "d", Ply: 1})
	if part(t, frame, "now", "turn") != "over" || part(t, frame, "now", "end", "kind") != "stalemate" ||
		part(t, frame, "now", "end", "article") != "FIDE Laws 5.2.1" || part(t, frame, "now", "end", "result") != "not won" {
		t.Errorf("%s", frame)
	}
	if len(m.ended) != 1 || m.ended[0].Failed != ending.Mate {
		t.Errorf("%+v", m.ended)
	}
	looks, _ := part(t, frame, "now", "end", "look").([]any)
	if len(looks) != 1 || keys(looks[0]) != "grade no say seq" {
		t.Errorf("moves to look at: %v", looks)
	}
	const story = "[You took one back: Qf7 would have been stalemate. He needs one free square.]"
	if got := fmt.Sprint(part(t, frame, "now", "end", "story")); got != story {
		t.Errorf("the story: %s", got)
	}
}

// TestThirdTimeIsSaid: FIDE Laws 9.2; in practice the game goes on, and it is
// said.
func TestThirdTimeIsSaid(t *testing.T) {
	t.Parallel()
	m := rook()
	m.setup.Start = "4k3/8/8/8/8/8/8/R3K3 w - - 0 1"
	h := hubOn(m)
	w, _ := watch(t, h, 0)
	defer h.Leave(w)
	for n := 0; n < 40; n++ {
		s, err := h.State(ctx, pupil.Club, 1)
		if err != nil || s.End != "" {
			t.Fatalf("ended by %s before it was said: %v", s.End, err)
		}
		to := map[int]string{0: "a1b1", 1: "b1a1"}[n%2]
		frame := send(t, h, w, practice.Command{Do: practice.Move, ID: fmt.Sprint(n), Move: to, Ply: s.Ply()})
		if strings.Contains(fmt.Sprint(part(t, frame, "act", "why")),
			"The same position for the third time: a draw may be claimed.") {
			return
		}
	}
	t.Error("never said")
}

// TestCheckAndLeft: the frame names the king in check, and how many moves are
// left before the fifty-move rule or the budget.
func TestCheckAndLeft(t *testing.T) {
	t.Parallel()
	m := rook()
	m.setup.Budget = 7
	m.setup.Start = "8/8/8/4k3/8/8/8/R3K3 w - - 60 80"
	h := hubOn(m)
	w, first, err := h.Join(ctx, pupil, 1, live.About{}, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer h.Leave(w)
	if part(t, first, "now", "left") != 7.0 || part(t, first, "now", "check") != "" ||
		part(t, first, "now", "move") != 1.0 {
		t.Errorf("%s", part(t, first, "now"))
	}
	m.setup.Budget = 0
	fresh := hubOn(m)
	_, first, err = fresh.Join(ctx, pupil, 1, live.About{}, 0)
	if err != nil || part(t, first, "now", "left") != 20.0 {
		t.Errorf("%v, %s", err, part(t, first, "now"))
	}
	frame := send(t, h, w, next(t, h))
	if part(t, frame, "now", "left") != 6.0 || part(t, frame, "now", "move") != 2.0 ||
		part(t, frame, "now", "ply") != 2.0 {
		t.Errorf("%s", part(t, frame, "now"))
	}
}

// TestCommandOfFrame: a frame's fields become the command's, and nothing else
// does: who sends it is not for the frame to say.
func TestCommandOfFrame(t *testing.T) {
	t.Parallel()
	var f live.Frame
	const frame = `{"do":"move","id":"r4nd0m","ply":14,"move":"g1e2","took":5200,"step":2}`
	if err := json.Unmarshal([]byte(frame), &f); err != nil {
		t.Fatal(err)
	}
	want := practice.Command{Do: practice.Move, ID: "r4nd0m", Ply: 14, Move: "g1e2", Took: 5200, Step: 2}
	if got := f.Command(); got != want {
		t.Errorf("%+v, want %+v", got, want)
	}
}

// TestNoTables: a node whose tables are not built yet says 'away' and keeps
// nothing; when they are there the same command goes through.
func TestNoTables(t *testing.T) {
	t.Parallel()
	gone, cancel := context.WithCancel(ctx)
	cancel()
	m := rook()
	c := next(t, hubOn(m))
	cold := live.New(m, ending.NewJudge(solver.NewTables()), now)
	_, err := cold.Do(gone, pupil, 1, c)
	if frame := string(live.Refusal(c.ID, err)); !errors.Is(err, context.Canceled) ||
		!strings.HasPrefix(frame, `{"no":"away"`) {
		t.Errorf("%v, %s", err, frame)
	}
	colder := live.New(m, ending.NewJudge(solver.NewTables()), now) // the first one builds by now
	if _, _, err := colder.Join(gone, pupil, 1, live.About{}, 0); !errors.Is(err, context.Canceled) {
		t.Errorf("joining: %v", err)
	}
	if len(m.log()) != 0 {
		t.Error("an act was kept")
	}
	if _, err := cold.Do(ctx, pupil, 1, c); err != nil || len(m.log()) != 1 {
		t.Errorf("%v, %d acts", err, len(m.log()))
	}
}

// TestNothingIsDrawnForNobody: a game at which nobody looks is read without a table, and no
// frame of it is made.
func TestNothingIsDrawnForNobody(t *testing.T) {
	t.Parallel()
	gone, cancel := context.WithCancel(ctx)
	cancel()
	m := rook()
	h := hubOn(m)
	if _, err := h.Do(ctx, pupil, 1, next(t, h)); err != nil {
		t.Fatal(err)
	}
	cold := live.New(m, ending.NewJudge(solver.NewTables()), now)
	if s, err := cold.State(gone, pupil.Club, 1); err != nil || s.Seq() != 1 {
		t.Errorf("%d acts, %v", s.Seq(), err)
	}
}

// TestTamperedLog: a log that nobody could have played is an error with the
// game's number, not a panic, and no frame.
func TestTamperedLog(t *testing.T) {
	t.Parallel()
	m := rook()
	m.acts = []practice.Act{{Seq: 1, Kind: practice.Back}}
	h := hubOn(m)
	_, _, err := h.Join(ctx, pupil, 1, live.About{}, 0)
	if err == nil || !strings.Contains(err.Error(), "game 1: act 1") || game.KindOf(err) != game.Internal {
		t.Errorf("%v", err)
	}
	m = rook()
	m.setup.Start = "nonsense"
	if _, err := hubOn(m).State(ctx, pupil.Club, 1); err == nil || !strings.Contains(err.Error(), "game 1") {
		t.Errorf("%v", err)
	}
}
