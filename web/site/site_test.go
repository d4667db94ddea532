package site

import (
	"context"
	"errors"
	"io"
	"log/slog"
	"net/http"
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"
	"time"

	"drover/game"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
)

// TestID: an id in an address is a whole number from 1; nothing else is looked up.
func TestID(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]game.GameID{
		"1": 1, "42": 42, "9223372036854775807": 1<<63 - 1, "0": 0, "-1": 0, "": 0, "x": 0, "1x": 0, "1.5": 0,
		"9223372036854775808": 0,
	} {
		route := chi.NewRouteContext()
		route.URLParams.Add("id", text)
		r := httptest.NewRequestWithContext(context.WithValue(t.Context(), chi.RouteCtxKey, route), http.MethodGet, "/", nil)
		got, err := ID[game.GameID](r, "id")
		if got != want || (want == 0) != (game.KindOf(err) == game.Missing) || (want != 0) != (err == nil) {
			t.Errorf("%q: %d, %v", text, got, err)
		}
	}
}

// TestSaidAgain: a thing is said again after its pause and not before it, without a pause
// never, and each thing by itself.
func TestSaidAgain(t *testing.T) {
	t.Parallel()
	var s said
	began := time.Now()
	once, often, other := saidKey{what: "once"}, saidKey{what: "often"}, saidKey{what: "often", a: 1}
	for i, c := range []struct {
		key   saidKey
		pause time.Duration
		after time.Duration
		want  bool
	}{
		{once, 0, 0, true}, {once, 0, time.Hour, false},
		{often, time.Minute, 0, true}, {often, time.Minute, time.Minute - 1, false}, {other, time.Minute, 1, true},
		{often, time.Minute, time.Minute, true}, {often, time.Minute, time.Minute + 1, false},
		{often, time.Minute, 2*time.Minute + 1, true},
	} {
		if got := s.again(c.key, c.pause, began.Add(c.after)); got != c.want {
			t.Errorf("step %d: %v", i, got)
		}
	}
}

// TestSaidForgetsAtALimit: what was said takes no more memory than for so many things;
// then all of them may be said once more.
func TestSaidForgetsAtALimit(t *testing.T) {
	t.Parallel()
	var s said
	now := time.Now()
	for i := range int64(mostSaid) {
		if !s.again(saidKey{a: i}, 0, now) {
			t.Fatalf("%d was said before", i)
		}
	}
	if s.again(saidKey{a: 0}, 0, now) || len(s.at) != mostSaid {
		t.Errorf("the first is forgotten at %d", len(s.at))
	}
	if !s.again(saidKey{a: -1}, 0, now) || len(s.at) != 1 {
		t.Errorf("%d are remembered after one too many", len(s.at))
	}
}

// plainSite is a site with a log of the test's own.
func plainSite(log io.Writer, address string) *Site {
	base, _ := url.Parse(address)
	return New(base, nil, nil, nil, slog.New(slog.NewTextHandler(log, nil)), time.Now)
}

// TestDraw: an answer to one who came too often says when to come back, unless it is said
// already, and no other does; a page that cannot be drawn is in the log while somebody
// waits for it.
func TestDraw(t *testing.T) {
	t.Parallel()
	gone, cancel := context.WithCancel(t.Context())
	cancel()
	page := templ.ComponentFunc(func(_ context.Context, w io.Writer) error {
		_, err := io.WriteString(w, "page")
		return err
	})
	broken := templ.ComponentFunc(func(context.Context, io.Writer) error { return errors.New("broken") })
	for name, c := range map[string]struct {
		ctx               context.Context
		status            int
		before            string
		page              templ.Component
		retry, log, shown string
	}{
		"well":           {t.Context(), 200, "", page, "", "", "page"},
		"too often":      {t.Context(), 429, "", page, "30", "", "page"},
		"said already":   {t.Context(), 429, "7", page, "7", "", "page"},
		"not drawn":      {t.Context(), 200, "", broken, "", "draw a page", ""},
		"nobody waits":   {gone, 200, "", broken, "", "", ""},
		"for later, too": {t.Context(), 503, "9", page, "9", "", "page"},
	} {
		var log strings.Builder
		w := httptest.NewRecorder()
		if c.before != "" {
			w.Header().Set("Retry-After", c.before)
		}
		plainSite(&log, "http://club.example").Draw(w, httptest.NewRequestWithContext(c.ctx, http.MethodGet, "/", nil), c.status, c.page)
		if w.Code != c.status || w.Header().Get("Retry-After") != c.retry || w.Body.String() != c.shown ||
			(log.Len() > 0) != (c.log != "") || !strings.Contains(log.String(), c.log) {
			t.Errorf("%s: %d, Retry-After %q, %q, log %q", name, w.Code, w.Header().Get("Retry-After"), w.Body, log.String())
		}
	}
}

// TestCookieIsBoundUnderHTTPS: under https the browser itself binds the cookie to the
// host; only the cookie of that name is read.
func TestCookieIsBoundUnderHTTPS(t *testing.T) {
	t.Parallel()
	for address, want := range map[string]string{"https://club.example": "__Host-drover", "http://club.example": "drover"} {
		s := plainSite(io.Discard, address)
		r := httptest.NewRequestWithContext(t.Context(), http.MethodGet, "/", nil)
		if s.Cookie() != want || s.Token(r) != "" {
			t.Errorf("%s: %s, %q", address, s.Cookie(), s.Token(r))
		}
		r.AddCookie(&http.Cookie{Name: "other", Value: "1.no"})
		r.AddCookie(&http.Cookie{Name: want, Value: "1.yes"})
		if s.Token(r) != "1.yes" {
			t.Errorf("%s: %q", address, s.Token(r))
		}
	}
}
