package web_test

import (
	"fmt"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"testing"

	"drover/game"
	"drover/store"
	"drover/store/storetest"
)

// TestHeaders: every answer carries the guards (OWASP ASVS 5.0, 3.4).
func TestHeaders(t *testing.T) {
	t.Parallel()
	s := start(t)
	for _, path := range []string{"/in", "/nothing-here", "/healthz"} {
		h := s.as(game.Actor{}).get(path).header
		for name, want := range map[string]string{
			"Content-Security-Policy": "default-src 'none'", "X-Content-Type-Options": "nosniff",
			"Referrer-Policy": "same-origin", "Cache-Control": "no-store",
		} {
			if !strings.HasPrefix(h.Get(name), want) {
				t.Errorf("%s: %s is %q", path, name, h.Get(name))
			}
		}
	}
}

// TestUnknownFields: a field that a form does not have is refused (OWASP ASVS
// 5.0, 15.3.3).
func TestUnknownFields(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "fields")
	got := s.as(f.Coach).post("/students", url.Values{"name": {"X"}, "role": {"coach"}})
	if got.status != http.StatusUnprocessableEntity || !strings.Contains(got.body, "does not belong there") {
		t.Errorf("%d", got.status)
	}
}

// TestWrongCard: the answer to a wrong number and to wrong words is the same,
// keeps what was typed, and after some tries asks to wait.
func TestWrongCard(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "wrong")
	p := s.as(game.Actor{})
	try := func(number string, w [4]string) answer {
		return p.post("/in/card", url.Values{"number": {number}, "w1": {w[0]}, "w2": {w[1]}, "w3": {w[2]}, "w4": {w[3]}})
	}
	number := fmt.Sprint(f.Card.Student.Number)
	a, b := try(number, [4]string{"one", "two", "three", "four"}), try("99999", [4]string{"one", "two", "three", "four"})
	if a.status != 403 || b.status != 403 || strings.ReplaceAll(a.body, number, "N") != strings.ReplaceAll(b.body, "99999", "N") {
		t.Errorf("a wrong card and no card differ: %d, %d", a.status, b.status)
	}
	if !strings.Contains(a.body, `value="three"`) || strings.Contains(a.body, f.Student.Name) {
		t.Error("what was typed is not kept, or a name came out")
	}
	for range 5 {
		a = try(number, [4]string{"x", "y", "z", "u"})
	}
	if a.status != http.StatusTooManyRequests || !strings.Contains(a.body, "Wait a little") {
		t.Errorf("after many tries: %d", a.status)
	}
}

// TestSignIns: card, password and private link each open the person's first
// page with a session that is new.
func TestSignIns(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "ins")
	w := f.Card.Words
	for path, c := range map[string]struct {
		post string
		form url.Values
	}{
		"/today":  {"/in/card", url.Values{"number": {fmt.Sprint(f.Card.Student.Number)}, "w1": {w[0]}, "w2": {w[1]}, "w3": {w[2]}, "w4": {w[3]}}},
		"/since":  {"/in/coach", url.Values{"email": {strings.ToUpper(f.Email)}, "password": {f.Password}}},
		"/report": {"/open", url.Values{"token": {string(f.Link)}}},
	} {
		p := s.as(game.Actor{})
		got := p.post(c.post, c.form)
		cookie := strings.Join(got.header.Values("Set-Cookie"), "; ")
		if got.status != 303 || got.header.Get("Location") != path || !strings.Contains(cookie, "HttpOnly") ||
			!strings.Contains(cookie, "SameSite=Lax") {
			t.Errorf("%s: %d to %s, %s", c.post, got.status, got.header.Get("Location"), cookie)
		}
		if got := p.get(path); got.status != 200 {
			t.Errorf("%s: %d", path, got.status)
		}
		if got := p.post("/out", url.Values{}); got.status != 303 {
			t.Errorf("out: %d", got.status)
		}
		if got := p.get(path); got.status != 303 {
			t.Errorf("%s after signing out: %d", path, got.status)
		}
	}
}

