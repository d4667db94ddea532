package web_test

import (
	"fmt"
	"net/http"
	"strconv"
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

// gameAt is the game to which a page leads.
func (s *site) gameAt(f storetest.Fixture, got answer) store.GameInfo {
	s.Helper()
	var id game.GameID
	if _, err := fmt.Sscanf(got.header.Get("Location"), "/play/%d", &id); err != nil {
		s.Fatalf("no game: %d to %q", got.status, got.header.Get("Location"))
	}
	info, err := s.store.Game(ctx, f.Coach.Club, id)
	if err != nil {
		s.Fatal(err)
	}
	return info
}

// seqOf is the number of the first own move of a game.
func (s *site) seqOf(f storetest.Fixture, g game.GameID) string {
	s.Helper()
	state, err := s.hub.State(ctx, f.Student.Club, g)
	if err != nil {
		s.Fatal(err)
	}
	return strconv.Itoa(state.Line[0].Act.Seq)
}

// TestAgainFromHere: a position of an ended game is played once more, as often as wanted and
// against the same defender; it counts for nothing, no other child's is there, and a game that
// goes on has none.
func TestAgainFromHere(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "again")
	p, from := s.as(f.Student), fmt.Sprintf("/play/%d/from", f.Game)
	s.move(f.Student, f.Game)
	seq := s.seqOf(f, f.Game)
	if got := p.post(from, fields("seq", seq)); got.status != http.StatusConflict {
		t.Errorf("while it goes on: %d", got.status)
	}
	s.does(f.Student, f.Game, practice.Resign, "")
	first := s.gameAt(f, p.post(from, fields("seq", seq)))
	source, err := s.store.Game(ctx, f.Coach.Club, f.Game)
	if err != nil {
		t.Fatal(err)
	}
	if first.Kind != store.OfAgain || first.Counts || first.Of != f.Game || first.Start != 0 || first.Defender != source.Defender ||
		first.Ending != source.Ending || first.Task != 0 {
		t.Errorf("%+v", first)
	}
	state, err := s.hub.State(ctx, f.Student.Club, first.ID)
	if err != nil || !strings.HasPrefix(state.Start, strings.TrimSuffix(storetest.RookStart, "0 1")) || !state.Loose {
		t.Errorf("it begins at %s, %v", state.Start, err)
	}
	if same := s.gameAt(f, p.post(from, fields("seq", seq))); same.ID != first.ID {
		t.Error("two taps begin two games")
	}
	if page := p.get(fmt.Sprintf("/play/%d", first.ID)).body; !strings.Contains(page, ">Back to the game<") ||
		strings.Contains(page, "Enough for today") {
		t.Error("the way out does not say that it leads to the game")
	}
	s.move(f.Student, first.ID)
	if other := s.gameAt(f, p.post(from, fields("seq", seq))); other.ID == first.ID {
		t.Error("it cannot be had once more")
	}
	s.does(f.Student, first.ID, practice.Resign, "")
	if back := p.post(fmt.Sprintf("/play/%d/end", first.ID), fields("then", "today")).header.Get("Location"); back != fmt.Sprintf("/games/%d", f.Game) {
		t.Errorf("the way back leads to %q", back)
	}
	again := s.gameAt(f, p.post(fmt.Sprintf("/play/%d/end", first.ID), fields("then", "again")))
	if again.Kind != store.OfAgain || again.Of != f.Game || again.ID == first.ID {
		t.Errorf("once more: %+v", again)
	}
	if tapped := s.gameAt(f, p.post(fmt.Sprintf("/play/%d/end", first.ID), fields("then", "again"))); tapped.ID != again.ID {
		t.Error("two taps on 'Another try' begin two games")
	}
	for what, got := range map[string]answer{
		"another child's": s.as(f.Student2).post(from, fields("seq", seq)), "no such move": p.post(from, fields("seq", "999")),
		"no number": p.post(from, fields("seq", "x")),
	} {
		if got.status != http.StatusNotFound && got.status != http.StatusUnprocessableEntity {
			t.Errorf("%s: %d", what, got.status)
		}
	}
	of, err := s.store.RecordOf(ctx, f.Student.Club, f.Student.Person, store.WithStages, store.WithPlayed, store.WithSpent)
	if err != nil || len(of.Played) != 1 {
		t.Errorf("%d games count, %v", len(of.Played), err)
	}
	for _, row := range of.Stages {
		if row.Game != f.Game {
			t.Errorf("a stage of game %d counts", row.Game)
		}
	}
	if list := s.as(f.Coach).get(fmt.Sprintf("/students/%d", f.Student.Person)).body; strings.Contains(list, "once more from move") {
		t.Error("the coach's list has it among the games")
	}
}

