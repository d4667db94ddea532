package web_test

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"

	"drover/store"
	"drover/store/storetest"
)

// TestUndoButton: after a change its page offers to undo it, and the button does; who was
// second is told, and sees both versions.
func TestUndoButton(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "undo")
	p, at := s.as(f.Coach), fmt.Sprintf("/students/%d", f.Student.Person)
	edit := fields("name", "Wren of the harbour", "wording", "14", "revision", "0")
	got := p.post(at+"/edit", edit)
	if got.status != http.StatusSeeOther {
		t.Fatalf("%d %.300s", got.status, got.body)
	}
	page := p.get(got.header.Get("Location")).body
	_, rest, found := strings.Cut(page, `action="/undo/`)
	id, _, _ := strings.Cut(rest, `"`)
	if !found || !strings.Contains(page, "Saved.") {
		t.Fatalf("nothing offers to undo: %.400s", page)
	}
	second := s.as(f.Coach2).post(at+"/edit", fields("name", "Wren of the hill", "wording", "8", "revision", "0"))
	if second.status != http.StatusConflict || !strings.Contains(second.body, "Somebody else has changed this") ||
		!strings.Contains(second.body, "Now: Wren of the harbour") || !strings.Contains(second.body, `value="Wren of the hill"`) {
		t.Errorf("the second: %d %.600s", second.status, second.body)
	}
	if got := p.post("/undo/"+id, nil); got.status != http.StatusSeeOther || !strings.Contains(p.get(got.header.Get("Location")).body, "Undone.") {
		t.Errorf("undo: %d", got.status)
	}
	if got := p.post("/undo/"+id, nil); got.status != http.StatusConflict {
		t.Errorf("undo twice: %d", got.status)
	}
	if file, err := s.store.StudentFile(ctx, f.Coach.Club, f.Student.Person); err != nil || file.Name != f.Student.Name {
		t.Errorf("%+v, %v", file, err)
	}
}

// TestChosenOnTheRoster: several students are put in a group, or archived at once with one
// undoing; without a tick the page says so.
func TestChosenOnTheRoster(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "chosen")
	p := s.as(f.Coach)
	p.post("/groups", fields("name", "Tuesday"))
	groups, err := s.store.Groups(ctx, f.Coach)
	if err != nil || len(groups) != 1 {
		t.Fatal(groups, err)
	}
	both := url.Values{"student": {fmt.Sprint(f.Student.Person), fmt.Sprint(f.Student2.Person)}}
	with := func(do string, more ...string) url.Values {
		v := fields(append(more, "do", do)...)
		v["student"] = both["student"]
		return v
	}
	if got := p.post("/students/chosen", fields("do", "archive")); got.status != 422 || !strings.Contains(got.body, "Nobody is chosen") {
		t.Errorf("nobody: %d", got.status)
	}
	p.post("/students/chosen", with("group", "group", fmt.Sprint(groups[0].ID)))
	if body := p.get(fmt.Sprintf("/students?group=%d", groups[0].ID)).body; !strings.Contains(body, f.Student.Name) ||
		!strings.Contains(body, f.Student2.Name) {
		t.Error("they are not in the group")
	}
	if got := p.post("/students/chosen", with("drill")); !strings.HasPrefix(got.header.Get("Location"), "/drills?for=") {
		t.Errorf("a drill: %s", got.header.Get("Location"))
	}
	given := p.post(fmt.Sprintf("/drills/%d/assign", f.Drill.ID), fields("group", fmt.Sprint(groups[0].ID), "again", "more"))
	if given.status != http.StatusSeeOther {
		t.Errorf("to a whole group: %d %.300s", given.status, given.body)
	}
	got := p.post("/students/chosen", with("archive"))
	page := p.get(got.header.Get("Location")).body
	if !strings.Contains(page, "2 students archived.") && !strings.Contains(page, "Two students archived.") {
		t.Errorf("%.500s", page)
	}
	if r, err := s.store.Roster(ctx, f.Coach.Club, store.RosterAsk{Archived: true}); err != nil || len(r.Rows) != 2 {
		t.Errorf("%+v, %v", r, err)
	}
	if body := p.get(fmt.Sprintf("/students/%d", f.Student.Person)).body; !strings.Contains(body, "Take back") {
		t.Error("an archived student cannot be taken back")
	}
	p.post(fmt.Sprintf("/students/%d/back", f.Student.Person), nil)
	if r, err := s.store.Roster(ctx, f.Coach.Club, store.RosterAsk{}); err != nil || len(r.Rows) != 1 {
		t.Errorf("taken back: %+v, %v", r, err)
	}
}

// TestTableRunsNoFormula: the table for a spreadsheet has every student with a name that
// runs no formula, and begins so that accents are read.
func TestTableRunsNoFormula(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "table")
	storetest.Exec(t, storetest.Address(s.store), "update people set name = '=1+1' where id = $1", f.Student.Person)
	got := s.as(f.Coach).get("/students.csv")
	if got.status != 200 || !strings.HasPrefix(got.body, "\ufeffnickname,") || strings.Contains(got.body, "\n=1+1") ||
		!strings.Contains(got.body, "\n'=1+1,") || !strings.Contains(got.header.Get("Content-Disposition"), "students.csv") {
		t.Errorf("%d %q", got.status, got.body)
	}
}

// TestDueOutOfHolidays: nothing is due in the holidays, and the form says which they are.
func TestDueOutOfHolidays(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "holidays")
	day := s.now().AddDate(0, 0, 10)
	p := s.as(f.Coach)
	now, err := s.store.Settings(ctx, f.Coach.Club)
	if err != nil {
		t.Fatal(err)
	}
	got := p.post("/settings", fields("name", now.Name, "zone", "UTC",
		"outside", "", "revision", fmt.Sprint(now.Revision), "holidays", day.Format("2006-01-02")+" Market day\nnonsense"))
	if got.status != 422 || !strings.Contains(got.body, "Line 2 cannot be read") {
		t.Errorf("a line that cannot be read: %d", got.status)
	}
	got = p.post("/settings", fields("name", now.Name, "zone", "UTC",
		"outside", "", "revision", fmt.Sprint(now.Revision), "holidays", day.Format("2006-01-02")+" Market day"))
	if got.status != http.StatusSeeOther {
		t.Fatalf("%d %.300s", got.status, got.body)
	}
	due := fields("student", fmt.Sprint(f.Student2.Person), "due", day.Format("2006-01-02"))
	if got := p.post(fmt.Sprintf("/drills/%d/assign", f.Drill.ID), due); got.status != 422 || !strings.Contains(got.body, "Market day") {
		t.Errorf("due in the holidays: %d", got.status)
	}
}
