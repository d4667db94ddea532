package web_test

import (
	"net/http"
	"regexp"
	"strconv"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"drover/game"
	"drover/store/storetest"

	"github.com/pquerna/otp/totp"
)

var secretOf = regexp.MustCompile(`<p class="secret">([A-Z2-7 ]+)</p>`)

// withFactor sets a second factor up through its pages, and gives the secret and the
// recovery codes.
func (p *person) withFactor(now time.Time) (secret string, codes []string) {
	p.Helper()
	found := secretOf.FindStringSubmatch(p.get("/account/factor").body)
	if found == nil {
		p.Fatal("the page shows no secret")
	}
	secret = strings.ReplaceAll(found[1], " ", "")
	if got := p.post("/account/factor", fields("code", p.code(secret, now.Add(-5*time.Minute)))); got.status != 422 {
		p.Errorf("a code of five minutes ago: %d", got.status)
	}
	if again := p.get("/account/factor").body; !strings.Contains(again, found[1]) {
		p.Error("a page that is loaded again shows another secret")
	}
	if got := p.post("/account/factor", fields("code", p.code(secret, now))); got.header.Get("Location") != "/account/codes" {
		p.Fatalf("the first code: %d", got.status)
	}
	codes = regexp.MustCompile(`[a-z2-7]{4}(-[a-z2-7]{4}){3}`).FindAllString(p.get("/account/codes").body, -1)
	if len(codes) != 10 {
		p.Fatalf("%d recovery codes", len(codes))
	}
	return secret, codes
}

func (p *person) code(secret string, at time.Time) string {
	p.Helper()
	text, err := totp.GenerateCode(secret, at)
	if err != nil {
		p.Fatal(err)
	}
	return text
}

// TestCoachSignsInWithACode: after the password a second page asks for the code; until then
// nothing opens. A code or a recovery code lets in once, and leads where the coach was going
// (OWASP ASVS 5.0, 6.3.3 and 6.5.1).
func TestCoachSignsInWithACode(t *testing.T) {
	t.Parallel()
	now, pass := movable()
	s := startAt(t, now)
	f := storetest.Club(t, s.store, "factor")
	secret, codes := s.as(f.Coach).withFactor(now())
	half := func() *person {
		t.Helper()
		p := s.as(game.Actor{})
		got := p.post("/in/coach", fields("email", f.Email, "password", f.Password, "back", "/students"))
		if to := got.header.Get("Location"); !strings.HasPrefix(to, "/in/code?on=") || p.cookie("drover") != nil {
			t.Fatalf("after the password: to %q", to)
		}
		for path := range matrix(f) {
			if path, get := strings.CutPrefix(path, "GET "); get && strings.HasPrefix(path, "/s") && !strings.HasPrefix(path, "/set") && !strings.Contains(path, "static") {
				if got := p.get(address(path, f)); !strings.HasPrefix(got.header.Get("Location"), "/in?") {
					t.Errorf("half signed in, %s: %d", path, got.status)
				}
			}
		}
		if got := p.post("/students", newStudent("Wren")); got.status != http.StatusForbidden {
			t.Errorf("half signed in, a form: %d", got.status)
		}
		return p
	}
	on := func(p *person, typed string) answer {
		t.Helper()
		again := p.post("/in/coach", fields("email", f.Email, "password", f.Password, "back", "/students"))
		_, no, _ := strings.Cut(again.header.Get("Location"), "on=")
		return p.post("/in/code", fields("code", typed, "on", no))
	}
	p := half()
	if got := p.get("/in/code"); got.status != 200 || !strings.Contains(got.body, "Now the code from your phone") {
		t.Errorf("the page for the code: %d", got.status)
	}
	for name, typed := range map[string]string{"the code of then": p.code(secret, now()), "no code": "000000", "nothing": ""} {
		if got := on(p, typed); got.status != http.StatusForbidden || p.cookie("drover") != nil {
			t.Errorf("%s: %d", name, got.status)
		}
	}
	pass(time.Minute)
	fresh := p.code(secret, now().Add(30*time.Second)) // a phone that is half a minute fast
	if got := on(p, fresh); got.header.Get("Location") != "/students" || p.get("/students").status != 200 {
		t.Errorf("a code: %d to %q", got.status, got.header.Get("Location"))
	}
	if got := on(half(), fresh); got.status != http.StatusForbidden {
		t.Errorf("the same code again: %d", got.status)
	}
	if got := on(half(), strings.ToUpper(codes[2])); got.header.Get("Location") != "/students" {
		t.Errorf("a recovery code: %d", got.status)
	}
	if got := on(half(), codes[2]); got.status != http.StatusForbidden {
		t.Errorf("the recovery code again: %d", got.status)
	}
	late := half()
	pass(11 * time.Minute)
	if got := late.post("/in/code", fields("code", p.code(secret, now()))); got.header.Get("Location") != "/in#coach" {
		t.Errorf("eleven minutes after the password: %d", got.status)
	}
}

