package web_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"drover/game"
	"drover/game/club"
	"drover/game/practice"
	"drover/store/storetest"
)

// TestGridSaysWhoHasNotBegun: of a group the page says first who has begun nothing; a drill
// that is done, begun, withdrawn or not begun is told apart in words.
func TestGridSaysWhoHasNotBegun(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "grid")
	p := s.as(f.Coach)
	card, err := s.store.AddStudent(ctx, f.Coach, club.NewStudent{Name: "Abe", ConsentBy: "Ann", ConsentOn: s.now(), Consent: true})
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.store.Assign(ctx, f.Coach, f.Drill.ID, []game.PersonID{card.Student.ID}, nil); err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(p.get("/set").body, "Abe has begun nothing.") {
		t.Error("it is not said who has begun nothing")
	}
	task := f.Finish(t, s.store, practice.Guided, 1)
	f.Played(t, s.store, task, 0, 1, practice.Clean, s.now(), 60)
	group, err := s.store.KeepGroup(ctx, f.Coach, "Tuesday")
	if err != nil {
		t.Fatal(err)
	}
	if _, err := s.store.PutInGroup(ctx, f.Coach, group, []game.PersonID{f.Student.Person}); err != nil {
		t.Fatal(err)
	}
	all := p.get(fmt.Sprintf("/set?group=%d&show=all", group)).body
	for _, want := range []string{"<b>done</b>", ", 1 clean", "1 of 1</b> have begun"} {
		if !strings.Contains(all, want) {
			t.Errorf("the group's grid has no %q", want)
		}
	}
	if strings.Contains(all, f.Student2.Name) {
		t.Error("a child of no group stands in it")
	}
	if got := p.get("/set?group=999999"); got.status != http.StatusNotFound {
		t.Errorf("a group that is not there: %d", got.status)
	}
	out := fmt.Sprintf("/tasks/%d/withdraw", f.Task)
	if got := p.post(out, fields("student", fmt.Sprint(f.Student.Person))); !strings.HasPrefix(got.header.Get("Location"),
		fmt.Sprintf("/students/%d?done=", f.Student.Person)) {
		t.Errorf("withdraw from one: %d", got.status)
	} else if page := p.get(got.header.Get("Location")).body; !strings.Contains(page, "withdrawn") || !strings.Contains(page, "Undo") {
		t.Error("the page of the child does not say so, or offers no undo")
	}
	due := fmt.Sprintf("/tasks/%d/due?group=%d", f.Task, group)
	for text, want := range map[string]int{"2000-01-01": 422, "soon": 422, s.now().AddDate(0, 0, 2).Format("2006-01-02"): 303} {
		if got := p.post(due, fields("due", text)); got.status != want {
			t.Errorf("due on %q: %d", text, got.status)
		}
	}
}
