package web_test

import (
	"cmp"
	"context"
	"io"
	"log/slog"
	"net"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"drover/game"
	"drover/game/ending"
	"drover/game/live"
	"drover/solver"
	"drover/store"
	"drover/store/storetest"
	"drover/web"
)

var (
	ctx   = context.Background()
	judge = ending.NewJudge(solver.NewTables())
)

func TestMain(m *testing.M) {
	if err := judge.Ready(ctx); err != nil {
		panic(err)
	}
	os.Exit(storetest.Main(m))
}

// logged is what a site has logged.
type logged struct {
	mu   sync.Mutex
	text strings.Builder
}

// Write implements [io.Writer].
func (l *logged) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.Write(p)
}

// count says how often a text is in the log.
func (l *logged) count(text string) int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return strings.Count(l.text.String(), text)
}

// site is a running server on a database of its own.
type site struct {
	*testing.T
	base  string
	store *store.Store
	web   *web.Server
	hub   *live.Hub
	log   *logged
	now   game.Clock
}

func start(t *testing.T, proxies ...string) *site {
	t.Helper()
	return startAt(t, time.Now, proxies...)
}

// startAt is start with a clock of the test's own.
func startAt(t *testing.T, now game.Clock, proxies ...string) *site {
	t.Helper()
	return startWith(t, now, web.Config{Proxies: proxies})
}

// startWith is startAt with settings; without an address it is the test's own.
func startWith(t *testing.T, now game.Clock, cfg web.Config) *site {
	t.Helper()
	return startOn(t, storetest.New(t, now), now, cfg)
}

// startOn is startWith on a store that is there.
func startOn(t *testing.T, st *store.Store, now game.Clock, cfg web.Config) *site {
	t.Helper()
	var lc net.ListenConfig
	l, err := lc.Listen(ctx, "tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	s := &site{T: t, base: "http://" + l.Addr().String(), store: st, log: &logged{}, now: now}
	logger := slog.New(slog.NewTextHandler(s.log, nil))
	s.hub = live.New(st, judge, now)
	cfg.URL = cmp.Or(cfg.URL, s.base)
	if s.web, err = web.New(cfg, st, s.hub, judge, logger, now); err != nil {
		t.Fatal(err)
	}
	server := s.web.HTTPServer()
	done := make(chan struct{})
	go func() { defer close(done); _ = server.Serve(l) }()
	t.Cleanup(func() {
		short, cancel := context.WithTimeout(ctx, 10*time.Second)
		defer cancel()
		s.web.Drain(short)
		_ = server.Shutdown(short)
		<-done
		s.hub.Close()
	})
	return s
}

// working runs the site's jobs until the test ends.
func (s *site) working() {
	working, stop := context.WithCancel(ctx)
	ended := make(chan struct{})
	go func() { defer close(ended); s.web.Work(working) }()
	s.Cleanup(func() { stop(); <-ended })
}

// person is a browser with a session, or without one.
type person struct {
	*site
	client *http.Client
}

// as signs a person in; nobody for a zero actor.
func (s *site) as(a game.Actor) *person {
	s.Helper()
	jar, _ := cookiejar.New(nil) // never fails without options
	p := &person{s, &http.Client{Jar: jar, Timeout: 20 * time.Second, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
	if a.Person != 0 {
		token, _, err := s.store.SignIn(ctx, a)
		if err != nil {
			s.Fatal(err)
		}
		u, _ := url.Parse(s.base)
		jar.SetCookies(u, []*http.Cookie{{Name: "drover", Value: string(token)}})
	}
	return p
}

type answer struct {
	status int
	body   string
	header http.Header
}

func (p *person) do(method, path string, form url.Values, change ...func(*http.Request)) answer {
	p.Helper()
	var body io.Reader
	if form != nil {
		body = strings.NewReader(form.Encode())
	}
	r, err := http.NewRequestWithContext(ctx, method, p.base+path, body)
	if err != nil {
		p.Fatal(err)
	}
	if method == http.MethodPost {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Origin", p.base)
	}
	for _, f := range change {
		f(r)
	}
	res, err := p.client.Do(r)
	if err != nil {
		p.Fatal(err)
	}
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	if err != nil {
		p.Fatal(err)
	}
	return answer{res.StatusCode, string(text), res.Header}
}

func (p *person) get(path string) answer { p.Helper(); return p.do(http.MethodGet, path, nil) }

// stages is the stage view after the jobs of all games that have ended.
func (p *person) stages() string {
	p.Helper()
	if _, err := p.store.RefreshOverviews(ctx); err != nil {
		p.Fatal(err)
	}
	return p.get("/stages").body
}

func (p *person) post(path string, form url.Values) answer {
	p.Helper()
	return p.do(http.MethodPost, path, form)
}

// until asks again and again until something is so.
func (s *site) until(what string, so func() bool) {
	s.Helper()
	tick := time.NewTicker(10 * time.Millisecond)
	defer tick.Stop()
	for end := time.Now().Add(30 * time.Second); !so(); <-tick.C {
		if time.Now().After(end) {
			s.Fatalf("never: %s", what)
		}
	}
}
