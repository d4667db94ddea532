package web_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"drover/game"
	"drover/store/storetest"
)

// TestTermPlan: a plan is made, filled with a ready one, its week looked at and given by one
// tap; the undo takes all of it back. A cell takes a drill or an ending, by which each child
// gets what comes next; holidays are left out.
func TestTermPlan(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "plan")
	group, err := s.store.KeepGroup(ctx, f.Coach, "Tuesday")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.store.PutInGroup(ctx, f.Coach, group, []game.PersonID{f.Student.Person, f.Student2.Person}); err != nil {
		t.Fatal(err)
	}
	p := s.as(f.Coach)
	p.post("/drills/ready", fields())
	rest := s.now().AddDate(0, 0, 7)
	settings, err := s.store.Settings(ctx, f.Coach.Club)
	if err != nil {
		t.Fatal(err)
	}
	p.post("/settings", fields("name", settings.Name, "zone", "UTC", "outside", "", "revision", fmt.Sprint(settings.Revision), "holidays",
		rest.AddDate(0, 0, -6).Format("2006-01-02")+" to "+rest.AddDate(0, 0, 6).Format("2006-01-02")+" Winter"))
	got := p.post("/plans", fields("title", "Autumn", "from", s.now().Format("2006-01-02"), "weeks", "6", "once", "a"))
	at := got.header.Get("Location")
	if got.status != http.StatusSeeOther {
		t.Fatalf("%d", got.status)
	}
	if got := p.post(at+"/fill", fields("group", fmt.Sprint(group), "level", "1")); got.status != http.StatusSeeOther {
		t.Fatalf("fill: %d %.300s", got.status, got.body)
	}
	page := p.get(at).body
	if !strings.Contains(page, "Two rooks") || !strings.Contains(page, "Winter: nothing is due.") {
		t.Error("the plan has no drill, or no holidays")
	}
	if got := p.post(at+"/cell", fields("week", "3", "group", fmt.Sprint(group), "what", "ending-KRK", "do", "put")); got.status != http.StatusSeeOther {
		t.Errorf("an ending: %d", got.status)
	}
	week := p.get(at + "/week?no=3").body
	if !strings.Contains(week, "Rook: mate: 2 students") {
		t.Error("the look at the week does not say what each child gets")
	}
	got = p.post(at+"/week", fields("week", "3", "once", "b"))
	to := got.header.Get("Location")
	if got.status != http.StatusSeeOther || !strings.HasPrefix(to, at+"?given=") {
		t.Fatalf("give: %d %.300s", got.status, got.body)
	}
	if again := p.post(at+"/week", fields("week", "3", "once", "c")); again.status != http.StatusUnprocessableEntity {
		t.Errorf("given twice: %d", again.status)
	}
	body := p.get(to).body
	if !strings.Contains(body, "given, 0 of 2 done") {
		t.Error("the plan does not say that it is given")
	}
	_, rest2, _ := strings.Cut(body, `action="/undo/`)
	change, _, _ := strings.Cut(rest2, `"`)
	if got := p.post("/undo/"+change, fields()); got.status != http.StatusSeeOther || strings.Contains(p.get(at).body, "given, 0 of 2 done") {
		t.Errorf("undo: %d", got.status)
	}
	if got := p.post(at+"/move", fields("week", "3")); got.status != http.StatusSeeOther {
		t.Errorf("move: %d", got.status)
	}
	if got := p.post("/plans", fields("title", "Spring", "from", s.now().AddDate(0, 4, 0).Format("2006-01-02"), "weeks", "6", "of",
		strings.TrimPrefix(at, "/plans/"), "once", "d")); !strings.Contains(p.get(got.header.Get("Location")).body, "Two rooks") {
		t.Error("the copy is empty")
	}
	for _, odd := range []string{"/week?no=99", "/week", "/cell?week=1", "/cell?week=1&group=999"} {
		if got := p.get(at + odd); got.status != http.StatusNotFound {
			t.Errorf("%s: %d", odd, got.status)
		}
	}
}
