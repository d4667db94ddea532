package web_test

import (
	"fmt"
	"html"
	"strings"
	"testing"

	"drover/game/ending"
	"drover/game/practice"
	"drover/store/storetest"
)

// TestBoardIsInThePage: a student's page has the board and the aim that its first frame
// brings, so that nothing waits for the socket; a coach's page has none, since no
// position goes out to an adult before the student can see who watches.
func TestBoardIsInThePage(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "paint")
	student := s.as(f.Student)
	for _, move := range []string{"", "best"} {
		if move != "" {
			s.does(f.Student, f.Game, practice.Move, s.dearest(f, ending.Option.Wins))
		}
		first := student.board(f.Game).next()
		now, stages := first["now"].(map[string]any), first["game"].(map[string]any)["stages"].([]any)
		said := stages[int(now["stage"].(float64))].(map[string]any)["aim"].(string)
		page := student.get(fmt.Sprintf("/play/%d", f.Game)).body
		aim := html.EscapeString(said)
		if aim == "" || !strings.Contains(page, `class="aim">`+aim+"<") {
			t.Errorf("the page has not the aim %q", aim)
		}
		_, picture, _ := strings.Cut(page, `<div id="board" class="board">`)
		picture, _, _ = strings.Cut(picture, "</svg>")
		if n := strings.Count(picture, `class="man`); n != 3 {
			t.Errorf("%d men on the board of %v", n, now["fen"])
		}
	}
	if page := s.as(f.Coach).get(fmt.Sprintf("/watch/%d", f.Game)).body; strings.Contains(page, `class="man`) {
		t.Error("a coach sees the position before the student knows")
	}
}
