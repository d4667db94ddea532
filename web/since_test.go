package web_test

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"drover/game/progress"
	"drover/store/storetest"
)

// TestSinceIsTheFirstPage: a coach comes to what needs them. A line is put off for a week
// with its own button, for the other coach, too; an empty page says so kindly; nothing says
// whether a concern exists.
func TestSinceIsTheFirstPage(t *testing.T) {
	t.Parallel()
	now, pass := movable()
	s := startAt(t, now)
	f := storetest.Club(t, s.store, "since")
	p := s.as(f.Coach)
	if got := p.get("/"); got.header.Get("Location") != "/since" {
		t.Errorf("the first page is %s", got.header.Get("Location"))
	}
	if body := p.get("/since").body; !strings.Contains(body, "Nothing waits for you.") || !strings.Contains(body, "never listed here") {
		t.Error("the empty page")
	}
	pass(8 * 24 * time.Hour)
	storetest.Exec(t, storetest.Address(s.store), `insert into factors values ($1, $2, 'sealed', 7, now())`, f.Coach.Club, f.Coach.Person)
	p, other := s.as(f.Coach), s.as(f.Coach2)
	body := p.get("/since").body
	if !strings.Contains(body, "Silent for seven days: ") {
		t.Fatal("silent children are not there")
	}
	form := fields("line", pageForms(t, body)["/since/later"]["line"]) // of one of the two
	if got := p.post("/since/later", form); got.header.Get("Location") != "/since" {
		t.Fatalf("%d", got.status)
	}
	for _, who := range []*person{p, other} {
		if n := strings.Count(who.get("/since").body, "<h3>"); n != 1 {
			t.Errorf("%d lines are left", n)
		}
	}
	if !strings.Contains(other.get("/since").body, "put off for a week") {
		t.Error("the other coach does not read who did it")
	}
	pass(15 * 24 * time.Hour)
	if n := strings.Count(s.as(f.Coach2).get("/since").body, "<h3>Silent for seven days: "); n != 1 {
		t.Errorf("after the week there are %d lines", n)
	}
	for _, bad := range []string{"none 1 1 ", "silent x 1 ", "silent 1 x ", "silent 99999999 1 ", "silent"} {
		good := fmt.Sprintf("%s %d 1 ", progress.LineSilent, f.Student.Person)
		if got := s.as(f.Coach2).post("/since/later", url.Values{"line": {good, bad}}); got.status != http.StatusNotFound {
			t.Errorf("%s: %d", bad, got.status)
		}
	}
}