// TestCodesAreThrottled: after five wrong codes the next has to wait, also after the
// password was typed again, and in a browser that knows its person.
func TestCodesAreThrottled(t *testing.T) {
	t.Parallel()
	began := time.Now()
	s := startAt(t, func() time.Time { return began })
	f := storetest.Club(t, s.store, "guess")
	known := s.as(game.Actor{})
	known.post("/in/coach", ways(f)["/in/coach"].right)
	s.as(f.Coach).withFactor(began)
	for name, p := range map[string]*person{"a stranger": s.as(game.Actor{}), "a known browser": known} {
		last := 0
		for i := range 6 {
			if got := p.post("/in/coach", ways(f)["/in/coach"].right); got.status != http.StatusSeeOther {
				t.Fatalf("%s: the password, time %d: %d", name, i, got.status)
			}
			last = p.post("/in/code", fields("code", "000000")).status
		}
		if last != http.StatusTooManyRequests {
			t.Errorf("%s: the sixth wrong code: %d", name, last)
		}
	}
}

// TestChangesAskAgain: ten minutes after signing in a change of password, e-mail or second
// factor asks for the password, and for the code where there is one.
func TestChangesAskAgain(t *testing.T) {
	t.Parallel()
	now, pass := movable()
	s := startAt(t, now)
	f := storetest.Club(t, s.store, "again")
	p := s.as(f.Coach)
	secret, codes := p.withFactor(now())
	pass(11 * time.Minute)
	forms := good(f)
	for _, path := range []string{"/account/password", "/account/email", "/account/factor", "/account/factor/off", "/account/codes"} {
		got := p.post(path, forms[path].form)
		if !strings.HasPrefix(got.header.Get("Location"), "/account/again?to=/account/") {
			t.Errorf("%s: %d to %q", path, got.status, got.header.Get("Location"))
		}
	}
	again := func(password, code string) answer {
		return p.post("/account/again", fields("password", password, "code", code, "to", "/account/email"))
	}
	if got := again("wrong", codes[0]); got.status != http.StatusForbidden {
		t.Errorf("a wrong password: %d", got.status)
	}
	if got := again(f.Password, "000000"); got.status != http.StatusForbidden {
		t.Errorf("a wrong code: %d", got.status)
	}
	if got := again("another phrase of again", codes[0]); got.status != http.StatusForbidden {
		t.Errorf("another coach's password: %d", got.status)
	}
	if got := again(f.Password, p.code(secret, now())); got.header.Get("Location") != "/account/email" {
		t.Errorf("both right: %d", got.status)
	}
	if got := p.post("/account/email", fields("email", "helper-"+f.Email)); got.status != 422 {
		t.Errorf("another coach's address: %d", got.status)
	}
	if got := p.post("/account/email", fields("email", "new@club.example")); got.status != http.StatusSeeOther ||
		!strings.Contains(p.get("/account").body, "new@club.example") {
		t.Errorf("a new address: %d", got.status)
	}
	if got := p.post("/account/again", fields("password", f.Password, "code", codes[1], "to", "https://elsewhere.example")); got.header.Get("Location") != "/account" {
		t.Errorf("leads to %q", got.header.Get("Location"))
	}
}

// TestOwnSessions: the list says which session is this one; one that is signed out there
// has ended, and 'everywhere' is here too. Another coach's cannot be ended.
func TestOwnSessions(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "sessions")
	there, here, other := s.as(game.Actor{}), s.as(f.Coach), s.as(f.Coach2)
	there.do(http.MethodPost, "/in/coach", ways(f)["/in/coach"].right, func(r *http.Request) {
		r.Header.Set("User-Agent", "Mozilla/5.0 (iPad; CPU OS 17_0 like Mac OS X) AppleWebKit/605 Version/17.0 Safari/604.1")
	})
	body := here.get("/account").body
	id := regexp.MustCompile(`name="id" value="([0-9a-f]+)"`).FindAllStringSubmatch(body, -1)
	if len(id) != 1 || !strings.Contains(body, "Safari on an iPad") || strings.Count(body, ">this one<") != 1 {
		t.Fatalf("%d sessions to end: %s", len(id), body)
	}
	end := fields("id", id[0][1])
	if got := other.post("/account/session", end); got.status != http.StatusNotFound || there.get("/account").status != 200 {
		t.Errorf("another coach ends it: %d", got.status)
	}
	if got := here.post("/account/session", end); got.status != http.StatusSeeOther || there.get("/account").status != http.StatusSeeOther {
		t.Errorf("signed out there: %d", got.status)
	}
	if got := here.post("/account/sessions", fields()); got.status != http.StatusSeeOther || here.get("/account").status != http.StatusSeeOther ||
		other.get("/account").status != 200 {
		t.Errorf("signed out everywhere: %d", got.status)
	}
}

