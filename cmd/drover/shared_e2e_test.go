package main

import (
	"fmt"
	"strings"
	"testing"
	"time"
)

// types fills in the sign-in for a child; shared ticks that others use the device, too.
func (b *tab) types(p pupil, shared bool) {
	b.Helper()
	fields := map[string]string{"number": p.number}
	for i, w := range p.words {
		fields[fmt.Sprint("w", i+1)] = w
	}
	b.fill(fields)
	if shared {
		b.click(`[name="shared"]`)
	}
	must[bool](b, `(window.before = true)`)
	b.click(`form[action="/in/card"] .go`)
}

// newCard replaces a child's card, as a coach does who is asked for one.
func newCard(coach *tab, s *server, p pupil) pupil {
	coach.Helper()
	var id int
	s.sql("select id from people where name = '"+p.name+"'", &id)
	coach.open(fmt.Sprintf("%s/students/%d", s.base, id))
	coach.click(fmt.Sprintf(`form[action="/students/%d/card"] button`, id))
	coach.wait(`document.querySelector('.press-words')`)
	p.words = strings.Fields(must[string](coach, "document.querySelector('.press-words').innerText"))
	return p
}

// said is what the sign-in page says, when it has come back, about a card that did not open.
func (b *tab) said() string {
	b.Helper()
	b.wait(`!window.before && document.readyState === 'complete' && document.querySelector('#child .error')`)
	return must[string](b, `document.querySelector('#child .error').innerText`)
}

// TestSharedTablet is the journey 'wrong card, shared tablet': an old card meets a kind
// sentence, the same as a card that never was; with a new one the child is in at once, and
// the session of the old one is dead in five seconds. On a tablet that two children share
// the name stands on top and 'Not you?' is one tap; a move that one of them has left there
// never goes out for the other; neither locks the other out; and after two hours without
// use nobody is signed in, while a device of one's own stays signed in.
func TestSharedTablet(t *testing.T) {
	s := startServer(t)
	coach := newTab(t, 1280, 900)
	makeClub1(coach, s)
	s.sql("update clubs set pace = 40")
	wick, nan := addPupil(coach, s, "Wick"), addPupil(coach, s, "Nan")
	assign(coach, s)

	old := signInCard(t, s, wick, 390, 844)
	lost := wick
	wick = newCard(coach, s, wick)
	began := time.Now()
	old.at("/in")
	if took := time.Since(began); took > 5*time.Second {
		t.Errorf("the old card's session lived %s longer", took)
	}
	tablet := newTab(t, 800, 1280)
	tablet.open(s.base + "/in")
	tablet.types(lost, true)
	kind := tablet.said()
	tablet.types(pupil{number: "4711", words: []string{"lamp", "otter", "field", "moon"}}, false)
	if other := tablet.said(); other != kind || strings.Contains(kind, "Wick") || !strings.Contains(kind, "ask your coach") {
		t.Errorf("an old card: %q, one that never was: %q", kind, other)
	}
	if !must[bool](tablet, `document.querySelector('[name="shared"]').checked`) {
		t.Error("the tick is lost with a refused card")
	}
	tablet.types(wick, false)
	tablet.at("/today")

	leavesAMove(tablet)
	playsHerOwn(tablet, s, nan)
	locksNobodyOut(tablet, s, wick, nan)
	findsItsMove(tablet, s)

	own := newTab(t, 390, 844)
	own.signIn(s, wick)
	s.sql("update keys set seen_at = seen_at - interval '2 hours 1 second' where kind = 'session'")
	tablet.at("/in") // the board that was open leaves by itself
	tablet.open(s.base + "/today")
	tablet.at("/in")
	own.reload()
	own.at("/today")
	own.sees("Hello Wick")
}

// leavesAMove lets a child make a move that does not get through, and hand on the tablet.
func leavesAMove(b *tab) {
	b.Helper()
	b.begin()
	must[bool](b, `(WebSocket.prototype.send = () => {}, true)`)
	uci, _, _ := b.best(newJudge(b.T), 0)
	b.tapTap(uci, "")
	b.wait(`Object.keys(localStorage).some((name) => name.startsWith('drover.waiting.'))`)
	b.sees("Wick")
	b.click(`.not-you button`)
	b.at("/in")
}

// playsHerOwn signs the sibling in, who plays: nothing of the other's goes out, and a game
// of the other's is not there for her.
func playsHerOwn(b *tab, s *server, p pupil) {
	b.Helper()
	var wicks int
	s.sql("select max(id) from games", &wicks)
	b.types(p, true)
	b.at("/today")
	b.sees("Hello " + p.name)
	if who := must[string](b, `document.querySelector('.head .who').innerText`); who != p.name {
		b.Errorf("on top stands %q", who)
	}
	b.begin()
	uci, _, _ := b.best(newJudge(b.T), 0)
	b.tapTap(uci, "")
	b.ready(2)
	var foreign, moves int
	s.sql(`select count(*) filter (where a.by_id <> g.student_id), count(*) filter (where a.game_id = `+fmt.Sprint(wicks)+`)
		from acts a join games g on g.club_id = a.club_id and g.id = a.game_id`, &foreign, &moves)
	if foreign != 0 || moves != 0 {
		b.Errorf("%d acts are another child's, %d are in the other game", foreign, moves)
	}
	b.open(fmt.Sprintf("%s/play/%d", s.base, wicks))
	b.sees("There is nothing here.")
	b.open(s.base + "/today")
}

// locksNobodyOut: the sibling types wrong words until she has to wait; the other child is
// let in at once.
func locksNobodyOut(b *tab, s *server, child, sibling pupil) {
	b.Helper()
	b.click(`form[action="/out"] button`)
	b.at("/in")
	sibling.words = []string{"lamp", "otter", "field", "moon"}
	for range 6 {
		b.types(sibling, false)
		b.said()
	}
	b.types(sibling, false)
	if say := b.said(); !strings.Contains(say, "many tries") {
		b.Errorf("after many tries: %q", say)
	}
	b.open(s.base + "/in")
	b.types(child, true)
	b.at("/today")
	b.sees("Hello " + child.name)
}

// findsItsMove: the move that had waited goes out, once, for the child who made it.
func findsItsMove(b *tab, s *server) {
	b.Helper()
	b.click(`form[action="/today/start"] .go`)
	b.at("/play/")
	b.ready(2)
	game := strings.TrimPrefix(must[string](b, "location.pathname"), "/play/")
	var moves int
	s.sql(`select count(*) from acts a join people p on p.club_id = a.club_id and p.id = a.by_id
		where a.kind = 'move' and p.name = 'Wick' and a.game_id = `+game, &moves)
	if moves != 1 || must[bool](b, `Object.keys(localStorage).some((name) => name.startsWith('drover.waiting.'))`) {
		b.Errorf("%d moves are in Wick's game, or one still waits", moves)
	}
}
