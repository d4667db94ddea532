package web_test

import (
	"fmt"
	"net/url"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"drover/game"
	"drover/game/ending"
	"drover/game/practice"
	"drover/store"
	"drover/store/storetest"
)

// noon is when these tests begin; the clock stands until it is moved.
var noon = time.Date(2026, 11, 10, 12, 0, 0, 0, time.UTC)

func movable() (now game.Clock, move func(time.Duration)) {
	var passed atomic.Int64
	return func() time.Time { return noon.Add(time.Duration(passed.Load())) }, func(d time.Duration) { passed.Add(int64(d)) }
}

// TestStuckRule: after the third not won the next try is the last part, one
// stage later in a drill that has one; the coach is told, with a drill; a win
// ends it.
func TestStuckRule(t *testing.T) {
	t.Parallel()
	now, _ := movable()
	s := startAt(t, now)
	f := storetest.Club(t, s.store, "stuck")
	p, c := s.as(f.Student), s.as(f.Coach)
	task := f.Finish(t, s.store, practice.Guided, 5)
	begin := func() store.GameInfo { t.Helper(); return s.begun(p, f, task.ID) }
	for try := 1; try <= 3; try++ {
		f.Played(t, s.store, task, 0, try, practice.NotWon, noon.Add(time.Duration(try-5)*time.Minute), 30)
		said := strings.Contains(p.get("/today").body, "Three tries is plenty.")
		told := strings.Contains(c.stages(),
			"Stuck in the rook drill: "+f.Student.Name+" (three tries in a row not won).")
		if said != (try == 3) || told != (try == 3) {
			t.Errorf("after %d not won: said %v, told %v", try, said, told)
		}
		if read := strings.Contains(s.as(f.Guardian).get("/report").body, "did not work three times in a row"); read != (try == 3) {
			t.Errorf("after %d not won a guardian reads of it: %v", try, read)
		}
		if n := strings.Count(c.stages(), "hree tries in a row"); n > 1 {
			t.Errorf("the coach reads %d times of the three tries", n)
		}
	}
	if page := c.get(fmt.Sprintf("/students/%d", f.Student.Person)); !strings.Contains(page.body, "stuck in the rook drill") || !strings.Contains(page.body, "/drills/new?defender=centre&amp;ending=KRK&amp;for="+fmt.Sprint(f.Student.Person)+"&amp;from=mate&amp;kind=random&amp;mode=guided&amp;to=mate") {
		t.Error("the student's page does not tell, or has no drill")
	}
	part := begin()
	if part.Kind != store.OfPart || part.From != ending.Mate || part.Task != task.ID {
		t.Fatalf("the fourth: %+v", part)
	}
	if again := begin(); again.ID != part.ID {
		t.Errorf("not the one under way: %d, then %d", part.ID, again.ID)
	}
	if body := p.get("/today").body; !strings.Contains(body, "Go on") {
		t.Error("today does not lead back to the part")
	}
	if got := p.post(fmt.Sprintf("/play/%d/end", part.ID), url.Values{"then": {"again"}}); got.status != 303 {
		t.Fatalf("the part is left: %d", got.status)
	}
	if next := begin(); next.Kind != store.OfDrill {
		t.Errorf("after the part: %+v", next)
	}
	tasks, err := s.store.Tasks(ctx, f.Student)
	if err != nil || tasks[1].Done != 0 {
		t.Errorf("the part counts as a start: %+v, %v", tasks, err)
	}
	f.Played(t, s.store, task, 1, 1, practice.Clean, noon, 30)
	if body := c.stages(); strings.Contains(body, "Stuck in") {
		t.Error("stuck after a win")
	}
}

