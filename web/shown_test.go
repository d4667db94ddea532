package web_test

import (
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/store/storetest"
)

// words are the words on a card's page.
func words(body string) string {
	return strings.Join(regexp.MustCompile(`(?s)<p class="press-words[^"]*">(.*?)</p>`).FindStringSubmatch(body), "")
}

// TestCardIsShownAgain: a reload shows the same card, which works; another
// session and another time are told why there is none to see, with the button
// that makes a new one.
func TestCardIsShownAgain(t *testing.T) {
	t.Parallel()
	var ahead atomic.Int64
	s := startAt(t, func() time.Time { return time.Now().Add(time.Duration(ahead.Load())) })
	f := storetest.Club(t, s.store, "reload")
	path := fmt.Sprintf("/students/%d/card", f.Student.Person)
	p, other := s.as(f.Coach), s.as(f.Coach2)
	over := func(who *person, say string) {
		t.Helper()
		got := who.get(path)
		if got.status != 200 || !strings.Contains(got.body, "A card is shown only once, for ten minutes") ||
			words(got.body) != "" ||
			!strings.Contains(got.body, "Make a new card") || !strings.Contains(got.body, "It replaces the old one") {
			t.Errorf("%s: %d", say, got.status)
		}
	}
	over(p, "before a card was made here")
	if got := p.post(path, fields()); got.status != 303 || got.header.Get("Location") != path {
		t.Fatalf("%d to %s", got.status, got.header.Get("Location"))
	}
	first := words(p.get(path).body)
	if again := words(p.get(path).body); first == "" || again != first {
		t.Errorf("a reload shows %q after %q", again, first)
	}
	over(other, "another coach")
	over(s.as(f.Coach), "another session")
	ahead.Store(int64(store.ShownFor))
	over(p, "after ten minutes")
	if got := p.post(path, pageFields(t, p.get(path).body, path)); got.status != 303 || words(p.get(path).body) == first {
		t.Error("the button makes no new card")
	}
	if got := other.post(path, fields()); got.status != 303 {
		t.Error(got.status)
	}
	over(p, "after another coach's new card")
}

// pageFields are the hidden fields of a form of a page.
func pageFields(t *testing.T, body, action string) url.Values {
	t.Helper()
	u := url.Values{}
	for k, v := range pageForms(t, body)[action] {
		u.Set(k, v)
	}
	return u
}

// TestLinkIsShownAgain: as a card; the new link replaces the old one.
func TestLinkIsShownAgain(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "link")
	p := s.as(f.Coach)
	got := p.post(fmt.Sprintf("/students/%d/guardian", f.Student.Person), fields("name", " Per "))
	path := got.header.Get("Location")
	link := regexp.MustCompile(`/open\?for=guardian#([\w.-]+)"`)
	first := link.FindStringSubmatch(p.get(path).body)
	if got.status != 303 || len(first) != 2 || link.FindStringSubmatch(p.get(path).body)[1] != first[1] {
		t.Fatalf("%d to %s: %v", got.status, path, first)
	}
	over := s.as(f.Coach2).get(path)
	if over.status != 200 || link.MatchString(over.body) || !strings.Contains(over.body,
		"A link is shown only once, for ten minutes") ||
		!strings.Contains(over.body, "It replaces the old one") || !strings.Contains(over.body, "Private link for Per") {
		t.Errorf("another coach: %d", over.status)
	}
	if got := s.as(f.Coach2).post(path, pageFields(t, over.body, path)); got.status != 303 ||
		got.header.Get("Location") != path {
		t.Errorf("a new link: %d", got.status)
	}
	if _, err := s.store.Open(ctx, club.Secret(first[1])); game.KindOf(err) != game.Gone {
		t.Errorf("the old link: %v", err)
	}
	if link.MatchString(p.get(path).body) {
		t.Error("the dead link is still shown")
	}
	wrong := fmt.Sprintf("/students/%d/guardian/%d/link", f.Student.Person, f.Guardian2.Person)
	if got := p.get(wrong); got.status != 404 {
		t.Errorf("another child's guardian: %d", got.status)
	}
}

