package web_test

import (
	"context"
	"fmt"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"drover/game/club"
	"drover/game/live"
	"drover/store/storetest"
	"drover/web"
)

// TestOpenAsksFirst: a card or a link that is opened where somebody is signed in
// asks before it replaces the session, and names nobody else.
func TestOpenAsksFirst(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "asks")
	p := s.as(f.Student)
	card, err := s.store.ReplaceCard(ctx, f.Coach, f.Student2.Person)
	if err != nil {
		t.Fatal(err)
	}
	got := p.post("/open", url.Values{"token": {string(card.Token)}})
	if got.status != http.StatusConflict || strings.Contains(got.body, f.Student2.Name) || !strings.Contains(got.body, string(card.Token)) ||
		!strings.Contains(got.body, f.Student.Name+" is signed in here") || !strings.Contains(got.body, "Do you want to sign out and go on?") {
		t.Errorf("the page does not ask: %d", got.status)
	}
	if got := p.post("/open", url.Values{"token": {string(f.Card2.Token)}}); got.status != http.StatusGone {
		t.Errorf("a card that has ended asks first: %d", got.status)
	}
	if got := p.post("/open", url.Values{"token": {string(f.Card.Token)}}); got.header.Get("Location") != "/today" {
		t.Errorf("the own card asks: %d to %s", got.status, got.header.Get("Location"))
	}
	if got := p.get("/today"); !strings.Contains(got.body, "Hello "+f.Student.Name) {
		t.Error("the session was replaced without being asked")
	}
	if got := p.post("/open", url.Values{"token": {string(card.Token)}, "go": {"on"}}); got.status != http.StatusSeeOther {
		t.Fatalf("%d", got.status)
	}
	if got := p.get("/today"); !strings.Contains(got.body, "Hello "+f.Student2.Name) {
		t.Error("the new session is not the other child's")
	}
}

// TestSignOutOnEveryPage: each page of a person who is signed in, the board
// included, has the way out, which clears what the browser has stored of pages.
func TestSignOutOnEveryPage(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "out")
	student, coach := s.as(f.Student), s.as(f.Coach)
	for path, p := range map[string]*person{
		"/today": student, fmt.Sprintf("/play/%d", f.Game): student, "/tell": student, "/report": s.as(f.Guardian),
		"/students": coach, "/stages": coach, "/drills": coach, "/drills/new": coach,
		fmt.Sprintf("/watch/%d", f.Game): coach, fmt.Sprintf("/students/%d", f.Student.Person): coach,
		fmt.Sprintf("/drills/%d", f.Drill.ID): coach,
	} {
		if body := p.get(path).body; !strings.Contains(body, `action="/out"`) {
			t.Errorf("%s has no way out", path)
		}
	}
	if got := student.post("/out", url.Values{}); got.header.Get("Clear-Site-Data") != `"cache"` {
		t.Errorf("what the browser stored stays: %v", got.header)
	}
}

// TestTooMuchTextComesBack: text that is too large stands in its field again, with
// what to do.
func TestTooMuchTextComesBack(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "much")
	text := strings.Repeat(storetest.RookStart+"\n", 5000)
	form := url.Values{"ending": {"KRK"}, "from": {"centralise"}, "to": {"mate"}, "defender": {"longest"},
		"mode": {"test"}, "count": {"4"}, "kind": {"pasted"}, "fens": {text}, "seed": {"5"}, "do": {"assign"}}
	got := s.as(f.Coach).post("/drills", form)
	if got.status != http.StatusUnprocessableEntity || !strings.Contains(got.body,
		"Take some lines out: nothing is lost.") || strings.Count(got.body, storetest.RookStart) < 5000 {
		t.Errorf("%d, %d lines come back", got.status, strings.Count(got.body, storetest.RookStart))
	}
}

