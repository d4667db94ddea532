package web_test

import (
	"bytes"
	"fmt"
	"mime/multipart"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"drover/store"
	"drover/store/storetest"
)

// file sends a table as a file.
func (p *person) file(data string) answer {
	p.Helper()
	var body bytes.Buffer
	w := multipart.NewWriter(&body)
	_ = w.WriteField("do", "look") // into memory, as what follows
	part, _ := w.CreateFormFile("file", "class.csv")
	_, _ = part.Write([]byte(data))
	_ = w.Close()
	return p.do(http.MethodPost, "/students/many", url.Values{}, func(r *http.Request) {
		r.Header.Set("Content-Type", w.FormDataContentType())
		r.ContentLength = int64(body.Len())
		r.Body = http.NoBody
		r.Body = readCloser{&body}
	})
}

type readCloser struct{ *bytes.Buffer }

// Close does nothing.
func (readCloser) Close() error { return nil }

// TestManyFromAFile: a file is read and previewed line by line; its good lines are added,
// and the others stay. What is too large, or no text, is said.
func TestManyFromAFile(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "file")
	p := s.as(f.Coach)
	got := p.file("\ufeffnickname;born;groups\nÜnal-O'Shea;2015-02-03;Tuesday\n=1+1;2014-02-03;\n" + strings.Repeat("x", 300) +
		";;\n" + f.Student.Name + ";;\n")
	to := got.header.Get("Location")
	page := p.get(to).body
	if got.status != 303 || strings.Contains(page, "2015-02") || strings.Contains(page, "2014-02") {
		t.Fatalf("%d to %s", got.status, to)
	}
	for _, want := range []string{"Ünal-O&#39;Shea", "=1+1", "it has 300", "in the club already", "Not kept: born.", "waits for consent",
		"2 students can be added.", "Two lines have a problem and stay here."} {
		if !strings.Contains(page, want) {
			t.Errorf("the preview does not say %q", want)
		}
	}
	draft := to[strings.Index(to, "=")+1:]
	form := fields("do", "add", "draft", draft, "once", "aaaaaaaaaaaaaaaaaaaaaaaaaa")
	first, second := p.post("/students/many", form), p.post("/students/many", form)
	if first.status != 303 || first.header.Get("Location") != second.header.Get("Location") {
		t.Errorf("%d to %s, then to %s", first.status, first.header.Get("Location"), second.header.Get("Location"))
	}
	after := p.get(first.header.Get("Location")).body
	if !strings.Contains(after, "2 students added.") || strings.Contains(after, "=1+1") || !strings.Contains(after, "it has 300") {
		t.Error("after adding")
	}
	if r, err := s.store.Roster(ctx, f.Coach.Club, store.RosterAsk{}); err != nil || r.All != 4 || r.Waiting != 2 {
		t.Errorf("%+v, %v", r, err)
	}
	if got := p.file(strings.Repeat("x", 1<<20+1)); got.status != 422 || !strings.Contains(got.body, "larger than 1 MB") {
		t.Errorf("too large: %d", got.status)
	}
	if got := p.file("PK\x03\x04"); got.status != 422 || !strings.Contains(got.body, "no table in plain text") {
		t.Errorf("no text: %d", got.status)
	}
	if got := s.as(f.Coach2).get(to); strings.Contains(got.body, "Shea") || !strings.Contains(got.body, "no longer kept") {
		t.Error("another coach reads the draft")
	}
}

// TestWaitsForConsent: such a student is on the roster with that word, has a page with the
// form that notes the consent, no card before it, and a card after.
func TestWaitsForConsent(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "waiting")
	p := s.as(f.Coach)
	to := p.post("/students/many", fields("text", "Siv", "do", "look")).header.Get("Location")
	p.post("/students/many", fields("do", "add", "draft", to[strings.Index(to, "=")+1:]))
	r, err := s.store.Roster(ctx, f.Coach.Club, store.RosterAsk{Find: "Siv"})
	if err != nil || len(r.Rows) != 1 {
		t.Fatal(r, err)
	}
	page := fmt.Sprintf("/students/%d", r.Rows[0].ID)
	for _, c := range []struct{ path, say string }{{"/students", "waits for consent"}, {page, "Waits for consent"},
		{page + "/card", "waits for consent"}, {page + "/consent", "Note the consent"}, {page + "/edit", "Siv"},
		{"/cards", "Siv waits for consent"}} {
		if got := p.get(c.path); got.status != 200 || !strings.Contains(got.body, c.say) {
			t.Errorf("%s: %d", c.path, got.status)
		}
	}
	if got := p.post(page+"/card", fields()); got.status != http.StatusConflict {
		t.Errorf("a card before consent: %d", got.status)
	}
	guardian, err := s.store.AddGuardian(ctx, f.Coach, r.Rows[0].ID, "Una")
	if err != nil {
		t.Fatal(err)
	}
	una := f.Guardian
	una.Person = guardian.Guardian
	if got := s.as(una).get("/report"); got.status != 200 || !strings.Contains(got.body, "Nobody has agreed yet") {
		t.Errorf("the report: %d", got.status)
	}
	if got := p.post(page+"/consent", fields("consent_by", "Una", "consent_on", "2026-01-02")); got.status != 422 {
		t.Errorf("without the tick: %d", got.status)
	}
	if got := p.post(page+"/consent", fields("consent_by", "Una", "consent_on", "2026-01-02", "consent", "yes")); got.status != 303 {
		t.Errorf("with it: %d", got.status)
	}
	if got := p.post(page+"/card", fields()); got.status != 303 {
		t.Errorf("a card: %d", got.status)
	}
}

// TestOldCardsAreChosenOneByOne: a selection of the roster leads to a page that says what
// stops, where only those without a card are ticked.
func TestOldCardsAreChosenOneByOne(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "chosen")
	p := s.as(f.Coach)
	got := p.post("/students/chosen", fields("do", "cards", "student", fmt.Sprint(f.Student.Person)))
	to := got.header.Get("Location")
	page := p.get(to).body
	if got.status != 303 || !strings.Contains(page, "the old one stops working, and the child is signed out everywhere") ||
		!strings.Contains(page, fmt.Sprintf(`name="replace" value="%d">`, f.Student.Person)) ||
		strings.Contains(page, f.Student2.Name) {
		t.Errorf("%d to %s", got.status, to)
	}
	if a, err := s.store.Open(ctx, f.Card.Token); err != nil || a.Person != f.Student.Person {
		t.Errorf("the old card: %v", err)
	}
}

// TestNoFileIsNoFault: a browser sends an empty file with a form in which none was chosen.
func TestNoFileIsNoFault(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "nofile")
	got := s.as(f.Coach).post("/students/many", fields("text", "nickname\nWren", "file", ""))
	if got.status != http.StatusSeeOther || !strings.HasPrefix(got.header.Get("Location"), "/students/many?draft=") {
		t.Errorf("%d %.300s", got.status, got.body)
	}
}
