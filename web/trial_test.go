package web_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"drover/store/storetest"
)

// TestTrial: a coach who tries a drill out has a board page of the coach's own; for
// everybody else, another coach of the club too, there is no such game.
func TestTrial(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "trial")
	p := s.as(f.Coach)
	drill := fmt.Sprintf("/drills/%d", f.Drill.ID)
	if page := p.get(drill); !strings.Contains(page.body, `action="`+drill+`/play"`) {
		t.Fatal("the drill's page does not offer it")
	}
	got := p.post(drill+"/play", fields())
	to := got.header.Get("Location")
	if got.status != http.StatusSeeOther || !strings.HasPrefix(to, "/play/") {
		t.Fatalf("%d to %q", got.status, to)
	}
	if again := p.post(drill+"/play", fields()).header.Get("Location"); again != to {
		t.Errorf("a second press leads to %s, the first to %s", again, to)
	}
	id := strings.TrimPrefix(to, "/play/")
	page := p.get(to)
	if page.status != http.StatusOK || !strings.Contains(page.body, `href="`+drill+`" aria-label="Back to the drill"`) ||
		strings.Contains(page.body, `href="/tell`) || strings.Contains(page.body, "Not you?") {
		t.Errorf("%d: the header is a child's", page.status)
	}
	for _, c := range []struct {
		who  *person
		path string
		want int
	}{
		{p, "/live/games/" + id, http.StatusUpgradeRequired}, {p, "/watch/" + id, 404}, {p, "/games/" + id, 404}, {p, "/games/" + id + ".pgn", 404},
		{s.as(f.Coach2), to, 404}, {s.as(f.Coach2), "/live/games/" + id, 404}, {s.as(f.Coach2), "/watch/" + id, 404},
		{s.as(f.Coach2), "/games/" + id, 404}, {s.as(f.Student), to, 404}, {s.as(f.Student), "/live/games/" + id, 404},
	} {
		if got := c.who.get(c.path); got.status != c.want {
			t.Errorf("%s: %d, want %d", c.path, got.status, c.want)
		}
	}
	if got := s.as(f.Coach2).post(to+"/end", fields("then", "again")); got.status != http.StatusNotFound {
		t.Errorf("another coach ends it: %d", got.status)
	}
	if roster := p.get("/students"); strings.Contains(roster.body, "/watch/"+id) {
		t.Error("the roster has it among the games that are played now")
	}
	if next := p.post(to+"/end", fields("then", "again")).header.Get("Location"); !strings.HasPrefix(next, "/play/") || next == to {
		t.Errorf("another try leads to %q", next)
	}
	if back := p.post(to+"/end", fields("then", "today")).header.Get("Location"); back != drill {
		t.Errorf("the way back leads to %q", back)
	}
}