// TestHSTS: names below a host of the club's own are bound to https too; those below
// a whole domain, which may have other sites, are not (OWASP ASVS 5.0, 3.4.1).
func TestHSTS(t *testing.T) {
	t.Parallel()
	st := storetest.New(t, time.Now)
	for address, want := range map[string]string{
		"https://drover.club.example.org": "max-age=31536000; includeSubDomains",
		"https://example.org":             "max-age=31536000",
		"https://club.co.uk":              "max-age=31536000",
		"https://drover.club.co.uk":       "max-age=31536000; includeSubDomains",
		"http://127.0.0.1:8080":           "",
	} {
		site, err := web.New(web.Config{URL: address}, st, live.New(st, judge, time.Now), judge,
			slog.New(slog.DiscardHandler), time.Now)
		if err != nil {
			t.Fatal(err)
		}
		w := httptest.NewRecorder()
		site.Handler().ServeHTTP(w, httptest.NewRequestWithContext(ctx, http.MethodGet, "/healthz", nil))
		if got := w.Header().Get("Strict-Transport-Security"); got != want {
			t.Errorf("%s: %q, want %q", address, got, want)
		}
	}
}

// TestManyAtOnceAreToldToWait: of a crowd of strangers that signs in at once most are
// told to come back, with when; a browser that knows its person is let in.
func TestManyAtOnceAreToldToWait(t *testing.T) { // alone: all share the queue
	s := start(t)
	f := storetest.Club(t, s.store, "crowd")
	known := s.as(f.Coach)
	if got := known.post("/in/coach", url.Values{"email": {f.Email}, "password": {f.Password}}); got.status != http.StatusSeeOther {
		t.Fatalf("%d", got.status)
	}
	defer club.Strangers.Fill()()
	got := s.as(f.Student2).post("/in/coach", url.Values{"email": {"no@body.example"}, "password": {"wrong"}})
	if got.status != http.StatusTooManyRequests || got.header.Get("Retry-After") == "" ||
		!strings.Contains(got.body, "Very many are signing in") {
		t.Errorf("a stranger in a crowd: %d, Retry-After %q", got.status, got.header.Get("Retry-After"))
	}
	if got := known.post("/in/coach", url.Values{"email": {f.Email}, "password": {f.Password}}); got.status != http.StatusSeeOther {
		t.Errorf("the browser that knows its person: %d", got.status)
	}
}

// TestAbortedRequestIsNoError: a request that its browser gave up fails, which is no
// error of ours; the same failure with somebody waiting is one.
func TestAbortedRequestIsNoError(t *testing.T) {
	t.Parallel()
	address := storetest.URL(t)
	s := node(t, address)
	f := storetest.Club(t, s.store, "aborted")
	coach := s.as(f.Coach)
	base, _ := url.Parse(s.base)
	gone, cancel := context.WithCancel(ctx)
	cancel()
	r := httptest.NewRequestWithContext(gone, http.MethodGet, s.base+"/students", nil)
	for _, c := range coach.client.Jar.Cookies(base) {
		r.AddCookie(c)
	}
	w := httptest.NewRecorder()
	s.web.Handler().ServeHTTP(w, r)
	if n := s.log.count("request failed"); w.Code == http.StatusOK || n != 0 {
		t.Errorf("aborted: %d, %d lines of the log", w.Code, n)
	}
	storetest.Exec(t, address, `alter table people rename to away`)
	if got, n := coach.get("/students"), s.log.count("request failed"); got.status < 500 || n != 1 {
		t.Errorf("awaited: %d, %d lines of the log", got.status, n)
	}
}

// TestRefusedCommandsFillNoLog: a board whose commands cannot be written hears so
// each time, and the log says it once.
func TestRefusedCommandsFillNoLog(t *testing.T) {
	t.Parallel()
	address := storetest.URL(t)
	s := node(t, address)
	f := storetest.Club(t, s.store, "log")
	board := s.as(f.Student).board(f.Game)
	board.next()
	refuse(t, address, "true")
	for i := range 20 {
		board.say(fmt.Sprintf(`{"do":"helped","id":"log-%d"}`, i))
		if got := board.next(); got["no"] != "away" {
			t.Fatalf("command %d: %v", i, got)
		}
	}
	if n := s.log.count("msg=command"); n != 1 {
		t.Errorf("%d lines of the log", n)
	}
}
