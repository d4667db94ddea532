package web_test

import (
	"fmt"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/store/storetest"
	"drover/web"
)

// twoNodes are two nodes on one database behind one clock.
func twoNodes(t *testing.T, now game.Clock) []*site {
	t.Helper()
	dsn := storetest.URL(t)
	var nodes []*site
	for range 2 {
		st, err := store.Open(ctx, dsn, now)
		if err != nil {
			t.Fatal(err)
		}
		t.Cleanup(st.Close)
		nodes = append(nodes, startOn(t, st, now, web.Config{Proxies: []string{"127.0.0.1/32"}}))
	}
	return nodes
}

// from makes a request come from an address behind the proxy.
func from(address string) func(*http.Request) {
	return func(r *http.Request) { r.Header.Set("X-Forwarded-For", address) }
}

// ways are the ways of signing in, right and wrong.
func ways(f storetest.Fixture) map[string]struct{ right, wrong url.Values } {
	card := func(words [4]string) url.Values {
		v := url.Values{"number": {fmt.Sprint(f.Card.Student.Number)}}
		for i, w := range words {
			v.Set(fmt.Sprint("w", i+1), w)
		}
		return v
	}
	return map[string]struct{ right, wrong url.Values }{
		"/in/card":  {card(f.Card.Words), card([4]string{"a", "b", "c", "d"})},
		"/in/coach": {url.Values{"email": {f.Email}, "password": {f.Password}}, url.Values{"email": {f.Email}, "password": {"wrong"}}},
	}
}

// TestStrangersLockNobodyOut: a wrong try every five minutes for days on end from
// one network, then 200 networks at once, on two nodes: a browser in which the
// person has signed in before gets in each time (OWASP ASVS 5.0, 6.3.1).
func TestStrangersLockNobodyOut(t *testing.T) {
	t.Parallel()
	now, pass := movable()
	nodes := twoNodes(t, now)
	f := storetest.Club(t, nodes[0].store, "siege")
	for path, way := range ways(f) {
		owner := nodes[0].as(game.Actor{})
		enter := func(when string) {
			t.Helper()
			for i, n := range nodes {
				owner.site = n
				var got answer
				for try := range 2 {
					if got = owner.do(http.MethodPost, path, way.right, from("198.51.100.7")); got.status == http.StatusSeeOther {
						break
					} else if try == 1 {
						t.Errorf("%s, %s, node %d: the owner is answered %d", path, when, i+1, got.status)
					}
				}
			}
		}
		enter("before")
		stranger := nodes[1].as(game.Actor{})
		days := map[string]int{"/in/card": 3, "/in/coach": 1}[path] // the count is one and the same
		for i := range days * 24 * 12 {
			pass(5 * time.Minute)
			stranger.do(http.MethodPost, path, way.wrong, from("203.0.113.9"))
			if i%288 == 0 {
				enter(fmt.Sprintf("after %d tries", i+1))
			}
		}
		enter("after days")
		var wg sync.WaitGroup
		for i := range 200 {
			wg.Add(1)
			go func() {
				defer wg.Done()
				n := nodes[i%2].as(game.Actor{})
				n.do(http.MethodPost, path, way.wrong, from(fmt.Sprintf("192.0.2.%d", i)))
			}()
		}
		wg.Wait()
		enter("after 200 networks at once")
	}
}

// TestKnownBrowserIsThrottledToo: what a browser remembers opens nothing, is
// throttled as strictly as anything, and ends with a new card.
func TestKnownBrowserIsThrottledToo(t *testing.T) {
	t.Parallel()
	now, pass := movable()
	s := startAt(t, now)
	f := storetest.Club(t, s.store, "known")
	way := ways(f)["/in/card"]
	p := s.as(game.Actor{})
	if got := p.post("/in/card", way.right); got.status != http.StatusSeeOther {
		t.Fatalf("%d", got.status)
	}
	seen := p.cookie("drover-seen")
	if seen == nil || strings.Count(seen.Value, ".") != 1 {
		t.Fatalf("the browser keeps %v", seen)
	}
	only := s.as(game.Actor{})
	only.keep(seen)
	if got := only.get("/today"); got.status != http.StatusSeeOther || got.header.Get("Location") != "/in?back=%2Ftoday" {
		t.Errorf("what the browser remembers opens a page: %d", got.status)
	}
	for i := range 6 {
		got := only.post("/in/card", way.wrong)
		if want := map[bool]int{false: 403, true: 429}[i == 5]; got.status != want ||
			(got.header.Get("Retry-After") != "") != (want == 429) {
			t.Errorf("wrong try %d: %d, Retry-After %q", i+1, got.status, got.header.Get("Retry-After"))
		}
	}
	if got := s.as(game.Actor{}).post("/in/card", way.right); got.status != http.StatusSeeOther {
		t.Errorf("a strange browser is counted with it: %d", got.status)
	}
	pass(10 * time.Minute)
	card, err := s.store.ReplaceCard(ctx, f.Coach, f.Student.Person)
	if err != nil {
		t.Fatal(err)
	}
	if hash, err := s.store.Device(ctx, []club.Secret{club.Secret(seen.Value)}, fmt.Sprint(card.Student.Number), ""); err != nil || hash != nil {
		t.Errorf("after a new card the browser is still known: %v", err)
	}
}

// TestBrowserRemembersEight: a browser is remembered for eight persons, each once;
// the one that was there first goes.
func TestBrowserRemembersEight(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "tablet")
	var tokens, first []club.Secret
	for i := range store.MostDevices + 1 {
		card, err := s.store.AddStudent(ctx, f.Coach, club.NewStudent{Name: fmt.Sprint("Child ", i), ConsentBy: "Guardian",
			ConsentOn: time.Now().AddDate(0, 0, -1), Consent: true, Wording: 8})
		if err != nil {
			t.Fatal(err)
		}
		who := game.Actor{Club: f.Coach.Club, Person: card.Student.ID, Role: game.Student}
		for range 2 { // the second time nothing is added
			if tokens, err = s.store.Remember(ctx, who, tokens); err != nil {
				t.Fatal(err)
			}
		}
		if i == 0 {
			first = slices.Clone(tokens)
		}
	}
	if len(tokens) != store.MostDevices || slices.Contains(tokens, first[0]) {
		t.Errorf("%d are kept", len(tokens))
	}
	again, err := s.store.Remember(ctx, f.Student, first)
	if err != nil || len(again) != 1 || again[0] == first[0] {
		t.Errorf("the one that went is still good: %v, %v", again, err)
	}
}

// cookie is one of the browser's cookies; nil where there is none.
func (p *person) cookie(name string) *http.Cookie {
	u, _ := url.Parse(p.base)
	for _, c := range p.client.Jar.Cookies(u) {
		if c.Name == name {
			return c
		}
	}
	return nil
}

// keep leaves the browser with one cookie alone.
func (p *person) keep(c *http.Cookie) {
	u, _ := url.Parse(p.base)
	jar, _ := cookiejar.New(nil)
	jar.SetCookies(u, []*http.Cookie{c})
	p.client.Jar = jar
}
