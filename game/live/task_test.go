package live_test

import (
	"fmt"
	"testing"

	"drover/game/live"
	"drover/game/practice"
)

// toQueen is a kind of task of a test's own: the win, told in one stage.
type toQueen struct{ practice.Win }

func (toQueen) Staged() bool { return false }
func (toQueen) Gone() string { return "The pawn is stopped" }
func (toQueen) Brief(practice.State) practice.Brief {
	aim := practice.Aim{Stage: "queen", Name: "Make a queen", Say: "Lead it to the last row."}
	return practice.Brief{Stages: []practice.Aim{aim}, Wanted: 3}
}

// TestFramesOfAThirdKind: the frames tell a game by its task, whatever kind that is.
func TestFramesOfAThirdKind(t *testing.T) {
	t.Parallel()
	m := rook()
	m.setup.Ending, m.setup.Start, m.setup.Task = "KPK", "8/4P3/8/8/8/k7/8/4K3 w - - 0 1", toQueen{}
	h := hubOn(m)
	w, first, err := h.Join(ctx, pupil, 1, live.About{}, 0)
	if err != nil {
		t.Fatal(err)
	}
	begins := part(t, first, "game").(map[string]any)
	got := fmt.Sprint(begins["stages"], begins["wanted"], begins["hold"], part(t, first, "now", "stage"))
	if want := "[map[aim:Lead it to the last row. id:queen name:Make a queen]] 3 <nil> 0"; got != want {
		t.Errorf("the game begins with %s, want %s", got, want)
	}
	frame := send(t, h, w, practice.Command{Do: practice.Move, ID: "knight", Move: "e7e8n"})
	if got := part(t, frame, "now", "gone", "title"); got != "The pawn is stopped" {
		t.Errorf("the stop is headed %v", got)
	}
}
