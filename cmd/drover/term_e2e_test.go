package main

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

// TestTermsWork is a coach's work of a term in a new club: a ready drill for a group of 24 in
// three clicks from the shelf, who has not begun it, the undo; a drill that comes each week;
// a term plan filled with a ready one, of which a week is given. Grid and plan are printed.
func TestTermsWork(t *testing.T) {
	s := startServer(t)
	b := newTab(t, 1280, 900)
	makeClub1(b, s)
	addClass(b, s, 24)

	b.open(s.base + "/drills")
	b.sees("Drills 1 to 50 of 53")
	b.fill(map[string]string{"ending": "KQK", "trains": "kind-trap"})
	b.click(`form[role="search"] button`)
	b.wait(`location.search.includes("kind-trap") && document.querySelectorAll(".drill-rows a.btn").length === 1`)
	b.click(".drill-rows li .btn") // one
	b.click(`[name="group"]`)      // two
	b.click(`form[action$="/assign"] .go`)
	b.sees("Assigned to 24 students.") // three clicks, and no field
	b.open(s.base + "/set")
	b.sees("24 students have begun nothing.")
	if n, size := b.onPaper(); n != 1 || size != lying {
		t.Errorf("the grid takes %d sheets of %s", n, size)
	}
	b.plainPaper("the grid")
	b.media("screen")
	b.click(".column-tools summary")
	b.click(`form[action*="/withdraw"] button`)
	b.sees("Nothing is set just now.")
	b.click(`form[action^="/undo/"] button`)
	b.sees("24 students have begun nothing.")
	b.open(s.base + "/drills?ending=KQK&trains=kind-trap")
	b.click(".drill-rows li .btn")
	b.click(`[name="group"]`)
	b.click(`form[action$="/assign"] .go`)
	b.sees("All of them have this open already.")
	b.fill(map[string]string{"due": s.day(3), "until": s.day(15)})
	b.click(`[name="again"][value="more"]`)
	b.click(`form[action$="/assign"] .go`)
	b.sees("It comes three times, once a week.")

	givesAWeek(b, s)
}

// givesAWeek makes a plan, fills it, and gives its week: two clicks once the plan is there.
func givesAWeek(b *tab, s *server) {
	b.Helper()
	b.open(s.base + "/plans")
	b.fill(map[string]string{"title": "Autumn", "from": s.day(0), "weeks": "12"})
	b.click(`form[action="/plans"] .go`)
	b.at("/plans/")
	b.click(`form[action$="/fill"] button`)
	b.sees("Week 1 is not given yet.")
	if n, size := b.onPaper(); n != 1 || size != lying {
		b.Errorf("the plan takes %d sheets of %s", n, size)
	}
	b.plainPaper("the plan")
	b.media("screen")
	b.click(".head-actions .go")
	b.sees("Two rooks: mate: 24 students")
	b.click("form .go")
	b.sees("given, 0 of 24 done")
	b.sees("Week 2 is not given yet.")
	b.click(`form[action^="/undo/"] button`)
	b.wait(`location.search === '?undone'`)
	b.open(s.base + "/plans")
	b.sees("Week 1 is not given yet.")
}

// day is a day some days from today.
func (s *server) day(in int) string { return time.Now().UTC().AddDate(0, 0, in).Format(time.DateOnly) }

// addClass adds children to a group by pasting a table.
func addClass(b *tab, s *server, n int) {
	b.Helper()
	var table strings.Builder
	table.WriteString("nickname\twording\tgroups\tguardian\tdate of consent\n")
	for i := range n {
		fmt.Fprintf(&table, "Child %d\t8\tTuesday\tGuardian %d\t24.11.2026\n", i, i)
	}
	b.open(s.base + "/students")
	b.click(`a[href="/students/many"]`)
	b.at("/students/many")
	b.fill(map[string]string{"text": table.String()})
	b.click(`[value="look"]`)
	b.sees(fmt.Sprintf("%d students can be added.", n))
	b.click(`[name="signed"]`)
	b.click(`[value="add"]`)
	b.sees(fmt.Sprintf("%d students added.", n))
}