// TestRevokedLink: the link that was stopped opens nothing, and its session has
// ended; the other guardian's goes on.
func TestRevokedLink(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "revoked")
	second, err := s.store.AddGuardian(ctx, f.Coach, f.Student.Person, "Second")
	if err != nil {
		t.Fatal(err)
	}
	guardian := s.as(f.Guardian)
	if body := guardian.get("/report").body; !strings.Contains(body, f.Student.Name) || strings.Contains(body, "Second") {
		t.Error("the report names the other guardian, or not the child")
	}
	path := fmt.Sprintf("/students/%d/guardian/%d/revoke", f.Student.Person, f.Guardian.Person)
	if got := s.as(f.Coach).post(path, url.Values{}); got.status != 303 {
		t.Fatalf("revoke: %d", got.status)
	}
	if got := guardian.get("/report"); got.status != 303 {
		t.Errorf("the stopped guardian's page: %d", got.status)
	}
	if got := guardian.post("/open", url.Values{"token": {string(f.Link)}}); got.status != 410 {
		t.Errorf("the stopped link: %d", got.status)
	}
	if got := guardian.post("/open", url.Values{"token": {string(second.Token)}}); got.status != 303 {
		t.Errorf("the other link: %d", got.status)
	}
}

// TestAddStudent: without consent no child is added; with it a card is shown
// once, and its words sign in.
func TestAddStudent(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "add")
	p := s.as(f.Coach)
	form := url.Values{"name": {"<b>Wick</b> & co"}, "consent_by": {"Ann"}, "consent_on": {"2026-01-02"},
		"wording": {"14"}}
	if got := p.post("/students", form); got.status != 422 || !strings.Contains(got.body, "only after a guardian has agreed") || !strings.Contains(got.body, "&lt;b&gt;Wick") {
		t.Fatalf("without consent: %d", got.status)
	}
	form.Set("consent", "yes")
	got := p.post("/students", form)
	if got.status != 303 {
		t.Fatalf("with consent: %d", got.status)
	}
	if got = p.get(got.header.Get("Location")); got.status != 200 || strings.Contains(got.body, "<b>Wick") ||
		!strings.Contains(got.body, "<path") {
		t.Fatalf("the card: %d", got.status)
	}
	if got := p.post("/students", form); got.status != 422 || !strings.Contains(got.body, "in the club already") {
		t.Errorf("the same name typed again: %d", got.status)
	}
	if r, err := s.store.Roster(ctx, f.Coach.Club, store.RosterAsk{}); err != nil || len(r.Rows) != 3 {
		t.Errorf("roster %v, %v", r.Rows, err)
	}
}

// TestDrillForm: what does not fit is said at its field and nothing is lost.
func TestDrillForm(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "drill")
	p := s.as(f.Coach)
	good := func() url.Values {
		return url.Values{"ending": {"KBNK"}, "from": {"centralise"}, "to": {"mate"}, "defender": {"longest"},
			"mode": {"guided"}, "count": {"4"}, "kind": {"random"}, "name": {"My own"}, "seed": {"5"}, "do": {"assign"}}
	}
	for field, c := range map[string][2]string{
		"ending": {"KXK", "Choose one of the endings"}, "from": {"nowhere", "no such stage"}, "to": {"here", "no such stage"},
		"defender": {"fool", "Choose one of the defenders"}, "mode": {"x", "when the verdict shows"}, "count": {"500", "from 1 to 24"}, "kind": {"odd", "no such kind"}, "name": {strings.Repeat("n", 90), "80 characters"},
	} {
		form := good()
		form.Set(field, c[0])
		if got := p.post("/drills", form); got.status != 422 || !strings.Contains(got.body, c[1]) {
			t.Errorf("%s: %d, says nothing of %q", field, got.status, c[1])
		}
	}
	got := p.post("/drills", good())
	if got.status != 303 || !strings.HasPrefix(got.header.Get("Location"), "/drills/") {
		t.Fatalf("a good drill: %d", got.status)
	}
	page := p.get(got.header.Get("Location"))
	if page.status != 200 || !strings.Contains(page.body, "My own") || !strings.Contains(page.body, f.Student.Name) {
		t.Errorf("the assign page: %d", page.status)
	}
	if got := p.post(got.header.Get("Location")+"/assign", url.Values{}); got.status != 422 ||
		!strings.Contains(got.body, "at least one student") {
		t.Errorf("assigned to nobody: %d", got.status)
	}
}

