package web_test

import (
	"net/http"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"drover/store/storetest"
)

// TestTooManySearches: where no place is left the form comes back with what was
// typed, when to try again and a sentence; then it goes well.
func TestTooManySearches(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "busy")
	p := s.as(f.Coach)
	free := s.web.FillSearches()
	for name, got := range map[string]answer{
		"a drill": p.post("/drills", aDrill("name", "Mine <now>")), "others": p.post("/drills", aDrill("name", "Mine <now>",
			"do", "pick")), "a fresh form": p.get("/drills/new"),
	} {
		if got.status != http.StatusTooManyRequests || got.header.Get("Retry-After") != "5" || !strings.Contains(got.body,
			"Many starts are being picked just now.") {
			t.Errorf("%s: %d, %q", name, got.status, got.header.Get("Retry-After"))
		}
		if name != "a fresh form" && !strings.Contains(got.body, `value="Mine &lt;now&gt;"`) {
			t.Errorf("%s: what was typed is lost", name)
		}
	}
	free()
	if got := p.post("/drills", aDrill("name", "Mine <now>")); got.status != http.StatusSeeOther {
		t.Errorf("after that: %d", got.status)
	}
}

// TestImpossiblePars: twelve coaches who ask at once for what is not there each get
// an answer that says what to do.
func TestImpossiblePars(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "never")
	var wg sync.WaitGroup
	var said atomic.Int64
	for range 12 {
		p := s.as(f.Coach)
		wg.Add(1)
		go func() {
			defer wg.Done()
			got := p.post("/drills", aDrill("least", "40", "most", "45"))
			switch {
			case got.status == 422 && strings.Contains(got.body, "No start with a par of 40 to 45 was found here."):
				said.Add(1)
			case got.status == 429 && got.header.Get("Retry-After") != "":
			default:
				t.Errorf("%d", got.status)
			}
		}()
	}
	wg.Wait()
	if said.Load() == 0 {
		t.Error("nobody was told what is not there")
	}
}
