package web_test

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"drover/game"
	"drover/store/storetest"

	"golang.org/x/net/html"
)

// TestSignInLeadsBackToOurPagesOnly: whoever had to sign in comes to the page that was
// asked for, if it is one of our table and for the role; no other address is followed
// (OWASP ASVS 5.0, 3.7.2).
func TestSignInLeadsBackToOurPagesOnly(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "onward")
	one := fmt.Sprintf("/students/%d", f.Student.Person)
	if got := s.as(game.Actor{}).get(one); got.header.Get("Location") != "/in?back="+url.QueryEscape(one) {
		t.Errorf("the page asked for is not kept: %q", got.header.Get("Location"))
	}
	for back, want := range map[string]string{
		one: one, "/drills/new": "/drills/new", "": "/since",
		"/today": "/since", "/report": "/since", "/in": "/since", "/out": "/since", "/nothing": "/since",
		"//elsewhere.example": "/since", "https://elsewhere.example/students": "/since", "/\\elsewhere.example": "/since",
		"/students/\\elsewhere.example": "/since", "/students/1?x=//a": "/since", "/students/-1": "/since",
		"/live/games/1": "/since", "students": "/since", "/students/1\r\nX: y": "/since",
	} {
		got := s.as(game.Actor{}).post("/in/coach", fields("email", f.Email, "password", f.Password, "back", back))
		if got.status != http.StatusSeeOther || got.header.Get("Location") != want {
			t.Errorf("back to %q: %d to %q, want %q", back, got.status, got.header.Get("Location"), want)
		}
	}
}

// TestTypedFormWaitsForItsOwnPerson: what was typed into a form that came after the end
// of the session is there again for the same person after signing in, is not sent by
// itself, and is shown to nobody else.
func TestTypedFormWaitsForItsOwnPerson(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "typed")
	in := func(p *person, more url.Values, email, password string) string {
		t.Helper()
		form := fields("email", email, "password", password)
		for name, v := range more {
			form[name] = v
		}
		got := p.post("/in/coach", form)
		if got.status != http.StatusSeeOther {
			t.Fatalf("%d", got.status)
		}
		return got.header.Get("Location")
	}
	coach := s.as(game.Actor{})
	in(coach, nil, f.Email, f.Password)
	coach.post("/out", fields())
	form := newStudent("Wren <i>")
	form.Set("wording", "14")
	form.Set("once", "of-then")
	got := coach.do(http.MethodPost, "/students", form, func(r *http.Request) { r.Header.Set("Referer", s.base+"/students/new") })
	if got.status != http.StatusForbidden || !strings.Contains(got.body, "what you typed is kept in this page") ||
		strings.Contains(got.body, "of-then") {
		t.Fatalf("%d", got.status)
	}
	kept := fieldsOf(t, got.body)
	to := in(coach, kept, f.Email, f.Password)
	body := coach.get(to).body
	if !strings.HasPrefix(to, "/students/new?typed=") || !strings.Contains(body, "What you typed is here again") ||
		!strings.Contains(body, `value="Wren &lt;i&gt;"`) || !strings.Contains(body, `value="2026-01-02"`) ||
		!strings.Contains(body, `value="14" data-say="" checked=""`) ||
		strings.Contains(body, `value="8" data-say="" checked`) {
		t.Errorf("the form is not there again at %s", to)
	}
	if strings.Contains(coach.get("/students/new").body, "Wren") {
		t.Error("it was sent by itself, or stays")
	}
	other := s.as(game.Actor{})
	if to := in(other, kept, "helper-"+f.Email, "another phrase of typed"); to != "/since" {
		t.Errorf("another coach is led to %s", to)
	}
	if body := other.get(strings.Replace(to, "/since", "/students/new", 1)).body; strings.Contains(body, "Wren") {
		t.Error("another coach sees what was typed")
	}
	for name, form := range map[string]url.Values{"a stranger's": form, "too much": fields("name", strings.Repeat("n", 50<<10))} {
		p := s.as(game.Actor{})
		if name == "too much" {
			p = coach
			p.post("/out", fields())
		}
		if got := p.post("/students", form); got.status != http.StatusForbidden || fieldsOf(t, got.body).Get("typed") != "" {
			t.Errorf("%s: %d", name, got.status)
		}
	}
}

