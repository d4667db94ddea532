package main

import (
	"fmt"
	"strings"
	"testing"
)

// TestTestOfFiveInChromium: a child plays a test of five games of the rook's finish. While a
// game goes on the page says which it is and nothing of how it stands, and offers no help; at
// its end it says how the test stands. One game is broken off and goes on, one is given up.
// The coach notes on the student's page to have watched it, and takes that back.
func TestTestOfFiveInChromium(t *testing.T) {
	s := startServer(t)
	coach := newTab(t, 1280, 900)
	makeClub1(coach, s)
	s.sql("update clubs set pace = 40")
	p := addPupil(coach, s, "Wick")
	starts := []string{"7k/8/6K1/8/8/8/8/R7 w - - 0 1", "7k/8/6K1/8/8/8/1R6/8 w - - 0 1", "7k/8/6K1/8/8/2R5/8/8 w - - 0 1",
		"k7/8/1K6/8/8/8/8/7R w - - 0 1", "7k/8/6K1/8/3R4/8/8/8 w - - 0 1"}
	give(coach, s, "ending=KRK&mode=test", map[string]string{"from": "mate", "to": "mate", "fens": strings.Join(starts, "\n")})
	b := newTab(t, 390, 844)
	b.signIn(s, p)
	b.sees("A test of five games, all alone, on one day; four clean pass.")
	j := newJudge(t)
	for n := 1; n <= 5; n++ {
		if n == 1 {
			b.begin()
		}
		b.ready(1)
		b.sees(fmt.Sprintf("Test, game %d of 5: no help, verdicts at the end.", n))
		if shown := must[string](b, `['#help', '#tool-back', '#after', '#renew'].filter((at) => {
			const part = document.querySelector(at); return part && part.getClientRects().length; }).join(' ')`); shown != "" {
			t.Errorf("game %d shows %s before its end", n, shown)
		}
		if n == 2 { // broken off: it goes on where it was
			b.open(s.base + "/today")
			b.sees("One of five is played today.")
			b.click(`form[action="/today/start"] button`)
			b.at("/play/")
			b.ready(1)
			b.sees("Test, game 2 of 5")
		}
		if n == 3 {
			b.click("#tool-more")
			b.click("#resign")
		} else {
			_, san, mates := b.best(j, 0)
			if !mates {
				t.Fatalf("start %d is no mate in one", n)
			}
			b.typed("", san)
			b.sees("Checkmate in 1 move")
		}
		b.wait(`document.querySelector('.end-test')`)
		if n < 5 {
			won := []string{"", "one", "two", "two", "three"}[n]
			b.sees(fmt.Sprintf("Game %d of 5: %s clean so far.", n, won))
			b.click(`#after [value="next"]`)
			continue
		}
		b.sees("The test is passed: four of five clean. We ask once more in a week.")
	}
	doors := must[string](b, `[...document.querySelectorAll('.end-test li')].map((li) => li.querySelector('use').getAttribute('href').split('#')[1]
		+ (li.querySelector('.not') ? '!' : '')).join(' ')`)
	if doors != "mate-full mate-full mate-none! mate-full mate-full" {
		t.Errorf("the doors are %s", doors)
	}
	if ways := must[string](b, `[...document.querySelectorAll('#after form button')].map((x) => x.value).join(' ')`); ways != "today" {
		t.Errorf("after the test the ways on are %s", ways)
	}
	b.click(`#after [value="today"]`)
	b.at("/today")
	b.sees("Rook: the test is passed.")
	var done bool
	s.sql("select bool_and(passed_at is not null) from assignees", &done)
	if !done {
		t.Error("the test is passed, and the drill is still open")
	}
	coach.open(s.base + "/students")
	coach.open(must[string](coach, `[...document.querySelectorAll('.roster-table tbody a')].find((a) => a.textContent === 'Wick').href`))
	coach.sees("four of five clean.")
	coach.click(`form[action$="/watched"] button`)
	coach.sees("Noted.")
	coach.sees("four of five clean. Watched by ")
	coach.click(".notice .btn")
	coach.sees("Undone.")
	coach.wait(`document.querySelector('form[action$="/watched"]') && !document.body.innerText.includes('Watched by ')`)
}