// TestDraftKeepsWhatIsTyped: 'pick others' leads to a page that a reload shows
// again, with all that was typed and other starts; a form that does not fit is
// marked, and a draft that is over says so.
func TestDraftKeepsWhatIsTyped(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "draft")
	p := s.as(f.Coach)
	form := aDrill("do", "pick", "name", "Half <done>", "fens", "kept", "for", fmt.Sprint(f.Student.Person), "budget",
		"40", "once", "x")
	form["help"] = []string{"2", "3"}
	got := p.post("/drills", form)
	to := got.header.Get("Location")
	if got.status != 303 || !strings.HasPrefix(to, "/drills/new?draft=") {
		t.Fatalf("%d to %s", got.status, to)
	}
	page := p.get(to).body
	for _, want := range []string{`value="Half &lt;done&gt;"`, ">kept</textarea>", fmt.Sprintf(`name="for" value="%d"`, f.Student.Person), `value="40"`,
		`name="help" value="2" checked`, `name="help" value="3" checked`, `value="KRK" checked`} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not have %s", want)
		}
	}
	seed := regexp.MustCompile(`name="seed" value="(\d+)"`)
	if again := p.get(to).body; seed.FindString(page) == `name="seed" value="5"` ||
		seed.FindString(again) != seed.FindString(page) {
		t.Errorf("picked by %s, then %s", seed.FindString(page), seed.FindString(again))
	}
	for name, c := range map[string]*person{"another coach": s.as(f.Coach2), "another session": s.as(f.Coach)} {
		if got := c.get(to); got.status != 200 || !strings.Contains(got.body, "is no longer kept") ||
			strings.Contains(got.body, "Half") {
			t.Errorf("%s: %d", name, got.status)
		}
	}
	for _, odd := range []string{"0", "x", "99999999999999999999999", "-1"} {
		if got := p.get("/drills/new?draft=" + odd); got.status != 200 || !strings.Contains(got.body, "is no longer kept") {
			t.Errorf("draft %s: %d", odd, got.status)
		}
	}
	form.Set("count", "99")
	if got := p.post("/drills", form); got.status != 422 || !strings.Contains(got.body, "from 1 to 24") ||
		!strings.Contains(got.body, "Half &lt;done&gt;") {
		t.Errorf("what does not fit: %d", got.status)
	}
}

// TestSetupTwice: of two set-up forms that are sent at once both end signed in as
// the one coach; with another password the used link opens nothing.
func TestSetupTwice(t *testing.T) {
	t.Parallel()
	s := start(t)
	token, err := s.store.NeedsSetup(ctx)
	if err != nil {
		t.Fatal(err)
	}
	form := fields("token", string(token), "club", "Ferry Lane", "name", "N", "email", " n@c.example", "password",
		"fifteen letters or more", "welfare", "W", "contact", "There", "zone", "UTC")
	var wg sync.WaitGroup
	people := [2]*person{s.as(game.Actor{}), s.as(game.Actor{})}
	for _, p := range people {
		wg.Add(1)
		go func() {
			defer wg.Done()
			if got := p.post("/setup", form); got.status != 303 || got.header.Get("Location") != "/account/factor" {
				t.Errorf("%d to %s", got.status, got.header.Get("Location"))
			}
		}()
	}
	wg.Wait()
	for i, p := range people {
		if got := p.get("/stages"); got.status != 200 || !strings.Contains(got.body, "Ferry Lane") {
			t.Errorf("browser %d: %d", i, got.status)
		}
	}
	form.Set("password", "not the same letters")
	for i := range 7 {
		want := http.StatusGone
		if i > 4 { // the fifth that failed
			want = http.StatusTooManyRequests
		}
		if got := s.as(game.Actor{}).post("/setup", form); got.status != want ||
			!strings.Contains(got.body, "has been used") {
			t.Errorf("with another password, try %d: %d", i+1, got.status)
		}
	}
}

// notice is the number of the first thing that a coach is told.
func (s *site) notice(a game.Actor) int64 {
	s.Helper()
	rows, err := s.store.Notices(ctx, a)
	if err != nil || len(rows) == 0 {
		s.Fatalf("%s is told nothing: %v", a.Name, err)
	}
	return rows[0].ID
}
