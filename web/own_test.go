package web_test

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/static"
	"drover/store/storetest"
)

// TestOwnWithoutScripts: the form of the settings page keeps what is chosen and says so,
// by itself; the pages of that child are drawn as it wants them from the first byte on,
// and those of another child and of a coach who watches are not.
func TestOwnWithoutScripts(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "own")
	p, board := s.as(f.Student), fmt.Sprintf("/play/%d", f.Game)
	if body := p.get(board).body; strings.Contains(body, "data-turned") || strings.Contains(body, "data-sounds") ||
		strings.Contains(body, "data-big") || strings.Contains(body, "data-scheme") || rank(body) != "8" {
		t.Error("at first something is set")
	}
	got := p.post("/own", url.Values{"pace": {"slow"}, "big": {"on"}, "turned": {"on"}, "sounds": {"on"}, "scheme": {"dark"}})
	if got.status != http.StatusSeeOther || got.header.Get("Location") != "/own?kept" {
		t.Fatalf("%d, to %s", got.status, got.header.Get("Location"))
	}
	if body := p.get("/own?kept").body; !strings.Contains(body, "Kept.") || !strings.Contains(body, ">Keep this<") ||
		!strings.Contains(body, `data-scheme="dark"`) || !strings.Contains(body, " data-big") {
		t.Error("the page does not say what is kept")
	}
	body := p.get(board).body
	for _, want := range []string{"data-turned", "data-sounds", " data-big", `data-scheme="dark"`} {
		if !strings.Contains(body, want) {
			t.Errorf("the board has no %s", want)
		}
	}
	if rank(body) != "1" {
		t.Error("the board is not drawn turned")
	}
	for _, path := range []string{"/today", "/tell", "/guide"} {
		if body := p.get(path).body; !strings.Contains(body, `data-scheme="dark"`) {
			t.Errorf("%s is not dark", path)
		}
	}
	if frame := p.board(f.Game).next(); frame["game"].(map[string]any)["pace"] != 2000.0 {
		t.Errorf("the frame's pace is %v", frame["game"].(map[string]any)["pace"])
	}
	for who, body := range map[string]string{"another child": s.as(f.Student2).get("/today").body,
		"a coach who watches": s.as(f.Coach).get(fmt.Sprintf("/watch/%d", f.Game)).body} {
		if strings.Contains(body, "data-scheme") || strings.Contains(body, "data-turned") || strings.Contains(body, "data-big") {
			t.Errorf("%s has it too", who)
		}
	}
}

// rank is the number that stands beside the uppermost row of a board's page.
func rank(body string) string {
	_, rest, _ := strings.Cut(body, `class="ranks"`)
	_, rest, _ = strings.Cut(rest, "<span>")
	return rest[:1]
}

// TestOwnRefuses: what cannot be chosen is refused with a sentence, and nothing changes.
func TestOwnRefuses(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "odd")
	p := s.as(f.Student)
	for _, odd := range []url.Values{{"pace": {"now"}}, {"pace": {"slow"}, "scheme": {"pink"}}, {"pace": {"slow"}, "role": {"coach"}}} {
		if got := p.post("/own", odd); got.status != http.StatusUnprocessableEntity {
			t.Errorf("%v: %d", odd, got.status)
		}
	}
	if own, err := s.store.Own(ctx, f.Student); err != nil || own != (club.Own{Pace: club.ClubPace}) {
		t.Errorf("kept %+v, %v", own, err)
	}
}

