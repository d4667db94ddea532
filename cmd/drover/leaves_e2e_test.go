package main

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

// joins opens a link to join and makes an account with it.
func joins(t *testing.T, url, name string) *tab {
	t.Helper()
	b := newTab(t, 820, 1180)
	b.open(url)
	b.wait(`document.querySelector('[name="token"]').value.length > 20`)
	b.fill(map[string]string{"name": name, "email": name + "@test.example", "password": "a long sentence for " + name})
	b.click("form .go")
	return b
}

// TestCoachLeaves is the journey of that name: a coach who joined by a link watches a game
// when the owner ends the access. The watch page is at the sign-in, the session and a link
// to join that the coach had made are dead; the child plays on, with the same card, and the
// coach's drill is on the shelf.
func TestCoachLeaves(t *testing.T) {
	s := startServer(t)
	owner := newTab(t, 1280, 900)
	makeClub1(owner, s)
	s.sql("update clubs set pace = 40")
	wick := addPupil(owner, s, "Wick")
	owner.open(s.base + "/coaches")
	owner.click(`form[action="/coaches/invite"] .go`)
	owner.wait(`document.querySelector('#url')`)
	leaver := joins(t, must[string](owner, "document.querySelector('#url').value"), "Maren")
	leaver.at("/since")
	give(leaver, s, "ending=KRK", map[string]string{"fens": "8/8/8/4k3/8/8/8/R3K3 w - - 0 1", "name": "Marens rook"})

	var id int
	s.sql("select id from people where name = 'Maren'", &id)
	change := fmt.Sprintf(`form[action="/coaches/%d/`, id)
	owner.open(s.base + "/coaches")
	owner.click("li details:not([open]) > summary")
	owner.click(change + `owner"] button`)
	owner.sees("Maren@test.example, last here today, an owner")
	leaver.open(s.base + "/coaches")
	leaver.click(`form[action="/coaches/invite"] .go`)
	leaver.wait(`document.querySelector('#url')`)
	link := must[string](leaver, "document.querySelector('#url').value")

	child := signInCard(t, s, wick, 390, 844)
	leaver.open(s.base + must[string](child, "location.pathname.replace('/play/', '/watch/')"))
	child.sees("Maren is watching.")

	owner.click("li details:not([open]) > summary")
	owner.click(change + `end"] button`)
	began := time.Now()
	leaver.at("/in")
	t.Logf("the watch page is left %s after the end of the access (goal: 5 s)", time.Since(began).Round(time.Millisecond))
	must[bool](leaver, `(fetch('/students.csv').then((a) => { window.to = new URL(a.url).pathname; }), true)`)
	leaver.wait(`window.to === '/in'`) // the table comes no more
	late := joins(t, link, "Late")
	late.sees("This link does not work any more")
	child.tapTap("a1a4", "")
	child.ready(2)
	owner.open(s.base + "/drills")
	owner.sees("Marens rook")
	newTab(t, 390, 844).signIn(s, wick) // the card is as good as before
}

// turnsFactorOn sets the second factor up that an officer's account asks for first.
func (b *tab) turnsFactorOn(s *server) {
	b.Helper()
	b.at("/account/factor")
	b.wait(`document.querySelector('.secret')`)
	secret := strings.ReplaceAll(must[string](b, "document.querySelector('.secret').innerText"), " ", "")
	b.fill(map[string]string{"code": codeOf(s.T, secret, 0)})
	b.click(`form[action="/account/factor"] .go`)
	b.at("/account/codes")
}

// TestOwnerAppointsAnOfficer: the owner of a new club passes on a link; the officer says
// whom children turn to, and the owner's page offers neither a form nor a link any more.
func TestOwnerAppointsAnOfficer(t *testing.T) {
	s := startServer(t)
	owner := newTab(t, 390, 844)
	makeClub1(owner, s)
	wick := addPupil(owner, s, "Wick")
	owner.open(s.base + "/coaches")
	owner.click(`main a[href="/welfare"]`)
	owner.click(`form[action="/welfare/invite"] button`)
	owner.wait(`document.querySelector('#url')`)
	officer := joins(t, must[string](owner, "document.querySelector('#url').value"), "Solveig")
	officer.turnsFactorOn(s)
	officer.open(s.base + "/welfare/access")
	officer.fill(map[string]string{"welfare": "Solveig", "contact": "By the lockers, on club evenings"})
	officer.click(`form[action="/welfare"] .btn`)
	officer.wait(`document.querySelector('[name="revision"]').value === '1'`)
	owner.open(s.base + "/welfare")
	owner.sees("Only a welfare officer changes this.")
	if n := must[int](owner, `document.querySelectorAll('main form').length`); n > 0 {
		t.Errorf("the owner still has %d forms", n)
	}
	child := newTab(t, 390, 844)
	child.signIn(s, wick)
	child.click("a.tell")
	child.sees("By the lockers, on club evenings")
}