// begun starts an assignment as its student and reads the game.
func (s *site) begun(p *person, f storetest.Fixture, task game.AssignmentID) store.GameInfo {
	s.Helper()
	got := p.post("/today/start", url.Values{"assignment": {fmt.Sprint(task)}})
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

// TestEnoughForToday: after five tries at a drill, and after twenty minutes of
// play, no try begins; what is assigned is there again the next day.
func TestEnoughForToday(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct{ games, seconds int }{"five tries": {5, 30}, "twenty minutes": {2, 700}} {
		now, move := movable()
		s := startAt(t, now)
		f := storetest.Club(t, s.store, "enough")
		p := s.as(f.Student)
		task := f.Finish(t, s.store, practice.Guided, 9)
		for i := range c.games - 1 {
			f.Played(t, s.store, task, i, 1, practice.Clean, noon.Add(-time.Hour), c.seconds)
		}
		s.as(f.Student).post(fmt.Sprintf("/play/%d/end", f.Game),
			url.Values{"then": {"again"}}) // the fixture's own game is under way
		if body := p.get("/today").body; strings.Contains(body, "Enough for today.") {
			t.Errorf("%s: too early", name)
		}
		f.Played(t, s.store, task, c.games-1, 1, practice.Clean, noon.Add(-time.Minute), c.seconds)
		start := url.Values{"assignment": {fmt.Sprint(task.ID)}}
		if got := p.post("/today/start", start); got.header.Get("Location") != "/today" {
			t.Errorf("%s: a try begins at %s", name, got.header.Get("Location"))
		}
		if body := p.get("/today").body; !strings.Contains(body, "Enough for today. It is here again tomorrow.") {
			t.Errorf("%s: today does not say so", name)
		}
		move(13 * time.Hour)
		if got := p.post("/today/start", start); !strings.HasPrefix(got.header.Get("Location"), "/play/") {
			t.Errorf("%s: the next day %d to %s", name, got.status, got.header.Get("Location"))
		}
	}
}

// TestMasteryPages: a test of five and a check a week later, as the student, the
// coach and the guardian see it.
func TestMasteryPages(t *testing.T) {
	t.Parallel()
	now, move := movable()
	s := startAt(t, now)
	f := storetest.Club(t, s.store, "bell")
	task := f.Finish(t, s.store, practice.Test, 6)
	p := s.as(f.Student)
	for i := range 5 {
		f.Played(t, s.store, task, i, 1, practice.Clean, noon.Add(time.Duration(i-10)*time.Minute), 30)
	}
	check := url.Values{"ending": {"KRK"}, "stage": {"mate"}}
	body := p.get("/today").body
	if !strings.Contains(body, "Rook: the test is passed.") || !strings.Contains(body, "once more in a week.") ||
		strings.Contains(body, "still yours?") {
		t.Error("after the test")
	}
	if got := p.post("/today/check", check); got.header.Get("Location") != "/today" {
		t.Errorf("a check begins too early: %s", got.header.Get("Location"))
	}
	move(7 * 24 * time.Hour)
	p = s.as(f.Student)
	if body = p.get("/today").body; !strings.Contains(body, "Rook: still yours?") ||
		!strings.Contains(body, "1 start, last checked 7 days ago") {
		t.Error("a week later no check is due")
	}
	got := p.post("/today/check", check)
	var id game.GameID
	if _, err := fmt.Sscanf(got.header.Get("Location"), "/play/%d", &id); err != nil {
		t.Fatalf("the check: %d to %s", got.status, got.header.Get("Location"))
	}
	if body = p.get("/today").body; !strings.Contains(body, "Go on") {
		t.Error("the check under way is not offered")
	}
	f.Played(t, s.store, task, 5, 1, practice.Clean, now(), 30)
	for name, c := range map[string]struct {
		body string
		want []string
	}{
		"today":    {p.get("/today").body, []string{"Rook mate is yours.", "once more in three weeks.", "Mate, mastered", "A bell stays for ever."}},
		"stages":   {s.as(f.Coach2).stages(), []string{`aria-label="mastered"`}},
		"student":  {s.as(f.Coach2).get(fmt.Sprintf("/students/%d", f.Student.Person)).body, []string{"Mate, mastered", "1 of 3 stages mastered"}},
		"guardian": {s.as(f.Guardian).get("/report").body, []string{"Mate with king and rook, the mate: mastered; the bell stays. We&#39;ll ask once more in three weeks.", "1 of 3 parts mastered"}},
	} {
		for _, want := range c.want {
			if !strings.Contains(c.body, want) {
				t.Errorf("%s says nothing of %q", name, want)
			}
		}
	}
	move(21 * 24 * time.Hour)
	f.Played(t, s.store, task, 5, 2, practice.NotWon, now(), 30)
	body = s.as(f.Student).get("/today").body
	for _, want := range []string{"Rook needs a game", "A bit of it is forgotten. That is quite normal.",
		"One short game brings it back.", "Mate, mastered"} {
		if !strings.Contains(body, want) {
			t.Errorf("after a miss today says nothing of %q", want)
		}
	}
}
