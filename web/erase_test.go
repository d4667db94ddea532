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
	if got := s.as(f.Coach).get("/welfare/erasures"); got.status != http.StatusForbidden ||
		!strings.Contains(got.body, "The welfare officer decides about erasures.") || !strings.Contains(got.body, `href="/students"`) {
		t.Errorf("the owner beside an officer: %d %s", got.status, got.body)
	}
	desk := officer.get("/welfare/erasures").body
	if !strings.Contains(desk, "asked for by a guardian, "+f.Guardian.Name) {
		t.Errorf("the officer reads %s", desk)
	}
	for say, want := range map[string]bool{"Nobody has asked for an export.": true, "It was never asked for before.": true,
		"You asked for this yourself.": false, `class="quiet">Stop it`: true} {
		if strings.Contains(desk, say) != want {
			t.Errorf("at first: %q: want %v", say, want)
		}
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
	if got := s.as(f.Guardian).post(child+"/data", fields()); got.status != http.StatusSeeOther {
		t.Errorf("an export: %d", got.status)
	}
	if got := officer.post("/welfare/erasures", fields("number", "101")); got.status != http.StatusSeeOther {
		t.Errorf("the officer asks: %d %.300s", got.status, got.body)
	}
	pages("somebody asked that all about")
	desk = officer.get("/welfare/erasures").body
	for _, say := range []string{"An export was asked for on ", "Asked for and stopped twice before", "and stopped by Solveig.",
		"You asked for this yourself."} {
		if !strings.Contains(desk, say) {
			t.Errorf("in the end the officer does not read %q: %s", say, desk)
		}
	}
}

// TestErasureReachesTheWholeFamily: a guardian of two reads on either child's page that the other is
// to be erased; a child who has left the club has a page, on which what is kept can be taken along
// and the erasure be stopped. Once the day is past nothing says whether anything holds it.
func TestErasureReachesTheWholeFamily(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "family")
	first, second := f.Student, f.Student2
	if err := s.store.AddKin(ctx, f.Coach, second.Person, f.Guardian.Person, f.Card.Student.Number); err != nil {
		t.Fatal(err)
	}
	if _, err := s.store.ArchiveStudent(ctx, f.Coach, second.Person); err != nil {
		t.Fatal(err)
	}
	p, coach := s.as(f.Guardian), s.as(f.Coach)
	at := func(who game.Actor, path string) string { return fmt.Sprintf("/report/%d%s", who.Person, path) }
	if got := coach.post(fmt.Sprintf("/students/%d/erase", second.Person), fields()); got.status != http.StatusSeeOther {
		t.Fatalf("asked by a coach: %d", got.status)
	}
	reads := func(who game.Actor, wants ...string) {
		t.Helper()
		got := p.get(at(who, ""))
		for _, want := range wants {
			if got.status != http.StatusOK || !strings.Contains(got.body, want) {
				t.Errorf("%d: the page of %s does not say %q", got.status, who.Name, want)
			}
		}
	}
	left := second.Name + " has left the club"
	reads(first, "<b>"+second.Name+":</b> On ", "somebody asked that all about "+second.Name+" be erased.")
	reads(second, left, "somebody asked that all about", "Until then you can stop it here.", "Make the export")
	off := s.officer(f, "Sol")
	list, err := s.store.Erasures(ctx, off)
	if err != nil || len(list) != 1 {
		t.Fatal(list, err)
	}
	if err := s.store.ConfirmErasure(ctx, off, list[0].ID); err != nil {
		t.Fatal(err)
	}
	reads(first, "<b>"+second.Name+":</b> All will be erased on ")
	s.audit(`update erasures set due_at = due_at - interval '9 days' returning id::text`)
	reads(first, "All will be erased on ", ", or in the days after it.")
	if got := p.post(at(second, "/data"), fields()); got.status != http.StatusSeeOther {
		t.Errorf("the export of a child who has left: %d", got.status)
	}
	if got := p.post(at(second, "/erase/stop"), fields()); got.status != http.StatusSeeOther {
		t.Errorf("stopping it: %d", got.status)
	}
	reads(second, left, "Ask for erasure")
	if got := p.get(at(second, "/consent")); got.status != http.StatusNotFound {
		t.Errorf("the consent of a child who has left: %d", got.status)
	}
}