// TestBigBody is refused with a sentence.
func TestBigBody(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "big")
	got := s.as(f.Coach).post("/students", url.Values{"name": {strings.Repeat("n", 1<<20)}})
	if got.status != http.StatusRequestEntityTooLarge || strings.Contains(got.body, "http:") {
		t.Errorf("%d %.200s", got.status, got.body)
	}
}

// TestProxies: the word of a proxy on the client's address is taken only where
// the proxy is named; else a stranger could lock a child out from anywhere.
func TestProxies(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		proxies []string
		apart   bool
	}{{nil, false}, {[]string{"127.0.0.1/32"}, true}} {
		s := start(t, c.proxies...)
		p := s.as(game.Actor{})
		status := 0
		for i := range 8 { // one number from other addresses each time
			got := p.do(http.MethodPost, "/in/card", url.Values{"number": {"7"}, "w1": {"a"}, "w2": {"b"}, "w3": {"c"},
				"w4": {"d"}}, func(r *http.Request) {
				r.Header.Set("X-Forwarded-For", fmt.Sprintf("192.0.2.%d", i))
			})
			status = got.status
		}
		if (status == http.StatusForbidden) != c.apart {
			t.Errorf("with proxies %v the last of eight clients got %d", c.proxies, status)
		}
	}
}

// TestUnreadableText is refused as such: a form with it is kept from the
// database, an address with it shows the page without.
func TestUnreadableText(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "text")
	p := s.as(f.Coach)
	for _, bad := range []string{"a\x00b", "a\xffb"} {
		if got := p.post("/students", url.Values{"name": {bad}}); got.status != http.StatusUnprocessableEntity ||
			!strings.Contains(got.body, "characters in it that cannot be kept") {
			t.Errorf("%q in a form: %d", bad, got.status)
		}
		path := fmt.Sprintf("/students/%d?%s", f.Student.Person, url.Values{"ending": {bad}, "stage": {bad}}.Encode())
		if got := p.get(path); got.status != http.StatusOK {
			t.Errorf("%q in an address: %d", bad, got.status)
		}
	}
}

// TestPastedDrill: a bad line is said with its number and nothing is lost; a
// good list becomes a drill with those starts in that order.
func TestPastedDrill(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "pasted")
	p := s.as(f.Coach)
	form := url.Values{"ending": {"KRK"}, "from": {"centralise"}, "to": {"mate"}, "defender": {"longest"},
		"mode": {"test"}, "count": {""}, "kind": {"pasted"},
		"fens": {storetest.RookStart + "\n8/8/8/4k4/8/8/8/4K2R w - - 0 1"}, "name": {"Own list"}, "seed": {"5"}, "do": {"assign"}}
	got := p.post("/drills", form)
	if got.status != 422 || !strings.Contains(got.body, "Line 2: row 5 has nine squares") ||
		!strings.Contains(got.body, storetest.RookStart) {
		t.Fatalf("with a bad line: %d", got.status)
	}
	form.Set("fens", storetest.RookStart+"\n\n4k2r/8/8/8/4K3/8/8/8 b - - 0 1")
	if got = p.post("/drills", form); got.status != 303 {
		t.Fatalf("a good list: %d %s", got.status, got.body)
	}
	rows, err := s.store.Shelf(ctx, f.Coach, store.ShelfAsk{})
	if err != nil || rows[0].Name != "Own list" || len(rows[0].Starts) != 2 || rows[0].Starts[0] != storetest.RookStart ||
		len(rows[0].Rule.Help) != 0 {
		t.Errorf("%+v, %v", rows[0], err)
	}
}

