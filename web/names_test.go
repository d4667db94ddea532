package web_test

import (
	"net/http"
	"strings"
	"testing"

	"drover/store"
	"drover/store/storetest"
)

// TestSameNicknameIsAsked: a nickname that the club has brings the form back with
// what was typed, the question and a box; with the box ticked the child is added.
func TestSameNicknameIsAsked(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "asked")
	p := s.as(f.Coach)
	const box = `name="same"`
	if got := p.get("/students"); strings.Contains(got.body, box) {
		t.Error("the box is there before anybody asked")
	}
	if got := p.post("/students", newStudent("Juniper")); got.status != http.StatusSeeOther {
		t.Fatal(got.status)
	}
	form := newStudent("JUNIPER ")
	got := p.post("/students", form)
	if got.status != 422 || !strings.Contains(got.body,
		"There is a Juniper in the club already. Is this another child?") ||
		!strings.Contains(got.body, box) || !strings.Contains(got.body, `value="JUNIPER "`) {
		t.Errorf("the same name: %d", got.status)
	}
	form.Set("same", "yes")
	form.Del("consent")
	if got := p.post("/students", form); got.status != 422 || !strings.Contains(got.body, box) ||
		!strings.Contains(got.body, "value=\"yes\" checked") {
		t.Errorf("with another thing missing the tick is lost: %d", got.status)
	}
	form.Set("consent", "yes")
	if got := p.post("/students", form); got.status != http.StatusSeeOther {
		t.Errorf("with the tick: %d", got.status)
	}
	if r, err := s.store.Roster(ctx, f.Coach.Club, store.RosterAsk{}); err != nil || len(r.Rows) != 4 {
		t.Errorf("%d on the roster, %v", len(r.Rows), err)
	}
}

// TestTurnedNameIsRefused: a name with an override comes back with a sentence.
func TestTurnedNameIsRefused(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "turned")
	if got := s.as(f.Coach).post("/students", newStudent("re\u202epinuJ")); got.status != 422 ||
		!strings.Contains(got.body, "changes the direction of writing") {
		t.Errorf("%d", got.status)
	}
}