// TestOwnerIsLedToTheFactor: for a week an owner is told of the second factor; afterwards
// every page leads to setting it up, and opens once it is on.
func TestOwnerIsLedToTheFactor(t *testing.T) {
	t.Parallel()
	var passed atomic.Int64
	now := func() time.Time { return time.Now().Add(time.Duration(passed.Load())) } // the database says when an account was made
	s := startAt(t, now)
	f := storetest.Club(t, s.store, "led")
	if body := s.as(f.Coach).get("/students").body; !strings.Contains(body, "set up a second factor by") {
		t.Error("the owner is not told")
	}
	if body := s.as(f.Coach2).get("/students").body; strings.Contains(body, "second factor") {
		t.Error("a coach who owns nothing is told")
	}
	if body := s.as(f.Coach).get("/account/factor").body; !strings.Contains(body, ">Later<") {
		t.Error("it cannot wait")
	}
	passed.Store(int64(7*24*time.Hour + time.Minute))
	owner := s.as(f.Coach)
	for name := range matrix(f) {
		path, get := strings.CutPrefix(name, "GET ")
		if !get || !strings.HasPrefix(path, "/students") && !strings.HasPrefix(path, "/drills") && path != "/stages" && path != "/coaches" {
			continue
		}
		if got := owner.get(address(path, f)); got.header.Get("Location") != "/account/factor" {
			t.Errorf("%s: %d", path, got.status)
		}
	}
	if got := owner.post("/students", newStudent("Wren")); got.header.Get("Location") != "/account/factor" {
		t.Errorf("a form: %d", got.status)
	}
	if body := owner.get("/account/factor").body; strings.Contains(body, ">Later<") {
		t.Error("it can still wait")
	}
	if s.as(f.Coach2).get("/students").status != 200 {
		t.Error("a coach who owns nothing is led there")
	}
	owner.withFactor(now())
	if got := owner.get("/students"); got.status != 200 || strings.Contains(got.body, "second factor") {
		t.Errorf("with a second factor: %d", got.status)
	}
}

// TestOwnerHelpsACoachIn: an owner makes a link for another coach, which is shown once to
// the session that made it; the coach uses it, and both read of it until they put it away.
func TestOwnerHelpsACoachIn(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "help")
	owner, helper := s.as(f.Coach), s.as(f.Coach2)
	path := strings.Replace("/coaches/{id}", "{id}", itoa(f.Coach2.Person), 1)
	if got := helper.post("/coaches/"+itoa(f.Coach.Person)+"/password", fields()); got.status != http.StatusNotFound {
		t.Errorf("a coach who owns nothing: %d", got.status)
	}
	if got := owner.post(path+"/password", fields("once", "a")); got.header.Get("Location") != path+"/link" {
		t.Fatalf("%d", got.status)
	}
	link := regexp.MustCompile(`/reset/password#([^"]+)"`).FindStringSubmatch(owner.get(path + "/link").body)
	if link == nil {
		t.Fatal("the link is not shown")
	}
	if got := s.as(f.Coach).get(path + "/link"); got.header.Get("Location") != "/coaches" {
		t.Errorf("another session sees it: %d", got.status)
	}
	if helper.get("/students").status != http.StatusSeeOther {
		t.Error("the coach's session goes on")
	}
	new := s.as(game.Actor{})
	if got := new.post("/reset/password", fields("token", link[1], "password", "short")); got.status != 422 || !strings.Contains(got.body, link[1]) {
		t.Errorf("a short password: %d", got.status)
	}
	if got := new.post("/reset/password", fields("token", link[1], "password", "vexlamp otter moon")); got.status != http.StatusSeeOther ||
		new.cookie("drover") != nil {
		t.Errorf("a good password: %d", got.status)
	}
	if got := new.post("/in/coach", fields("email", "helper-"+f.Email, "password", "vexlamp otter moon")); got.header.Get("Location") != "/since" {
		t.Errorf("with it: %d", got.status)
	}
	for name, c := range map[string]struct {
		p    *person
		who  game.Actor
		want string
	}{"the coach": {new, f.Coach2, "Your password was reset on"}, "the owner": {owner, f.Coach, "by you."}} {
		if !strings.Contains(c.p.get("/drills").body, c.want) {
			t.Errorf("%s is not told", name)
		}
		if got := c.p.post("/account/notices/"+itoa(game.PersonID(s.notice(c.who))), fields()); got.status != http.StatusSeeOther ||
			strings.Contains(c.p.get("/drills").body, c.want) {
			t.Errorf("%s cannot put it away: %d", name, got.status)
		}
	}
}

func itoa(id game.PersonID) string { return strconv.FormatInt(int64(id), 10) }
