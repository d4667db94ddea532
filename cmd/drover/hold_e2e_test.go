package main

import (
	"context"
	"fmt"
	"strings"
	"testing"

	"drover/game/ending"
)

// TestHoldAndHand: a coach sets a hold drill and one by hand; a student holds the
// draw on the board, then plays against the coach's own moves, sees the coach
// come and go, and is answered without the coach too.
func TestHoldAndHand(t *testing.T) {
	s := startServer(t)
	coach := newTab(t, 1280, 900)
	makeClub1(coach, s)
	s.sql("update clubs set pace = 40")
	wick := addPupil(coach, s, "Wick")
	give(coach, s, "ending=hold-KPK", map[string]string{"fens": "8/8/8/8/4k3/3p4/3K4/8 w - - 0 1", "budget": "2"})

	b := signInCard(t, s, wick, 390, 844)
	holdOn(b, 2)
	var result string
	if s.sql(`select result from games where hold and "end" = 'held'`, &result); result != "clean" {
		t.Errorf("a draw held alone is %q", result)
	}
	b.click(`#after [value="today"]`)
	b.at("/today")

	give(coach, s, "ending=KRK&defender=hand&mode=practice", map[string]string{"count": "1", "clock": "30"})
	b.open(s.base + "/today")
	b.click(`form[action="/today/start"] .go`)
	b.at("/play/")
	b.ready(1)
	b.wait(`document.querySelector('#clock-left').textContent.match(/^(30:00|29:5\d)$/)`)
	coach.open(s.base + strings.Replace(must[string](b, "location.pathname"), "/play/", "/watch/", 1))
	b.wait(`!document.querySelector('#seen').hidden`)
	playByHand(b, coach)
	coach.open(s.base + "/stages")
	b.wait(`document.querySelector('#seen').hidden`)
	uci, san, _ := b.best(newJudge(t), 2)
	hands[0](b, uci, san)
	b.ready(3) // answered at once: nobody watches
}

// give makes a drill in the builder and assigns it to everybody.
func give(b *tab, s *server, query string, fields map[string]string) {
	b.Helper()
	b.open(s.base + "/drills/new?" + query)
	b.wait(`document.querySelector('[name="ending"]:checked')`)
	b.fill(fields)
	if fields["fens"] != "" {
		b.click(`[name="kind"][value="pasted"]`)
	}
	b.click(`[name="do"][value="assign"]`)
	b.wait(`document.querySelector('[name="student"]')`)
	must[bool](b, `(document.querySelectorAll('[name="student"]').forEach(c => c.click()), true)`)
	b.click(`form[action$="/assign"] .go`)
	b.at("/drills")
	b.sees("Assigned to Wick.")
}

// holdOn plays the firmest moves of a hold drill to its end.
func holdOn(b *tab, moves int) {
	b.Helper()
	j := newJudge(b.T)
	for move := 1; move <= moves; move++ {
		b.ready(move)
		p := b.position('w', 0)
		m, ok, err := j.Firmest(context.Background(), p, 1)
		if err != nil || !ok {
			b.Fatalf("no move holds in %s: %v", p.FEN(), err)
		}
		hands[move%len(hands)](b, m.UCI(), p.SAN(m))
	}
	b.sees(fmt.Sprintf("Held for %d moves", moves))
	b.sees("You held it alone.")
}

// playByHand makes one move by each hand.
func playByHand(b, coach *tab) {
	b.Helper()
	j := newJudge(b.T)
	uci, san, _ := b.best(j, 0)
	hands[0](b, uci, san)
	b.wait(`document.querySelector('#turn').textContent === 'Your coach is choosing'`)
	coach.wait(`document.querySelector('#turn').textContent === 'Move for him'`)
	p := coach.position('b', 1)
	m, err := j.Reply(context.Background(), p, ending.Defenders()[0].Code, 1)
	if err != nil {
		b.Fatal(err)
	}
	coach.tapTap(m.UCI(), "")
	b.ready(2)
	if got := b.position('w', 2).At(m.To); got != p.At(m.From) {
		b.Errorf("the coach played %s, the student's board has %v there", m.UCI(), got)
	}
}
