package main

import (
	"strings"
	"testing"
	"time"
)

// appointed is a welfare officer of a new club, with a second factor.
func appointed(t *testing.T, s *server, owner *tab, name string) *tab {
	t.Helper()
	owner.open(s.base + "/welfare")
	owner.click(`form[action="/welfare/invite"] button`)
	owner.wait(`document.querySelector('#url')`)
	officer := joins(t, must[string](owner, "document.querySelector('#url').value"), name)
	officer.turnsFactorOn(s)
	return officer
}

// TestChildTells is the journey of that name, with the keyboard alone: from its game a child
// tells in two presses, the first one leading to the page and the second one telling; the
// officer opens it, notes it and reads the games for a noted reason; on the coach's pages
// nothing changes, and the browser that told keeps nothing of it.
func TestChildTells(t *testing.T) {
	s := startServer(t)
	owner := newTab(t, 1280, 900)
	makeClub1(owner, s)
	wick := addPupil(owner, s, "Wick")
	give(owner, s, "ending=KRK", map[string]string{"fens": "8/8/8/4k3/8/8/8/R3K3 w - - 0 1", "name": "Rook"})
	officer := appointed(t, s, owner, "Solveig")
	child := signInCard(t, s, wick, 390, 844)
	owner.open(s.base + "/since")
	owner.sees("Playing now: Wick")
	before := must[string](owner, "document.querySelector('main').innerText")

	playing := must[string](child, "location.pathname")
	child.tabTo("a.tell")
	child.press(keyEnter)
	child.at("/tell")
	child.tabTo(".tell-form textarea")
	child.press("planted words")
	child.tabTo(".tell-form .go")
	child.press(keyEnter)
	child.at("/tell/told")
	child.sees("You have told us. That was the right thing to do.")
	child.sees("Perhaps nobody reads it tonight.")
	if kept := must[string](child, "JSON.stringify(localStorage) + JSON.stringify(sessionStorage)"); strings.Contains(kept, "planted") {
		t.Errorf("the browser keeps %s", kept)
	}
	child.open(s.base + "/tell")
	if text := must[string](child, "document.querySelector('textarea').value"); text != "" {
		t.Errorf("the field is filled with %q", text)
	}
	child.open(s.base + playing)
	child.ready(1)

	owner.open(s.base + "/since")
	if after := must[string](owner, "document.querySelector('main').innerText"); after != before {
		t.Errorf("the coach's first page was\n%s\nand is\n%s", before, after)
	}
	officer.open(s.base + "/welfare")
	officer.sees("One concern is unopened.")
	officer.click("main .go")
	officer.sees("planted words")
	officer.fill(map[string]string{"words": "Spoke with Wick."})
	officer.click(`form[action$="/note"] button`)
	officer.sees("Spoke with Wick.")
	officer.fill(map[string]string{"reason": "To see the game of that evening"})
	officer.click(`form[action$="/games"] button`)
	officer.sees("Games of Wick")
	officer.open(s.base + "/welfare/reads")
	officer.sees("Reason: To see the game of that evening")
	officer.open(s.base + "/welfare")
	officer.sees("No concern is unopened.")
}

// TestOfficerBars: a coach watches a game when the welfare officer stops the access; the
// watch page is left within five seconds, the password opens nothing, the child plays on,
// the owner is told and gives the access back.
func TestOfficerBars(t *testing.T) {
	s := startServer(t)
	owner := newTab(t, 1280, 900)
	makeClub1(owner, s)
	wick := addPupil(owner, s, "Wick")
	give(owner, s, "ending=KRK", map[string]string{"fens": "8/8/8/4k3/8/8/8/R3K3 w - - 0 1", "name": "Rook"})
	owner.open(s.base + "/coaches")
	owner.click(`form[action="/coaches/invite"] .go`)
	owner.wait(`document.querySelector('#url')`)
	coach := joins(t, must[string](owner, "document.querySelector('#url').value"), "Maren")
	officer := appointed(t, s, owner, "Solveig")
	child := signInCard(t, s, wick, 390, 844)
	coach.open(s.base + must[string](child, "location.pathname.replace('/play/', '/watch/')"))
	child.sees("Maren is watching.")

	officer.open(s.base + "/welfare/access")
	officer.click(`.staff-rows li:nth-child(2) a`)
	officer.sees("Bar Maren")
	officer.fill(map[string]string{"reason": "Until it is cleared up"})
	officer.click(`main form .go`)
	began := time.Now()
	coach.at("/in")
	t.Logf("the watch page is left %s after the bar (goal: 5 s)", time.Since(began).Round(time.Millisecond))
	coach.coachIn(s, "Maren@test.example", "a long sentence for Maren")
	coach.sees("A welfare officer has barred you from coming in. Ask the club.")
	child.ready(1)
	owner.open(s.base + "/coaches")
	owner.sees(" was barred on")
	owner.sees("Until it is cleared up")
	owner.click(`form[action$="/lift"] button`)
	owner.wait(`!document.querySelector('form[action$="/lift"]')`)
	coach.coachIn(s, "Maren@test.example", "a long sentence for Maren")
	coach.at("/since")

	s.sql("update people set barred_at = now() where name = 'Maren'")
	s.sql("update bars set lifted_at = null, lifted_by = null")
	if out, said := s.admin("owner", "maren@test.example"); out != "" || !strings.Contains(said, "drover admin lift") {
		t.Errorf("a barred coach becomes an owner at the server: %q, %q", out, said)
	}
	if out, said := s.admin("coaches"); said != "" || !strings.Contains(out, " barred ") {
		t.Errorf("the list at the server: %q, %q", out, said)
	}
	if out, said := s.admin("lift", "maren@test.example"); said != "" || !strings.HasPrefix(out, "Maren of Test club may come in again.") {
		t.Errorf("lifted at the server: %q, %q", out, said)
	}
	if out, said := s.admin("lift", "maren@test.example"); out != "" || !strings.Contains(said, "is not stopped") {
		t.Errorf("lifted twice: %q, %q", out, said)
	}
}