// TestAgainInEveryTask: a draw is held once more for as many moves as in its drill, and after a
// promotion the position with the queen is played once more as a part of king and pawn.
func TestAgainInEveryTask(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "tasks")
	p := s.as(f.Student)
	rule := club.RuleOf(practice.Guided)
	rule.Budget = 14
	hold := s.given(f, club.Drill{Ending: "KRKB", Hold: true, Mode: practice.Guided, From: ending.HoldStage, To: ending.HoldStage,
		Starts: []string{"8/8/8/8/4k3/3r4/3B4/3K4 w - - 0 1"}, Rule: rule})
	rule.Budget = 0
	pawn := s.given(f, club.Drill{Ending: "KPK", Mode: practice.Guided, From: ending.Escort, To: ending.Mate, Defender: "longest",
		Starts: []string{"8/4P3/8/8/8/4K3/8/k7 w - - 0 1"}, Rule: rule})
	for _, c := range []struct {
		task  club.Assignment
		moves []string
		at    int
		want  string
	}{
		{hold, nil, 0, "8/8/8/8/4k3/3r4/3B4/3K4 w - - 0 1"},
		{pawn, []string{"e7e8q"}, 1, ""},
	} {
		g := s.gameAt(f, p.post("/today/start", fields("assignment", fmt.Sprint(c.task.ID))))
		for _, m := range c.moves {
			s.does(f.Student, g.ID, practice.Move, m)
		}
		s.move(f.Student, g.ID)
		s.does(f.Student, g.ID, practice.Resign, "")
		old, err := s.hub.State(ctx, f.Student.Club, g.ID)
		if err != nil {
			t.Fatal(err)
		}
		first := s.gameAt(f, p.post(fmt.Sprintf("/play/%d/from", g.ID), fields("seq", strconv.Itoa(old.Line[c.at].Act.Seq))))
		state, err := s.hub.State(ctx, f.Student.Club, first.ID)
		if err != nil {
			t.Fatal(err)
		}
		if c.want != "" && state.Start != c.want || state.Task.Defends() && state.Wanted() != 14 || first.Ending != g.Ending {
			t.Errorf("%s: once more from %s, for %d moves: %+v", g.Ending, state.Start, state.Wanted(), first)
		}
		s.move(f.Student, first.ID)
		if got := p.get(fmt.Sprintf("/play/%d", first.ID)); got.status != http.StatusOK {
			t.Errorf("%s: its page answers %d", g.Ending, got.status)
		}
		s.does(f.Student, first.ID, practice.Resign, "")
		if got := p.get(fmt.Sprintf("/games/%d", first.ID)); got.status != http.StatusOK {
			t.Errorf("%s: its review answers %d", g.Ending, got.status)
		}
	}
}

// TestOtherWinningMoves: beside a move that gave the win away the review does not say that
// other moves won, too.
func TestOtherWinningMoves(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "also")
	storetest.Exec(t, storetest.Address(s.store), fmt.Sprintf("update people set wording = 14 where id = %d", f.Student.Person))
	task := s.given(f, club.Drill{Ending: "KQK", Mode: practice.Guided, From: ending.Mate, To: ending.Mate, Defender: "longest",
		Starts: []string{"7k/8/6K1/8/8/8/5Q2/8 w - - 0 1"}, Rule: club.RuleOf(practice.Guided)})
	p := s.as(f.Student)
	g := s.gameAt(f, p.post("/today/start", fields("assignment", fmt.Sprint(task.ID))))
	s.does(f.Student, g.ID, practice.Move, "f2f7") // stalemate
	s.does(f.Student, g.ID, practice.Back, "")
	s.does(f.Student, g.ID, practice.Move, "f2f8")
	body := p.get(fmt.Sprintf("/games/%d", g.ID)).body
	for _, want := range []string{`data-also="These kept the win: Qf8#, `, `data-also="Also won: `} {
		if !strings.Contains(body, want) {
			t.Errorf("the review lacks %s", want)
		}
	}
}

// move makes the first legal move of a game that keeps the win.
func (s *site) move(a game.Actor, g game.GameID) {
	s.Helper()
	state, err := s.hub.State(ctx, a.Club, g)
	if err != nil {
		s.Fatal(err)
	}
	options, err := judge.Options(ctx, state.Pos)
	if err != nil {
		s.Fatal(err)
	}
	s.does(a, g, practice.Move, options[0].Move.UCI())
}