// fieldsOf are the hidden fields of the sign-in page's form for coaches.
func fieldsOf(t *testing.T, body string) url.Values {
	t.Helper()
	doc, err := html.Parse(strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	attrs := func(n *html.Node) map[string]string {
		out := map[string]string{}
		for _, a := range n.Attr {
			out[a.Key] = a.Val
		}
		return out
	}
	out := url.Values{}
	for form := range doc.Descendants() {
		if form.Data != "form" || attrs(form)["action"] != "/in/coach" {
			continue
		}
		for n := range form.Descendants() {
			if a := attrs(n); a["type"] == "hidden" {
				out.Set(a["name"], a["value"])
			}
		}
	}
	return out
}

// TestSiblingIsLedToTheOwnFirstPage: on a shared tablet the page that one child asked for
// is not asked for in the name of another.
func TestSiblingIsLedToTheOwnFirstPage(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "sibling")
	tablet := s.as(game.Actor{})
	card := good(f)["/in/card"].form // of the second child
	tablet.post("/in/card", ways(f)["/in/card"].right)
	tablet.post("/out", fields())
	game := fmt.Sprintf("/play/%d", f.Game)
	kept := fieldsOf(t, tablet.get("/in?back="+url.QueryEscape(game)).body)
	for name, v := range kept {
		card[name] = v
	}
	if got := tablet.post("/in/card", card); got.header.Get("Location") != "/today" || kept.Get("back") != game {
		t.Errorf("to %q, with %v", got.header.Get("Location"), kept)
	}
}

// TestWrongDoorShowsTheRightOne: who types at another part of the sign-in page finds what
// was typed in the right one, with a sentence; a private link's secret is not given back.
func TestWrongDoorShowsTheRightOne(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "door")
	p := s.as(game.Actor{})
	card := func(number string) url.Values {
		return fields("number", number, "w1", "a", "w2", "b", "w3", "c", "w4", "d")
	}
	coach := func(email string) url.Values { return fields("email", email, "password", "pass-typed-here") }
	link := s.base + "/open#" + string(f.Link)
	for name, c := range map[string]struct {
		path string
		form url.Values
		want string
	}{
		"an e-mail as a number": {"/in/card", card(" " + f.Email), "A coach signs in here"},
		"a number as an e-mail": {"/in/coach", coach(" 101 "), "A child comes in here"},
		"a link as a number":    {"/in/card", card(link), "That is a private link"},
		"a link as an e-mail":   {"/in/coach", coach(link), "That is a private link"},
		"a bare secret":         {"/in/card", card(string(f.Link)), "That is a private link"},
	} {
		got := p.post(c.path, c.form)
		if got.status != http.StatusUnprocessableEntity || !strings.Contains(got.body, c.want) ||
			strings.Contains(got.body, "pass-typed-here") || strings.Contains(got.body, string(f.Link)) {
			t.Errorf("%s: %d", name, got.status)
		}
	}
	if got := p.get("/in/coach"); got.header.Get("Location") != "/in#coach" {
		t.Errorf("the address of then leads to %q", got.header.Get("Location"))
	}
	body := p.get("/in").body
	for _, want := range []string{"A child, with a card", "A coach", "A guardian", `id="coach"`} {
		if !strings.Contains(body, want) {
			t.Errorf("no %q", want)
		}
	}
}

// TestOtherRoleSaysWhoIsIn: a page of another role says who is signed in and how to go on;
// what is somebody else's of the own role is not there.
func TestOtherRoleSaysWhoIsIn(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "role")
	child := s.as(f.Student)
	for _, path := range []string{"/students", fmt.Sprintf("/students/%d", f.Student2.Person), "/students/999999"} {
		got := child.get(path)
		if got.status != http.StatusForbidden || !strings.Contains(got.body, "You are signed in as "+f.Student.Name) ||
			!strings.Contains(got.body, `href="/today"`) || !strings.Contains(got.body, "Not you?") ||
			!strings.Contains(got.body, `name="back" value="`+path+`"`) || strings.Contains(got.body, f.Student2.Name) {
			t.Errorf("%s: %d", path, got.status)
		}
	}
	if got := child.get(fmt.Sprintf("/play/%d", f.Game2)); got.status != http.StatusNotFound {
		t.Errorf("another child's game: %d", got.status)
	}
	if got := child.post("/out", fields("back", "/students")); got.header.Get("Location") != "/in?back=%2Fstudents" {
		t.Errorf("'Not you?' leads to %q", got.header.Get("Location"))
	}
}
