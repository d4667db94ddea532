package web_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"drover/game/practice"
	"drover/store/storetest"
)

// TestTermReportIsSigned: a guardian reads a term report once the coach has read and signed it,
// as it was then; a draft is nobody's but the coaches'. What has changed since it was read is
// not signed.
func TestTermReportIsSigned(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "term")
	coach, guardian := s.as(f.Coach), s.as(f.Guardian)
	day := s.now().Format("2006-01-02")
	got := coach.post(fmt.Sprintf("/students/%d/terms", f.Student.Person), fields("title", "Autumn 2026", "from", day, "to", day))
	at := got.header.Get("Location")
	if got.status != http.StatusSeeOther || !strings.Contains(at, "/terms/") {
		t.Fatalf("%d %s", got.status, got.body)
	}
	own := strings.Replace(at, "/students/", "/report/", 1)
	page := coach.get(at).body
	if !strings.Contains(page, "played no game that counts in this time") {
		t.Errorf("the draft says %s", page)
	}
	if strings.Contains(guardian.get("/report").body, "Autumn 2026") || guardian.get(own).status != http.StatusNotFound {
		t.Error("a guardian reads a draft")
	}
	read := hidden(t, page, at, "read")
	form := fields("title", "Autumn 2026", "from", day, "to", day, "remark", "Looks at the rows first.", "do", "sign", "read", read)
	s.does(f.Student, f.Game, practice.Resign, "")
	if got := coach.post(at, form); got.status != http.StatusConflict || !strings.Contains(got.body, "read it once more") {
		t.Fatalf("something else was said meanwhile, and it is signed: %d", got.status)
	}
	draft := coach.get(at).body
	if !strings.Contains(draft, f.Coach.Name+" writes</h2><p>Looks at the rows first.</p>") || !strings.Contains(draft, "A draft: nobody has signed it") {
		t.Errorf("the draft does not show the remark as guardians will read it: %s", draft)
	}
	form.Set("read", hidden(t, draft, at, "read"))
	if got := coach.post(at, form); got.status != http.StatusSeeOther {
		t.Fatalf("%d %s", got.status, got.body)
	}
	report, signed := guardian.get("/report").body, guardian.get(own)
	for _, want := range []string{"Looks at the rows first.", f.Coach.Name + " writes", "Autumn 2026"} {
		if !strings.Contains(report, want) {
			t.Errorf("the report lacks %q", want)
		}
	}
	if signed.status != http.StatusOK || !strings.Contains(signed.body, "played 1 game on 1 day") || !strings.Contains(signed.body, "Read and signed by") {
		t.Errorf("%d %s", signed.status, signed.body)
	}
	form.Set("remark", "Another one")
	if got := coach.post(at, form); got.status != http.StatusConflict {
		t.Errorf("a signed report is changed: %d", got.status)
	}
	if got := s.as(f.Guardian2).get(own); got.status != http.StatusNotFound {
		t.Errorf("another guardian gets %d", got.status)
	}
	if coach.get(fmt.Sprintf("/students/%d/report", f.Student.Person)).body == "" {
		t.Error("the coach reads nothing")
	}
}

// hidden is a hidden field of the form of a page that posts to an address.
func hidden(t *testing.T, page, action, name string) string {
	t.Helper()
	return pageForms(t, page)[action][name]
}
