package web_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"drover/game"
	"drover/game/board"
	"drover/game/progress"
	"drover/store"
	"drover/store/storetest"
)

// TestNewcomer walks through a starting check as a child who finds everything
// but the rook and the pawn: on the board over the socket, with nothing on any
// page or in any frame that says right or wrong, and a way on after each reload.
func TestNewcomer(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "newcomer")
	p, c := s.as(f.Student), s.as(f.Coach)
	file := fmt.Sprintf("/students/%d", f.Student.Person)
	if got := p.get("/check"); got.status != http.StatusNotFound {
		t.Fatalf("a check that nobody has begun: %d", got.status)
	}
	if body := c.get(file).body; !strings.Contains(body, "Start the check") {
		t.Error("the coach cannot begin one")
	}
	for range 2 { // sent twice begins one
		if got := c.post(file+"/check", url.Values{}); got.status != http.StatusSeeOther {
			t.Fatalf("begin: %d, %s", got.status, s.log.text.String())
		}
	}
	if body := p.get("/today").body; !strings.Contains(body, "Starting check") ||
		!strings.Contains(body, `href="/check"`) {
		t.Error("today does not offer it")
	}
	for no := 1; no <= 6; no++ {
		task := s.task(f, no)
		for range 2 { // loaded again it is the same
			if body := p.get("/check").body; !strings.Contains(body, progress.AskAt(no-1)) {
				t.Fatalf("task %d is not asked: %s", no, body)
			}
		}
		if task.Code == progress.Question {
			s.answer(p, no, task)
		} else {
			s.play(p, no, task, no < 5)
		}
	}
	got := p.get("/check").body
	if !strings.Contains(got, "That was the last task. Thank you.") {
		t.Error("there is no end")
	}
	if body := p.get("/today").body; strings.Contains(body, `href="/check"`) {
		t.Error("today still offers it")
	}
	body := c.get(file).body
	for _, want := range []string{"In the starting check mate was found with two rooks and the queen; the finish with the rook comes first.", "Rook: mate", "ending=KRK", "Do it once more"} {
		if !strings.Contains(body, want) {
			t.Errorf("the coach's page says nothing of %q", want)
		}
	}
	if n := strings.Count(body, "<b>found</b>"); n != 4 {
		t.Errorf("%d found, want 4", n)
	}
	if of, err := s.store.RecordOf(ctx, f.Coach.Club, f.Student.Person, store.WithStages); err != nil ||
		len(of.Stages) != 0 {
		t.Errorf("games that do not count are in the stage view: %v, %v", of.Stages, err)
	}
}

// task reads a task of the student's check.
func (s *site) task(f storetest.Fixture, no int) progress.PickedTask {
	s.Helper()
	placement, err := s.store.LatestPlacement(ctx, f.Coach.Club, f.Student.Person)
	if err != nil || placement == nil || placement.Next() != no-1 {
		s.Fatalf("task %d is not the next: %+v, %v", no, placement, err)
	}
	return placement.Tasks[no-1].PickedTask
}

// answer gives no answer, an answer to another task, and the right one.
func (s *site) answer(p *person, no int, task progress.PickedTask) {
	s.Helper()
	if got := p.post("/check", url.Values{"no": {fmt.Sprint(no)}}); got.status != http.StatusUnprocessableEntity ||
		!strings.Contains(got.body, "Choose one of the three answers.") {
		s.Errorf("no answer: %d", got.status)
	}
	position, err := board.ParseFEN(task.FEN)
	if err != nil {
		s.Fatal(err)
	}
	right := url.Values{"no": {fmt.Sprint(no)}, "answer": {progress.Answer(position)}}
	got := p.post("/check", right)
	if got.status != http.StatusSeeOther || got.header.Get("Location") != "/check" {
		s.Errorf("the answer: %d", got.status)
	}
	if got := p.post("/check", right); got.header.Get("Location") != "/check" { // an old tab
		s.Errorf("the answer again: %d", got.status)
	}
}

