package coach

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/progress"
	"drover/store"
	"drover/web/site"
)

// TestRow is a test that was passed, as long as it can be noted who watched it.
type TestRow struct {
	Name string // "Rook"
	Say  string // "24 November, four of five within 25 moves. Watched by Coach Ines."
	Game string // with which it ended
	Mine bool   // the reader can note that they watched it
}

// testRows are the tests that were passed in the last days, the latest first.
func (s Pages) testRows(ctx context.Context, a game.Actor, of progress.Record) ([]TestRow, error) {
	var tests []progress.Sitting
	for _, t := range progress.Sittings(of.Trials) {
		if t.Passed() && of.Today()-t.Day <= progress.Day(store.NoteFor/(24*time.Hour)) {
			tests = append(tests, t)
		}
	}
	slices.Reverse(tests)
	by, err := s.Store.Watched(ctx, a.Club, tests)
	if err != nil {
		return nil, err
	}
	var rows []TestRow
	for _, t := range tests {
		row := TestRow{Name: testName(t), Game: strconv.FormatInt(int64(t.Last()), 10)}
		row.Say = fmt.Sprintf("%s, %s of %s %s.", site.ShortDay(t.Day.Date(), of.Now), game.Number(t.Won()),
			game.Number(club.TestGames), club.Measure(t.Within()))
		row.Mine = true
		var who []string
		for _, w := range by[t.Last()] {
			who, row.Mine = append(who, w.Name), row.Mine && w.ID != a.Person
		}
		if len(who) > 0 {
			row.Say += " Watched by " + game.List(who) + "."
		}
		rows = append(rows, row)
	}
	return rows, nil
}

// testName names what was tested.
func testName(t progress.Sitting) string {
	if t.Within() > 0 {
		return ending.NameOf(t.Ending)
	}
	return ending.NameOf(t.Ending) + ", " + t.From.Place()
}

type watchedForm struct {
	Game game.GameID `schema:"game"`
}

// WatchedPost notes that the coach watched a test.
func (s Pages) WatchedPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	student, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	var f watchedForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	change, err := s.Store.NoteWatched(r.Context(), a, student, f.Game)
	return s.done(w, r, fmt.Sprintf("/students/%d", student), change, err)
}
