package web_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"

	"drover/game/ending"
	"drover/store/storetest"
)

// TestShelfOfANewClub: an empty shelf offers the ready drills; one tap puts them there, and
// a search finds what trains something. Nothing is offered twice.
func TestShelfOfANewClub(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "new")
	p := s.as(f.Coach)
	if got := p.get("/drills"); !strings.Contains(got.body, "Get the ready drills") {
		t.Error("the ready drills are not offered")
	}
	if got := p.post("/drills/ready", fields()); got.header.Get("Location") != "/drills" {
		t.Fatalf("%d", got.status)
	}
	got := p.get("/drills")
	if strings.Contains(got.body, "Get the ready drills") || !strings.Contains(got.body, "Drills 1 to 50 of 5") {
		t.Error("the shelf is not filled, or offers more")
	}
	if last := p.get("/drills?page=2"); !strings.Contains(last.body, f.Drill.Name) {
		t.Error("the club's own drill is not last")
	}
	for query, want := range map[string]string{
		"trains=kind-corner":               "Drive him out of the corner in which he cannot be mated.",
		"ending=hold-KPK&level=3":          "only move",
		"find=leave+him+a+square":          "Queen: traps",
		"ending=KRK&trains=test":           "Rook: test",
		"find=" + strings.Repeat("x", 300): "No drill fits.",
	} {
		if got := p.get("/drills?" + query); got.status != 200 || !strings.Contains(got.body, want) {
			t.Errorf("%s: %d, without %q", query, got.status, want)
		}
	}
}

// TestDrillIsChangedAsANewVersion: the builder opens with a drill, and what is saved takes
// its place on the shelf; who has it keeps the old one. Of two who change it the second is
// told and loses nothing.
func TestDrillIsChangedAsANewVersion(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "version")
	p := s.as(f.Coach)
	page := p.get(fmt.Sprintf("/drills/new?edit=%d", f.Drill.ID))
	if page.status != 200 || !strings.Contains(page.body, storetest.RookStart) || !strings.Contains(page.body, "a new version") {
		t.Fatalf("%d", page.status)
	}
	form := fields("of", fmt.Sprint(f.Drill.ID), "ending", "KRK", "from", string(ending.Centralise), "to", "mate", "defender", "longest",
		"mode", "practice", "count", "1", "seed", "1", "kind", "pasted", "fens", strings.Join(f.Drill.Starts, "\n"), "name", "Mine now",
		"allowance", "3", "backs", "1", "budget", "0", "clock", "0", "pass", "all", "do", "shelf")
	got := p.post("/drills", form)
	to := got.header.Get("Location")
	if got.status != http.StatusSeeOther || !strings.HasPrefix(to, "/drills?done=") {
		t.Fatalf("%d %s", got.status, to)
	}
	shelf := p.get(to).body
	if !strings.Contains(shelf, "Mine now") || strings.Contains(shelf, ">"+f.Drill.Name+"<") || !strings.Contains(shelf, "Undo") {
		t.Error("the new version is not in its place")
	}
	if body := s.as(f.Student).get("/today").body; strings.Contains(body, "Mine now") {
		t.Error("a child's drill changed its name")
	}
	if got := p.get(fmt.Sprintf("/drills/%d", f.Drill.ID)); !strings.Contains(got.body, "Go to the new version") {
		t.Errorf("the old version: %d", got.status)
	}
	form.Set("name", "Theirs")
	if got := s.as(f.Coach2).post("/drills", form); got.status != http.StatusConflict || !strings.Contains(got.body, "Theirs") ||
		!strings.Contains(got.body, "Somebody else has changed") {
		t.Errorf("the second: %d", got.status)
	}
	if got := p.get(fmt.Sprintf("/drills/new?copy=%d", f.Drill.ID)); !strings.Contains(got.body, "Copy of "+f.Drill.Name) {
		t.Errorf("a copy: %d", got.status)
	}
}

// TestWhoHasItAlreadyIsAsked: before a drill is given twice the page says who has it open,
// and gives it to the others alone, or once more.
func TestWhoHasItAlreadyIsAsked(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "again")
	p := s.as(f.Coach)
	path := fmt.Sprintf("/drills/%d/assign", f.Drill.ID)
	who := fields("student", fmt.Sprint(f.Student.Person), "due", "")
	got := p.post(path, who)
	if got.status != 422 || !strings.Contains(got.body, f.Student.Name+" has this open already.") || !strings.Contains(got.body, "Leave them out") {
		t.Fatalf("%d", got.status)
	}
	who.Set("again", "out")
	if got := p.post(path, who); got.status != 422 || !strings.Contains(got.body, "Choose others.") {
		t.Errorf("all of them left out: %d", got.status)
	}
	if got := p.post(path, fields("all", "yes")); !strings.Contains(got.body, f.Student.Name+" and "+f.Student2.Name+" have this open already.") {
		t.Errorf("to everybody: %d", got.status)
	}
	who.Set("again", "more")
	got = p.post(path, who)
	to := got.header.Get("Location")
	body := p.get(to).body
	if got.status != http.StatusSeeOther || !strings.Contains(body, "Assigned to") {
		t.Fatalf("%d", got.status)
	}
	_, rest, _ := strings.Cut(body, `action="/undo/`)
	change, _, _ := strings.Cut(rest, `"`)
	if got := p.post("/undo/"+change, fields()); got.status != http.StatusSeeOther {
		t.Errorf("undo: %d", got.status)
	}
	if tasks, err := s.store.Tasks(ctx, f.Student); err != nil || len(tasks) != 1 {
		t.Errorf("%d are open, %v", len(tasks), err)
	}
}