// TestSharedSignIn: a child who ticks that others use the device is signed out after two
// hours without use, by whichever way it came in; without the tick it stays, and a coach's
// form does not have it.
func TestSharedSignIn(t *testing.T) {
	t.Parallel()
	now, pass := movable()
	s := startAt(t, now)
	f := storetest.Club(t, s.store, "tick")
	card := ways(f)["/in/card"].right
	ticked := url.Values{"shared": {"on"}}
	for k, v := range card {
		ticked[k] = v
	}
	token := string(f.Card2.Token)
	byWords, byPattern, own := s.as(game.Actor{}), s.as(game.Actor{}), s.as(game.Actor{})
	if body := byPattern.get("/open?shared=on").body; !strings.Contains(body, `name="shared" value="on"`) {
		t.Error("the tick is not carried on to the card's pattern")
	}
	if body := byPattern.get("/open").body; strings.Contains(body, `name="shared"`) {
		t.Error("a device counts as shared without a tick")
	}
	for _, in := range []struct {
		p    *person
		path string
		form url.Values
	}{{byWords, "/in/card", ticked}, {byPattern, "/open", url.Values{"token": {token}, "shared": {"on"}}}, {own, "/in/card", card}} {
		if got := in.p.post(in.path, in.form); got.header.Get("Location") != "/today" {
			t.Fatalf("%s: %d, to %s", in.path, got.status, got.header.Get("Location"))
		}
	}
	pass(2*time.Hour - time.Second)
	if got := byPattern.get("/today").status; got != http.StatusOK {
		t.Errorf("just before two hours: %d", got)
	}
	pass(2 * time.Second)
	for name, c := range map[string]struct {
		p    *person
		want int
	}{"unused": {byWords, http.StatusSeeOther}, "used": {byPattern, http.StatusOK}, "its own device": {own, http.StatusOK}} {
		if got := c.p.get("/today").status; got != c.want {
			t.Errorf("after two hours, %s: %d", name, got)
		}
	}
	if body := s.as(game.Actor{}).post("/in/coach", url.Values{"email": {"no@body.example"}, "password": {"x"}, "shared": {"on"}}).body; !strings.Contains(body, "do not belong together") {
		t.Error("the coach's form is confused by the tick")
	}
}

// TestPlayingIsUse: who plays is not idle, whatever the page that was loaded last.
func TestPlayingIsUse(t *testing.T) {
	t.Parallel()
	now, pass := movable()
	s := startAt(t, now)
	f := storetest.Club(t, s.store, "plays")
	p := s.as(f.Student)
	storetest.Exec(t, storetest.Address(s.store), `update keys set shared = true where kind = 'session' and club_id = $1`, f.Coach.Club)
	b := p.board(f.Game)
	b.next()
	pass(time.Hour + 50*time.Minute)
	b.say(`{"do":"helped","id":"a","ply":0}`)
	s.until("the use is noted", func() bool {
		return s.audit(`select (max(seen_at) = $2::timestamptz)::text from keys where kind = 'session' and person_id = $1`, f.Student.Person, now()) == "true"
	})
	pass(time.Hour + 50*time.Minute)
	if got := p.get("/today").status; got != http.StatusOK {
		t.Errorf("who played within two hours is answered %d", got)
	}
	pass(2*time.Hour + time.Second)
	if got := p.get("/today").status; got != http.StatusSeeOther {
		t.Errorf("and after two hours of nothing %d", got)
	}
}

// TestAppOnEveryPage: every page names the manifest with which a browser keeps the site as
// an app, and the policy lets it (W3C Web Application Manifest; Content Security Policy
// Level 3, manifest-src).
func TestAppOnEveryPage(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "app")
	nobody, child := s.as(game.Actor{}), s.as(f.Student)
	for name, got := range map[string]answer{
		"sign-in": nobody.get("/in"), "no page": nobody.get("/nothing"), "today": child.get("/today"), "settings": child.get("/own"),
		"board": child.get(fmt.Sprintf("/play/%d", f.Game)), "coach": s.as(f.Coach).get("/since"), "guardian": s.as(f.Guardian).get("/report"),
	} {
		if !strings.Contains(got.body, `<link rel="manifest" href="`+static.Path("drover.webmanifest")+`">`) {
			t.Errorf("%s does not name the manifest", name)
		}
		if !strings.Contains(got.header.Get("Content-Security-Policy"), "manifest-src 'self'") {
			t.Errorf("%s: the policy does not let it", name)
		}
	}
	if got := nobody.get(static.Path("drover.webmanifest")); got.status != http.StatusOK || got.header.Get("Content-Type") != "application/manifest+json" {
		t.Errorf("without a session it is answered %d, %s", got.status, got.header.Get("Content-Type"))
	}
}