// TestFreePractice: any part of an ending that the child has met can be played for nothing,
// with White or Black, from a new start each time; its minutes are in the report and on the
// coach's page. What is not met is not there.
func TestFreePractice(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "free")
	p := s.as(f.Student)
	if page := p.get("/free"); !strings.Contains(page.body, `value="KRK.edge"`) || strings.Contains(page.body, `value="KBNK`) {
		t.Fatal("the page has not the endings that are met")
	}
	for _, never := range []string{"KBNK.edge", "KRK.nowhere", "hold-KPK", "", "x.y.z"} {
		if got := p.post("/free", fields("what", never)); got.status != http.StatusNotFound {
			t.Errorf("%q: %d", never, got.status)
		}
	}
	white := s.gameAt(f, p.post("/free", fields("what", "KRK.edge", "side", "w", "defender", "corner")))
	if white.Kind != store.OfFree || white.Counts || white.Defender != "corner" || white.From != "edge" {
		t.Errorf("%+v", white)
	}
	black := s.gameAt(f, p.post("/free", fields("what", "KRK.edge", "side", "b")))
	state, err := s.hub.State(ctx, f.Student.Club, black.ID)
	if err != nil || state.Side != board.Black || state.Pos.Turn() != board.Black || black.Defender == "" {
		t.Errorf("with Black: %+v, %v", state.Setup, err)
	}
	c := practice.Command{Do: practice.Move, ID: "long", Ply: state.Ply(), Took: 61000}
	options, err := judge.Options(ctx, state.Pos)
	if err != nil {
		t.Fatal(err)
	}
	c.Move = options[0].Move.UCI()
	if _, err := s.hub.Do(ctx, f.Student, black.ID, c); err != nil {
		t.Fatal(err)
	}
	s.does(f.Student, black.ID, practice.Resign, "")
	if page := p.get("/free"); strings.Contains(page.body, "Go on with your game") {
		t.Error("it offers to go on with a game that has ended")
	}
	s.move(f.Student, white.ID)
	if page := p.get("/free"); !strings.Contains(page.body, fmt.Sprintf(`href="/play/%d">Go on with your game`, white.ID)) {
		t.Error("a game that was left in its middle is not found again")
	}
	next := s.gameAt(f, p.post(fmt.Sprintf("/play/%d/end", black.ID), fields("then", "next")))
	if tapped := s.gameAt(f, p.post(fmt.Sprintf("/play/%d/end", black.ID), fields("then", "next"))); tapped.ID != next.ID {
		t.Error("two taps on 'Next start' begin two games")
	}
	other, err := s.hub.State(ctx, f.Student.Club, next.ID)
	if err != nil || next.Kind != store.OfFree || other.Side != board.Black || other.Start == state.Start {
		t.Errorf("another start: %+v, %v", other.Setup, err)
	}
	same := s.gameAt(f, p.post(fmt.Sprintf("/play/%d/end", black.ID), fields("then", "again")))
	if at, err := s.hub.State(ctx, f.Student.Club, same.ID); err != nil || at.Start != state.Start {
		t.Errorf("the same start: %s, %v", at.Start, err)
	}
	if got := p.post(fmt.Sprintf("/play/%d/end", black.ID), fields("then", "today")).header.Get("Location"); got != "/today" {
		t.Errorf("the way back leads to %q", got)
	}
	if body := spoken(s.as(f.Guardian).get("/report").body); !strings.Contains(body, "2 minutes of free practice this week") {
		t.Errorf("the report does not have it: %s", body)
	}
	if body := spoken(s.as(f.Coach).get(fmt.Sprintf("/students/%d", f.Student.Person)).body); !strings.Contains(body, "2 minutes") {
		t.Errorf("the coach's page does not have it: %s", body)
	}
}

// TestThen: after an ended game of a drill the server says what comes: nothing special, the last
// part after three that were not won, or a rest.
func TestThen(t *testing.T) {
	t.Parallel()
	now, _ := movable()
	s := startAt(t, now)
	f := storetest.Club(t, s.store, "then")
	p := s.as(f.Student)
	task := f.Finish(t, s.store, practice.Guided, 9)
	for try := 1; try <= 5; try++ {
		f.Played(t, s.store, task, 0, try, practice.NotWon, noon.Add(time.Duration(try-9)*time.Minute), 30)
		games, err := s.store.Games(ctx, f.Coach, f.Student.Person, store.GamesAsk{})
		if err != nil {
			t.Fatal(err)
		}
		var last game.GameID
		for _, g := range games.Rows {
			last = max(last, g.ID)
		}
		got := p.get(fmt.Sprintf("/play/%d/then", last))
		want := map[int]string{3: `"The last part"`, 4: `"The last part"`, 5: `"Back to today"`}[try]
		if want == "" && got.status != http.StatusNoContent || want != "" && !strings.Contains(got.body, want) {
			t.Errorf("after %d: %d %s", try, got.status, got.body)
		}
	}
}

// TestFirstCards: the cards stand on the first page until they are put away, or a game is begun.
func TestFirstCards(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "cards")
	const there = "Before your first game"
	if strings.Contains(s.as(f.Student).get("/today").body, there) {
		t.Error("they stand there after a game was begun")
	}
	storetest.Exec(t, storetest.Address(s.store), `delete from acts`)
	storetest.Exec(t, storetest.Address(s.store), `delete from games`)
	p := s.as(f.Student)
	if !strings.Contains(p.get("/today").body, there) {
		t.Fatal("a newcomer does not see them")
	}
	p.post("/today/cards", fields())
	if strings.Contains(p.get("/today").body, there) {
		t.Error("they were put away")
	}
	other := s.as(f.Student2)
	if !strings.Contains(other.get("/today").body, there) {
		t.Error("one child has put them away for another")
	}
	s.gameAt(f, other.post("/today/start", fields("assignment", fmt.Sprint(f.Task2))))
	if strings.Contains(other.get("/today").body, there) {
		t.Error("they stand there after the first game was begun")
	}
}
