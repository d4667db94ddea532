package web_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"drover/game/ending"
	"drover/game/practice"
	"drover/store"
	"drover/store/storetest"
)

// TestTellLeadsBackToTheGame: from a game's page a student comes back to that game;
// with anything but a game's number, and for a guardian, to the own first page.
func TestTellLeadsBackToTheGame(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "tell")
	student, guardian := s.as(f.Student), s.as(f.Guardian)
	game := fmt.Sprint(f.Game)
	if body := student.get("/play/" + game).body; !strings.Contains(body, `href="/tell?game=`+game+`"`) {
		t.Error("the board page's link does not say which game it was")
	}
	const today, report = `href="/today">Go back</a>`, `href="/report">Go back</a>`
	for query, want := range map[string]string{
		"?game=" + game: `href="/play/` + game + `">Back to the game</a>`, "?game=007": `href="/play/7">Back to the game</a>`,
		"": today, "?game=": today, "?game=0": today, "?game=-1": today, "?game=%2B1": today, "?game=1%2Fend": today,
		"?game=%2F%2Felsewhere.example": today, "?game=99999999999999999999": today, "?game=x&game=1": today,
	} {
		if got := student.get("/tell" + query); got.status != 200 || !strings.Contains(got.body, want) {
			t.Errorf("a student at /tell%s: status %d, want %s", query, got.status, want)
		}
		if got := guardian.get("/tell" + query); got.status != 200 || !strings.Contains(got.body, report) {
			t.Errorf("a guardian at /tell%s: status %d", query, got.status)
		}
	}
}

// TestReviewLeadsBack: over a game's review stands the page that it belongs to: a
// student's own day, for a coach the student by name.
func TestReviewLeadsBack(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "review")
	f.Played(t, s.store, f.Finish(t, s.store, practice.Guided, 5), 0, 1, practice.Clean, time.Now(), 30)
	list, err := s.store.Games(ctx, f.Coach, f.Student.Person, store.GamesAsk{Ending: "KRK", Stage: ending.Mate})
	games := list.Rows
	if err != nil || len(games) != 1 {
		t.Fatalf("%d games, %v", len(games), err)
	}
	review := fmt.Sprintf("/games/%d", games[0].ID)
	if body := s.as(f.Student).get(review).body; !strings.Contains(body, `<a href="/today">Today</a>`) {
		t.Error("a student's review does not lead to the day")
	}
	want := fmt.Sprintf(`<a href="/students/%d">%s</a>`, f.Student.Person, games[0].Student.Name)
	if body := s.as(f.Coach).get(review).body; !strings.Contains(body, want) {
		t.Errorf("a coach's review does not lead to the student: want %s", want)
	}
}
