package web_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"drover/game"
	"drover/store/storetest"
)

// TestErasureIsDecidedByTheOfficer: a guardian asks, the coach and the other guardian read that
// without a name, the officer decides by number, and any guardian of the child stops it; once
// more asked for by the coach and by the officer. The owner decides nothing beside an officer.
func TestErasureIsDecidedByTheOfficer(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "erasure")
	second, err := s.store.AddGuardian(ctx, f.Coach, f.Student.Person, "Second Guardian")
	if err != nil {
		t.Fatal(err)
	}
	other := game.Actor{Club: f.Coach.Club, Person: second.Guardian, Role: game.Guardian, Name: "Second Guardian"}
	if page := s.as(f.Coach).get("/welfare/erasures"); page.status != http.StatusOK || !strings.Contains(page.body, "You decide as the owner") {
		t.Errorf("the owner of a club without an officer: %d", page.status)
	}
	solveig := s.officer(f, "Solveig")
	officer := s.as(solveig)
	child := fmt.Sprintf("/report/%d", f.Student.Person)
	pages := func(says string) {
		t.Helper()
		for who, page := range map[string]string{"the guardian": s.as(f.Guardian).get(child).body, "the other guardian": s.as(other).get(child).body,
			"the coach": s.as(f.Coach).get(fmt.Sprintf("/students/%d", f.Student.Person)).body} {
			if !strings.Contains(page, says) {
				t.Errorf("%s does not read %q", who, says)
			}
		}
	}
	pages("seven days")
	s.as(f.Guardian).post(child+"/erase", fields())
	pages("somebody asked that all about")
	if page := s.as(other).get(child + "/erase").body; strings.Contains(page, f.Guardian.Name) {
		t.Error("a guardian reads another's name")
	}
	if got := s.as(f.Coach).get("/welfare/erasures"); got.status != http.StatusForbidden {
		t.Errorf("the owner beside an officer: %d", got.status)
	}
	desk := officer.get("/welfare/erasures").body
	if !strings.Contains(desk, "asked for by a guardian, "+f.Guardian.Name) {
		t.Errorf("the officer reads %s", desk)
	}
	list, err := s.store.Erasures(ctx, solveig)
	if err != nil || len(list) != 1 {
		t.Fatal(list, err)
	}
	at := fmt.Sprintf("/welfare/erasures/%d", list[0].ID)
	if got := officer.post(at+"/confirm", fields()); got.status != http.StatusSeeOther {
		t.Fatalf("to confirm: %d", got.status)
	}
	pages("All will be erased on ")
	if got := officer.post(at+"/confirm", fields()); got.status != http.StatusConflict {
		t.Errorf("confirmed twice: %d", got.status)
	}
	s.as(other).post(child+"/erase/stop", fields())
	pages("seven days")
	s.as(f.Coach).post(fmt.Sprintf("/students/%d/erase", f.Student.Person), fields())
	pages("somebody asked that all about")
	if list, err = s.store.Erasures(ctx, solveig); err != nil || len(list) != 1 {
		t.Fatal(list, err)
	}
	if got := officer.post(fmt.Sprintf("/welfare/erasures/%d/stop", list[0].ID), fields()); got.status != http.StatusSeeOther {
		t.Errorf("the officer stops it: %d", got.status)
	}
	if got := officer.post("/welfare/erasures", fields("number", "101")); got.status != http.StatusSeeOther {
		t.Errorf("the officer asks: %d %.300s", got.status, got.body)
	}
	pages("somebody asked that all about")
}
