package web_test

import (
	"fmt"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/store/storetest"
	"drover/web"
)

// TestSlowClientsMeetLimits: whoever sends or reads slowly, or very much, is cut off.
func TestSlowClientsMeetLimits(t *testing.T) {
	t.Parallel()
	h := start(t).web.HTTPServer()
	got := []time.Duration{h.ReadHeaderTimeout, h.ReadTimeout, h.WriteTimeout, h.IdleTimeout}
	want := []time.Duration{10 * time.Second, 30 * time.Second, time.Minute, 2 * time.Minute}
	for i := range want {
		if got[i] != want[i] {
			t.Errorf("limit %d is %s, want %s", i, got[i], want[i])
		}
	}
	if h.MaxHeaderBytes != 16384 {
		t.Errorf("headers of %d bytes are read", h.MaxHeaderBytes)
	}
}

// TestFormsHaveTheirSize: a form is read up to 64 KiB, one with pasted positions up to
// 1 MiB.
func TestFormsHaveTheirSize(t *testing.T) {
	t.Parallel()
	s := start(t)
	p := s.as(storetest.Club(t, s.store, "size").Coach)
	for _, c := range []struct {
		path, field string
		bytes, want int
	}{
		{"/students", "name", 60 << 10, 422}, {"/students", "name", 70 << 10, 413},
		{"/drills", "fens", 70 << 10, 422}, {"/drills", "fens", 1000 << 10, 422}, {"/drills", "fens", 1100 << 10, 413},
	} {
		if got := p.post(c.path, url.Values{c.field: {strings.Repeat("n", c.bytes)}}); got.status != c.want {
			t.Errorf("%d bytes to %s: %d, want %d", c.bytes, c.path, got.status, c.want)
		}
	}
}

// TestProbesAndFilesAreUnderAnyName: what a machine asks for is answered where it is
// asked, whatever the name; only pages lead to the right one.
func TestProbesAndFilesAreUnderAnyName(t *testing.T) {
	t.Parallel()
	p := behind(t).as(game.Actor{})
	for path, want := range map[string]int{
		"/healthz": 200, "/readyz": 200, "/here": 200, "/static/none.css": 404, "/live/games/1": 403, "/in": 307,
		"/nothing-here": 307,
	} {
		if got := p.do(http.MethodGet, path, nil, by("192.0.2.7:8080", "")); got.status != want {
			t.Errorf("%s: %d, want %d", path, got.status, want)
		}
	}
}

// TestWhatChangesNothingIsNoForm: a request that changes nothing by its method needs no
// Origin, and leads to the right address; one that does is never sent on.
func TestWhatChangesNothingIsNoForm(t *testing.T) {
	t.Parallel()
	p := behind(t).as(game.Actor{})
	for method, want := range map[string][2]int{ // there is nothing but GET; and under a wrong name
		http.MethodGet: {200, 307}, http.MethodHead: {404, 307}, http.MethodOptions: {404, 307},
		http.MethodPost: {403, 403}, http.MethodPut: {403, 403}, http.MethodDelete: {403, 403},
	} {
		for i, host := range []string{"club.example", "www.club.example"} {
			bare := func(r *http.Request) { r.Host = host; r.Header.Del("Origin") }
			if got := p.do(method, "/in", nil, bare); got.status != want[i] {
				t.Errorf("%s at %s: %d, want %d", method, host, got.status, want[i])
			}
		}
	}
}

// TestOnlyANamedProxyTellsTheScheme: an https site leads on what a named proxy got by
// plain http; the word of anybody else counts for nothing, and at a site of plain http
// there is nowhere to lead to.
func TestOnlyANamedProxyTellsTheScheme(t *testing.T) {
	t.Parallel()
	named := []string{"127.0.0.1/32"}
	for _, c := range []struct {
		address string
		proxies []string
		want    int
	}{
		{"https://club.example", named, 307}, {"https://club.example", nil, 200},
		{"https://club.example", []string{"192.0.2.0/24"}, 200}, {"http://club.example", named, 200},
	} {
		s := startWith(t, time.Now, web.Config{URL: c.address, Proxies: c.proxies})
		if got := s.as(game.Actor{}).do(http.MethodGet, "/in", nil, by("club.example", "http")); got.status != c.want {
			t.Errorf("%s, proxies %v: %d, want %d", c.address, c.proxies, got.status, c.want)
		}
	}
}

