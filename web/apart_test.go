package web_test

import (
	"fmt"
	"net/url"
	"strings"
	"testing"

	"drover/game"
	"drover/store/storetest"
)

// TestEndedGameIsItsPlayersOwn: the review and the file of an ended game open for
// its student and the club's coaches, and for no other child.
func TestEndedGameIsItsPlayersOwn(t *testing.T) {
	t.Parallel()
	s := start(t)
	f, other := storetest.Club(t, s.store, "own"), storetest.Club(t, s.store, "foreign")
	end := fmt.Sprintf("/play/%d/end", f.Game)
	if got := s.as(f.Student2).post(end, url.Values{"then": {"again"}}); got.status != 404 {
		t.Errorf("another child ends it: %d", got.status)
	}
	if got := s.as(f.Student).post(end, url.Values{"then": {"again"}}); got.status != 303 {
		t.Fatalf("its student ends it: %d", got.status)
	}
	for _, path := range []string{fmt.Sprintf("/games/%d", f.Game), fmt.Sprintf("/games/%d.pgn", f.Game)} {
		for _, c := range []struct {
			who    string
			a      game.Actor
			status int
		}{
			{"its student", f.Student, 200}, {"the coach", f.Coach, 200}, {"another coach", f.Coach2, 200},
			{"another child", f.Student2, 404},
			{"the guardian", f.Guardian, 403}, {"another guardian", f.Guardian2, 403}, {"a coach elsewhere", other.Coach, 404},
			{"a child elsewhere", other.Student, 404},
		} {
			if got := s.as(c.a).get(path); got.status != c.status {
				t.Errorf("%s as %s: %d, want %d", path, c.who, got.status, c.status)
			}
		}
	}
}

// TestPagesNameNoNeighbour: what a child and a guardian read is of that child
// alone, and a coach's page of one child lists its own guardian and games.
func TestPagesNameNoNeighbour(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "street")
	for _, c := range []struct {
		path    string
		a       game.Actor
		own, no []string
	}{
		{"/report", f.Guardian, []string{f.Student.Name}, []string{f.Student2.Name}},
		{"/report", f.Guardian2, []string{f.Student2.Name}, []string{f.Student.Name}},
		{"/today", f.Student2, []string{fmt.Sprint(f.Task2)}, []string{f.Student.Name,
			fmt.Sprintf(`name="assignment" value="%d"`, f.Task)}},
		{fmt.Sprintf("/students/%d", f.Student.Person), f.Coach2, []string{fmt.Sprintf(`/games/%d"`, f.Game)},
			[]string{f.Guardian2.Name, fmt.Sprintf(`/games/%d"`, f.Game2)}},
	} {
		body := s.as(c.a).get(c.path).body
		for _, own := range c.own {
			if !strings.Contains(body, own) {
				t.Errorf("%s for %s does not name %s", c.path, c.a.Name, own)
			}
		}
		for _, no := range c.no {
			if strings.Contains(body, no) {
				t.Errorf("%s for %s names %s", c.path, c.a.Name, no)
			}
		}
	}
}