// TestHoldDrill: a hold drill is made of its own form, with its own starts, clock
// and rule, and what it does not ask is not held against it.
func TestHoldDrill(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "hold")
	p := s.as(f.Coach)
	form := url.Values{"ending": {"hold-KPK"}, "mode": {"practice"}, "count": {"5"}, "kind": {"only"}, "seed": {"5"},
		"help":   {"1", "3"},
		"budget": {"8"}, "clock": {"5"}, "increment": {"3"}, "backs": {"2"}, "pass": {"most"}, "do": {"shelf"}}
	if got := p.post("/drills", form); got.status != 303 {
		t.Fatalf("%d %s", got.status, got.body)
	}
	rows, err := s.store.Shelf(ctx, f.Coach, store.ShelfAsk{})
	if err != nil || len(rows) == 0 {
		t.Fatal(err)
	}
	d := rows[0].Drill
	if !d.Hold || d.Ending != "KPK" || len(d.Starts) != 5 || d.Rule.Clock != 300 || d.Rule.Increment != 3 || d.Rule.Budget != 8 ||
		d.Rule.Backs != 2 || d.Rule.Need != 4 || !d.Rule.Clean {
		t.Errorf("%+v", d)
	}
	if want := "Hold the draw for 8 moves, 5 starts, a verdict when something goes wrong. 5 minutes to think in each try, and 3 seconds more for each move. Passed with 4 of 5 clean."; d.Line() != want {
		t.Error(d.Line())
	}
	for field, c := range map[string][2]string{
		"ending": {"hold-KQK", "Choose one of the endings"}, "kind": {"trap", "where only one move holds"}, "budget": {"77", "from 0 to 50"}, "clock": {"soon", "Write a number"}, "increment": {"61", "from 0 to 60"}, "backs": {"9", "from 0 to 3"},
	} {
		bad := url.Values{}
		for k, v := range form {
			bad[k] = v
		}
		bad.Set(field, c[0])
		if got := p.post("/drills", bad); got.status != 422 || !strings.Contains(got.body, c[1]) {
			t.Errorf("%s: %d, says nothing of %q", field, got.status, c[1])
		}
	}
	form.Set("kind", "pasted")
	form.Set("fens", "8/3k4/3P4/4K3/8/8/8/8 b - - 0 1\n3k4/8/3PK3/8/8/8/8/8 w - - 0 1")
	if got := p.post("/drills", form); got.status != 422 || !strings.Contains(got.body, "Line 2: the stronger side is to move") {
		t.Errorf("pasted: %d", got.status)
	}
}

// TestParOfStarts: starts of a par range are within it, and a range the wrong way
// round is said.
func TestParOfStarts(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "par")
	p := s.as(f.Coach)
	form := url.Values{"ending": {"KRK"}, "from": {"edge"}, "to": {"mate"}, "defender": {"longest"}, "mode": {"practice"},
		"count": {"6"}, "kind": {"random"}, "seed": {"5"}, "least": {"9"}, "most": {"11"}, "do": {"pick"}}
	if got := p.post("/drills", form); got.status != 303 ||
		!regexp.MustCompile(`<dd>(9|10|11)( to (10|11))? moves</dd>`).MatchString(p.get(got.header.Get("Location")).body) {
		t.Errorf("%d", got.status)
	}
	form.Set("most", "3")
	if got := p.post("/drills", form); !strings.Contains(got.body, "The first number is the smaller one") {
		t.Errorf("a range the wrong way round: %d", got.status)
	}
}
