package main

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

// guardianOf adds a guardian of a child and opens the private link in a window of its own.
func guardianOf(coach *tab, s *server, child pupil, name string) *tab {
	coach.Helper()
	var id int
	s.sql("select id from people where name = '"+child.name+"'", &id)
	coach.open(fmt.Sprintf("%s/students/%d", s.base, id))
	form := fmt.Sprintf(`form[action="/students/%d/guardian"]`, id)
	coach.write(form+` [name="name"]`, name)
	coach.click(form + " button")
	coach.wait(`document.querySelector('#url')`)
	b := newTab(coach.T, 390, 844)
	b.open(must[string](coach, "document.querySelector('#url').value"))
	b.at("/report")
	return b
}

// TestGuardiansApart is the journey of that name, with a consent that is taken back: each
// guardian has a link; one takes consent back, and the game that the child plays ends at once
// with a kind sentence. The other guardian reads no name and cannot give it again. The coach
// stops one link: that page is at the sign-in within five seconds, the other's works.
func TestGuardiansApart(t *testing.T) {
	s := startServer(t)
	coach := newTab(t, 1280, 900)
	makeClub1(coach, s)
	s.sql("update clubs set pace = 40")
	wick := addPupil(coach, s, "Wick")
	addPupil(coach, s, "Nan")
	assign(coach, s)
	una, per := guardianOf(coach, s, wick, "Una"), guardianOf(coach, s, wick, "Per")
	child := signInCard(t, s, wick, 390, 844)

	una.click(`section a[href$="/consent"]`)
	una.sees("Take your consent back")
	una.click(`button[value="back"]`)
	began := time.Now()
	child.sees("Practice is resting just now")
	t.Logf("the game ends %s after consent was taken back", time.Since(began).Round(time.Millisecond))
	child.sees("A grown-up can tell you more.")
	child.click(`.end-acts button`)
	child.at("/today")
	child.sees("Practice is resting just now. A grown-up can tell you more.")
	if page := must[string](child, "document.body.innerText"); strings.Contains(page, "Una") || strings.Contains(page, "consent") {
		t.Errorf("the child reads why, or by whom: %s", page)
	}
	child.click(`main a[href="/tell"]`)
	child.sees("You have done nothing wrong")

	per.reload()
	per.sees("Consent was taken back")
	if page := must[string](per, "document.body.innerText"); strings.Contains(page, "Una") {
		t.Errorf("one guardian reads the other's name: %s", page)
	}
	una.sees("You took your consent back")
	una.click(`section a[href$="/consent"]`)
	una.click(`button[value="give"]`)
	una.sees("You agreed on")
	child.open(s.base + "/today")
	child.click(".due .go")
	child.ready(1)

	var id, guardian int
	s.sql("select id from people where name = 'Wick'", &id)
	s.sql("select id from people where name = 'Una'", &guardian)
	coach.open(fmt.Sprintf("%s/students/%d", s.base, id))
	stop := fmt.Sprintf(`form[action="/students/%d/guardian/%d/revoke"]`, id, guardian)
	must[bool](coach, fmt.Sprintf("(document.querySelector(`%s`).closest('details').open = true)", stop))
	coach.click(stop + " button")
	coach.wait("!document.querySelector(`" + stop + "`)")
	una.reload()
	una.at("/in")
	per.reload()
	per.sees("How Wick is getting on")
}

// TestGuardianTakesAlong: a guardian makes the export, fetches it, and makes a new card, with
// which the child signs in; the old one is dead.
func TestGuardianTakesAlong(t *testing.T) {
	s := startServer(t)
	coach := newTab(t, 1280, 900)
	makeClub1(coach, s)
	wick := addPupil(coach, s, "Wick")
	addPupil(coach, s, "Nan")
	assign(coach, s)
	una := guardianOf(coach, s, wick, "Una")
	una.click(`section a[href$="/data"]`)
	una.click("main form .go")
	una.wait(`(document.body.innerText.includes('Fetch the file') || (document.querySelector('main .btn[href]')?.click(), false))`)
	must[bool](una, `(fetch(document.querySelector('a[download]').href).then(async (a) => { const b = new Uint8Array(await a.arrayBuffer());
		window.zip = a.status + ' ' + a.headers.get('content-type') + ' ' + String.fromCharCode(b[0], b[1]); }), true)`)
	una.wait(`window.zip === '200 application/zip PK'`)
	una.open(s.base + "/report")
	una.click(`section a[href$="/card"]`)
	una.click("main form .go")
	una.wait(`document.querySelector('.press-words')`)
	old := wick
	wick.words = strings.Fields(must[string](una, "document.querySelector('.press-words').innerText"))
	if strings.Join(old.words, " ") == strings.Join(wick.words, " ") {
		t.Error("the card is the old one")
	}
	newTab(t, 390, 844).signIn(s, wick)
	coach.open(s.base + "/since")
	coach.sees("has a new card, which a guardian made")
}