// TestProxyIsSaidWhereItIsWrong: either header tells of a proxy that is not named;
// without both, and where a named one does all as the settings say, nothing is said.
func TestProxyIsSaidWhereItIsWrong(t *testing.T) {
	t.Parallel()
	const unnamed, https = "DROVER_PROXIES does not name", "serves https and DROVER_URL is http"
	plain, secure := "http://club.example", "https://club.example"
	for name, c := range map[string]struct {
		address        string
		named          bool
		header, value  string
		unnamed, https int
	}{
		"no proxy":              {plain, false, "Accept", "*/*", 0, 0},
		"an address":            {plain, false, "X-Forwarded-For", "203.0.113.9", 1, 0},
		"a scheme":              {plain, false, "X-Forwarded-Proto", "http", 1, 0},
		"named, by http":        {plain, true, "X-Forwarded-Proto", "http", 0, 0},
		"named, https in front": {plain, true, "X-Forwarded-Proto", "https", 0, 1},
		"named, as it should":   {secure, true, "X-Forwarded-Proto", "https", 0, 0},
	} {
		cfg := web.Config{URL: c.address}
		if c.named {
			cfg.Proxies = []string{"127.0.0.1/32"}
		}
		s := startWith(t, time.Now, cfg)
		s.as(game.Actor{}).do(http.MethodGet, "/in", nil, by("club.example", ""), func(r *http.Request) {
			r.Header.Set(c.header, c.value)
		})
		if a, b := s.log.count(unnamed), s.log.count(https); a != c.unnamed || b != c.https {
			t.Errorf("%s: said %d and %d times", name, a, b)
		}
	}
}

// TestOneHouseholdIsOneNetwork: many addresses of one /64 are counted as one network, so
// that nobody has more tries by having more addresses; another network has its own count.
func TestOneHouseholdIsOneNetwork(t *testing.T) {
	t.Parallel()
	began := time.Now()
	now := func() time.Time { return began } // so that the waits do not run out on a slow machine
	for address, want := range map[string]int{"2001:db8:1:1::%d": 429, "2001:db8:1:%d::1": 403, "192.0.2.%d": 403} {
		p := startAt(t, now, "127.0.0.1/32").as(game.Actor{})
		var got answer
		for i := range 6 {
			got = p.do(http.MethodPost, "/in/card", fields("number", "7", "w1", "a", "w2", "b", "w3", "c", "w4", "d"),
				from(fmt.Sprintf(address, i+1)))
		}
		if got.status != want {
			t.Errorf("the sixth of %s: %d, want %d", address, got.status, want)
		}
	}
}

// TestSuccessIsNoFailure: who signs in well again and again, each time in a browser that
// nobody knows, is never told to wait.
func TestSuccessIsNoFailure(t *testing.T) {
	t.Parallel()
	began := time.Now()
	s := startAt(t, func() time.Time { return began }) // so that nothing is forgotten by itself
	for path, way := range ways(storetest.Club(t, s.store, "well")) {
		for i := range 7 {
			if got := s.as(game.Actor{}).post(path, way.right); got.status != http.StatusSeeOther {
				t.Errorf("%s, time %d: %d", path, i+1, got.status)
			}
		}
	}
}

// TestSharedTabletKnowsTheLastEight: a browser in which nine children have signed in
// keeps a token for each of the last eight, and all of them are good.
func TestSharedTabletKnowsTheLastEight(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "shared")
	p := s.as(game.Actor{})
	var numbers []string
	for i := range store.MostDevices + 1 {
		card, err := s.store.AddStudent(ctx, f.Coach, club.NewStudent{Name: fmt.Sprint("Child ", i), ConsentBy: "Guardian",
			ConsentOn: time.Now().AddDate(0, 0, -1), Consent: true, Wording: 8})
		if err != nil {
			t.Fatal(err)
		}
		number := fmt.Sprint(card.Student.Number)
		numbers = append(numbers, number)
		w := card.Words
		if got := p.post("/in/card", fields("number", number, "w1", w[0], "w2", w[1], "w3", w[2], "w4", w[3])); got.status != 303 {
			t.Fatalf("child %d: %d", i, got.status)
		}
	}
	var tokens []club.Secret
	for _, text := range strings.Split(p.cookie("drover-seen").Value, "~") {
		tokens = append(tokens, club.Secret(text))
	}
	if len(tokens) != store.MostDevices {
		t.Errorf("%d tokens", len(tokens))
	}
	for i, number := range numbers {
		known, err := s.store.Device(ctx, tokens, number, "")
		if err != nil || (known != nil) != (i > 0) {
			t.Errorf("child %d is known: %v, %v", i, known != nil, err)
		}
	}
}

