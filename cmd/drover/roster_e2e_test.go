package main

import (
	"fmt"
	"strings"
	"testing"
)

// tabTo goes on by the tab key until something has the focus.
func (b *tab) tabTo(selector string) {
	b.Helper()
	for range 80 {
		if must[bool](b, fmt.Sprintf(`document.activeElement.matches(%q)`, selector)) {
			return
		}
		b.press("\t")
	}
	b.Fatalf("the tab key never comes to %s", selector)
}

// TestRosterByKeyboard: a coach finds a child, ticks it, archives it, takes that back and
// opens the child's page with the keyboard alone.
func TestRosterByKeyboard(t *testing.T) {
	s := startServer(t)
	b := newTab(t, 1280, 900)
	makeClub1(b, s)
	addClass(b, s, 12)
	b.open(s.base + "/students")
	b.tabTo(`[name="find"]`)
	b.press("Child 7" + keyEnter)
	b.wait(`location.search.includes("Child+7") && document.querySelectorAll('.roster-table tbody tr').length === 1`)
	b.tabTo(`.roster-table [name="student"]`)
	b.press(" ")
	b.wait(`document.querySelector('.roster-table [name="student"]').checked`)
	back(b, `.chosen [value="archive"]`)
	b.press(keyEnter)
	b.sees("1 student archived.")
	b.tabTo(`form[action^="/undo/"] button`)
	b.press(keyEnter)
	b.sees("It is as it was before.")
	b.tabTo(`.roster-table tbody a`)
	b.press(keyEnter)
	b.at("/students/")
	b.sees("What comes next")
}

// back goes to something that stands before what has the focus: round by the top of the page.
func back(b *tab, selector string) {
	b.Helper()
	must[bool](b, `(document.activeElement.blur(), document.querySelector('.skip').focus(), true)`)
	b.tabTo(selector)
}

// TestOddRoster is the journey of that name on the page: a table with a byte-order mark,
// semicolons, accents, a right-to-left name, an emoji, a formula, 300 letters, a double and
// empty rows. Each problem stands by its line, the rest is added, and the table that comes
// out runs no formula.
func TestOddRoster(t *testing.T) {
	s := startServer(t)
	b := newTab(t, 390, 844)
	makeClub1(b, s)
	lines := []string{"\ufeffnickname;wording;groups;guardian;date of consent", "Ünal-O'Shea;8;Tuesday;Guardian;24.11.2026", "ليلى;8;;Guardian;24.11.2026",
		"Kit 🎈;14;;;", "=1+1;8;;Guardian;24.11.2026", strings.Repeat("x", 300) + ";8;;;", "Kit 🎈;8;;;", "", ";;;;"}
	b.open(s.base + "/students/many")
	b.fill(map[string]string{"text": strings.Join(lines, "\n")})
	b.click(`[value="look"]`)
	b.sees("it has 300")
	b.sees("Kit 🎈 stands on line 4 too.")
	b.click(`[name="signed"]`)
	b.click(`[value="add"]`)
	b.sees("4 students added.")
	var names []string
	s.sql("select array_agg(name order by id) from people where role = 'student'", &names)
	if want := "Ünal-O'Shea|ليلى|Kit 🎈|=1+1"; strings.Join(names, "|") != want {
		t.Errorf("added are %q", names)
	}
	b.open(s.base + "/students")
	must[bool](b, `(fetch('/students.csv').then((a) => a.text()).then((text) => { window.table = text; }), true)`)
	b.wait(`window.table?.includes("\n'=1+1,") && !window.table.includes("\n=1+1")`)
}
