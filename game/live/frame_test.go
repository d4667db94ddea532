package live_test

import (
	"encoding/json"
	"errors"
	"os"
	"slices"
	"strings"
	"testing"

	"drover/game"
	"drover/game/live"
	"drover/game/practice"
)

// TestTestModeKeepsQuiet: in a test no verdict is sent before the end, and all
// of them are after it.
func TestTestModeKeepsQuiet(t *testing.T) {
	t.Parallel()
	m := rook()
	m.setup.Mode, m.setup.Backs = practice.Test, 0
	h := hubOn(m)
	w, _ := watch(t, h, 0)
	for {
		if _, err := h.Do(ctx, pupil, 1, next(t, h)); err != nil {
			t.Fatal(err)
		}
		got := read(t, <-w.Frames)
		over := got.Now.End != nil
		if (got.Act.Grade != "") != over || (len(got.Act.Why) > 0) != over {
			t.Fatalf("over is %v, and the verdict is %+v", over, got.Act)
		}
		if over {
			break
		}
	}
	h.Leave(w)
	w, first := watch(t, h, 0)
	defer h.Leave(w)
	var whole struct{ Acts []struct{ Grade string } }
	_, frame, err := h.Join(ctx, pupil, 1, live.About{}, 0)
	if err != nil || json.Unmarshal(frame, &whole) != nil || len(whole.Acts) != len(first.Acts) {
		t.Fatalf("%v, %s", err, frame)
	}
	for i, a := range whole.Acts {
		if a.Grade == "" {
			t.Errorf("act %d has no verdict after the end", i+1)
		}
	}
}

// TestJoinSendsWhatThePageLacks: a page that comes back gets the acts after those it has,
// and of a test that has ended the verdicts of all; one that has more than there is, or
// nothing, gets the whole game.
func TestJoinSendsWhatThePageLacks(t *testing.T) {
	t.Parallel()
	type sent struct {
		Game       *struct{}
		Acts, Past []struct{ Seq int }
	}
	m := rook()
	m.setup.Mode, m.setup.Backs, m.setup.Start = practice.Test, 0, "8/8/8/8/8/1k6/7R/K7 w - - 0 1"
	h := hubOn(m)
	w, _ := watch(t, h, 0)
	defer h.Leave(w)
	n := 0
	for over := false; !over; n++ {
		if _, err := h.Do(ctx, pupil, 1, next(t, h)); err != nil {
			t.Fatal(err)
		}
		frame := <-w.Frames
		over = read(t, frame).Now.End != nil
		var got sent
		if err := json.Unmarshal(frame, &got); err != nil || over != (len(got.Past) == n+1) || !over && got.Past != nil {
			t.Errorf("act %d, over is %v: %d of the past, %v", n+1, over, len(got.Past), err)
		}
	}
	if n < 3 {
		t.Fatalf("a game of %d acts says too little", n)
	}
	for after, want := range map[int]struct {
		whole      bool
		acts, past int
	}{0: {true, n, 0}, 1: {false, n - 1, n}, n - 1: {false, 1, n}, n: {false, 0, n}, n + 1: {true, n, 0}} {
		_, frame, err := h.Join(ctx, pupil, 1, live.About{}, after)
		var got sent
		if err != nil || json.Unmarshal(frame, &got) != nil || (got.Game != nil) != want.whole ||
			len(got.Acts) != want.acts || got.Acts == nil || len(got.Past) != want.past {
			t.Errorf("after %d: the whole is %v, %d acts, %d of the past, %v", after, got.Game != nil, len(got.Acts),
				len(got.Past), err)
		}
	}
}

// TestRefusalWords: each kind of failure has its word, and no cause comes out.
func TestRefusalWords(t *testing.T) {
	t.Parallel()
	cause := errors.New("secret")
	for want, err := range map[string]error{
		"away":    game.Wrap(game.Away, "The database is away.", cause),
		"busy":    game.Wrap(game.Busy, "Wait a little.", cause),
		"denied":  game.Wrap(game.Missing, "There is no such game.", cause),
		"bad":     game.Wrap(game.Bad, "This cannot be read.", cause),
		"illegal": practice.Refuse(practice.Illegal, "Choose another."),
	} {
		if got := string(live.Refusal("i", err)); !strings.HasPrefix(got, `{"no":"`+want+`","id":"i","say":"`) ||
			strings.Contains(got, "secret") {
			t.Errorf("%v: %s", err, got)
		}
	}
	if got := string(live.Refusal("", cause)); !strings.HasPrefix(got, `{"no":"away"`) || strings.Contains(got, "secret") {
		t.Errorf("an unknown cause: %s", got)
	}
}

// TestFramesAreDocumented: the fields of each frame, as a page gets them over a
// whole game, are those that DEVELOPERS.md names.
func TestFramesAreDocumented(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile("../../DEVELOPERS.md")
	if err != nil {
		t.Fatal(err)
	}
	documented := func(frame string) string {
		_, rest, found := strings.Cut(string(text), "\n    "+frame+": ")
		line, _, _ := strings.Cut(rest, "\n")
		if !found {
			t.Fatalf("DEVELOPERS.md does not document the frame %q", frame)
		}
		return line
	}
	m := rook()
	m.setup.Start = "7k/8/5K2/8/8/8/8/R7 w - - 0 1"
	h := hubOn(m)
	w, first, err := h.Join(ctx, pupil, 1, live.About{}, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer h.Leave(w)
	frames := [][]byte{first}
	for over := false; !over; {
		if _, err := h.Do(ctx, pupil, 1, next(t, h)); err != nil {
			t.Fatal(err)
		}
		frame := <-w.Frames
		frames = append(frames, frame)
		over = read(t, frame).Now.End != nil
	}
	for _, frame := range frames {
		var parts map[string]json.RawMessage
		if err := json.Unmarshal(frame, &parts); err != nil {
			t.Fatal(err)
		}
		for _, part := range []string{"game", "act", "now"} {
			var fields map[string]json.RawMessage
			if parts[part] == nil {
				continue
			}
			if err := json.Unmarshal(parts[part], &fields); err != nil {
				t.Fatal(err)
			}
			for name := range fields {
				if !named(documented(part), name) {
					t.Errorf("%s has %q, which DEVELOPERS.md does not name", part, name)
				}
			}
		}
	}
}

// named says whether a line lists a field.
func named(line, field string) bool {
	words := strings.FieldsFunc(line, func(r rune) bool { return r < 'a' || r > 'z' })
	return slices.Contains(words, field)
}

// TestAimOfATestOfFive: the page says which of the five games it is, in the words that its
// module writes too.
func TestAimOfATestOfFive(t *testing.T) {
	t.Parallel()
	m := rook()
	m.setup.Mode, m.setup.Backs = practice.Test, 0
	s, err := practice.Begin(m.setup)
	if err != nil {
		t.Fatal(err)
	}
	for about, want := range map[live.About]string{
		{}:                          "A test: no help, and the verdicts come at the end.",
		{Test: "Test, game 2 of 5"}: "Test, game 2 of 5: no help, verdicts at the end.",
	} {
		if got, err := live.Aim(ctx, judge, s, about); err != nil || got != want {
			t.Errorf("%q, %v", got, err)
		}
	}
}