// play plays a task on the board, well or by giving it up.
func (s *site) play(p *person, no int, task progress.PickedTask, well bool) {
	s.Helper()
	begin := func() string {
		s.Helper()
		return p.post("/check", url.Values{"no": {fmt.Sprint(no)}}).header.Get("Location")
	}
	where := begin()
	var id game.GameID
	if _, err := fmt.Sscanf(where, "/play/%d", &id); err != nil {
		s.Fatalf("task %d leads to %q", no, where)
	}
	if again := begin(); again != where {
		s.Errorf("task %d: %s, then %s", no, where, again)
	}
	if !well {
		if got := p.post(where+"/end", url.Values{"then": {"again"}}); got.header.Get("Location") != "/check" {
			s.Errorf("given up, it leads to %q", got.header.Get("Location"))
		}
		return
	}
	conn := p.board(id)
	frame := conn.next()
	s.silent(frame)
	position, err := board.ParseFEN(task.FEN)
	if err != nil {
		s.Fatal(err)
	}
	for ply := 0; ; ply += 2 {
		best, ok, err := judge.Best(ctx, position)
		if err != nil || !ok {
			s.Fatalf("best of %s: %v", position.FEN(), err)
		}
		conn.say(fmt.Sprintf(`{"do":"move","id":"m%d","ply":%d,"move":"%s","took":1000}`, ply, ply, best.Move.UCI()))
		frame = conn.next()
		s.silent(frame)
		now, _ := frame["now"].(map[string]any)
		if now["turn"] == "over" {
			break
		}
		if position, err = board.ParseFEN(now["fen"].(string)); err != nil {
			s.Fatal(err)
		}
	}
	if got := p.get(fmt.Sprintf("/games/%d", id)); got.status != http.StatusNotFound {
		s.Errorf("the child reads the verdicts of task %d: %d", no, got.status)
	}
	if got := p.post(where+"/end", url.Values{"then": {"next"}}); got.header.Get("Location") != "/check" {
		s.Errorf("task %d leads on to %q", no, got.header.Get("Location"))
	}
}

// silent holds a frame of a quiet game against what would tell right from wrong.
func (s *site) silent(frame map[string]any) {
	s.Helper()
	text, err := json.Marshal(frame)
	if err != nil {
		s.Fatal(err)
	}
	for _, word := range []string{`"grade"`, `"why"`, `"par":1`, `"par":2`, `"par":3`, "clean", "won", "Checkmate",
		`"article":"F`, "/games/"} {
		if strings.Contains(string(text), word) {
			s.Errorf("a frame says %s: %s", word, text)
		}
	}
}

// TestSecondMiss: the check ends at the second miss, and practice begins at the
// foot of the ladder.
func TestSecondMiss(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "misses")
	p, c := s.as(f.Student), s.as(f.Coach)
	file := fmt.Sprintf("/students/%d", f.Student.Person)
	c.post(file+"/check", url.Values{})
	s.play(p, 1, s.task(f, 1), false)
	position, err := board.ParseFEN(s.task(f, 2).FEN)
	if err != nil {
		t.Fatal(err)
	}
	wrong := progress.IsMate
	if progress.Answer(position) == wrong {
		wrong = progress.IsNeither
	}
	p.post("/check", url.Values{"no": {"2"}, "answer": {wrong}})
	if body := p.get("/check").body; !strings.Contains(body, "That was the last task. Thank you.") {
		t.Error("it goes on after the second miss")
	}
	body := c.get(file).body
	if strings.Count(body, "<b>not reached</b>") != 4 || !strings.Contains(body,
		"the finish with two rooks comes first.") {
		t.Error("the coach's page does not say where it ended")
	}
	if got := c.post(file+"/check", url.Values{}); got.status != http.StatusSeeOther {
		t.Errorf("once more: %d", got.status)
	}
	if placement, err := s.store.LatestPlacement(ctx, f.Coach.Club, f.Student.Person); err != nil ||
		placement.Next() != 0 {
		t.Errorf("the second check: %+v, %v", placement, err)
	}
}