// TestOneSessionInABrowser: whoever signs in ends the session that the browser had;
// signing out takes the cookie away; and only those who type something to get in are
// remembered.
func TestOneSessionInABrowser(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "one")
	for name, c := range map[string]struct {
		path       string
		form       url.Values
		remembered bool
	}{
		"a card": {"/in/card", ways(f)["/in/card"].right, true}, "a coach": {"/in/coach", ways(f)["/in/coach"].right, true},
		"a link": {"/open", fields("token", string(f.Link), "go", "on"), false},
	} {
		p := s.as(f.Student2)
		before := p.cookie("drover").Value
		if got := p.post(c.path, c.form); got.status != http.StatusSeeOther {
			t.Fatalf("%s: %d", name, got.status)
		}
		after := p.cookie("drover").Value
		if err := second(s.store.Session(ctx, club.Secret(before))); game.KindOf(err) != game.Missing {
			t.Errorf("%s: the session of before goes on: %v", name, err)
		}
		if err := second(s.store.Session(ctx, club.Secret(after))); err != nil {
			t.Errorf("%s: no new session: %v", name, err)
		}
		if seen := p.cookie("drover-seen") != nil; seen != c.remembered {
			t.Errorf("%s: the browser is remembered: %v", name, seen)
		}
		if got := p.post("/out", url.Values{}); got.status != http.StatusSeeOther || p.cookie("drover") != nil {
			t.Errorf("%s: the cookie stays after signing out: %d, %v", name, got.status, p.cookie("drover"))
		}
	}
}

// TestWhatLeadsElsewhereIsNotNoted: an answer with a page is noted before its first byte
// and once; one that leads elsewhere shows nothing, and is not; without the note nothing
// is sent.
func TestWhatLeadsElsewhereIsNotNoted(t *testing.T) {
	t.Parallel()
	for status, noted := range map[int]int{200: 1, 299: 1, 300: 0, 303: 0, 399: 0, 400: 1, 422: 1, 500: 1} {
		for _, fails := range []error{nil, game.Fail(game.Away, "Not now.")} {
			times := 0
			w := httptest.NewRecorder()
			n := web.Noting(w, func() error { times++; return fails })
			n.WriteHeader(status)
			_, err := n.Write([]byte("page"))
			sent := noted == 0 || fails == nil
			if times != noted || err != nil || (w.Body.Len() > 0) != sent || sent != (w.Code == status) && status != 200 {
				t.Errorf("%d, %v: noted %d times, %d, %q, %v", status, fails, times, w.Code, w.Body, err)
			}
		}
	}
}

// TestProblemsSayWhatToDo: each kind of failure says what comes next, and a failure of
// ours is in the log with the number that the page shows.
func TestProblemsSayWhatToDo(t *testing.T) {
	t.Parallel()
	address := storetest.URL(t)
	s := node(t, address)
	f := storetest.Club(t, s.store, "problem")
	coach, stranger := s.as(f.Coach), s.as(game.Actor{})
	const missing, ours = "Go back, or start from the first page.", "tell the person who runs this site"
	says := func(name string, got answer, status int, want, not string) {
		t.Helper()
		if got.status != status || !strings.Contains(got.body, want) || strings.Contains(got.body, not) {
			t.Errorf("%s: %d, %s", name, got.status, got.body)
		}
	}
	says("missing", coach.get("/students/999999"), 404, missing, ours)
	says("signed out", stranger.post("/students", fields()), 403, `action="/in/coach"`, missing)
	if n := s.log.count("request failed"); n != 0 {
		t.Errorf("%d lines of the log for what was not there", n)
	}
	storetest.Exec(t, address, `alter table drills rename to away`)
	got := coach.get("/drills")
	says("ours", got, 500, ours, missing)
	if id := got.header.Get("X-Request-Id"); len(id) != 10 || !strings.Contains(got.body, id) ||
		s.log.count("request="+id) != 1 || s.log.count("route=/drills") != 1 {
		t.Errorf("the number %q is not in page and log", id)
	}
}

// second is the error of a call that gives something beside it.
func second[T any](_ T, err error) error { return err }
