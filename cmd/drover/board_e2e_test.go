package main

import (
	"fmt"
	"os"
	"regexp"
	"strings"
	"syscall"
	"testing"

	"drover/game/board"
)

// freeze stops the server's process as if the line went dead, until thaw.
func (s *server) freeze() { s.signal(syscall.SIGSTOP) }

func (s *server) thaw() { s.signal(syscall.SIGCONT) }

func (s *server) signal(sig syscall.Signal) {
	s.Helper()
	if err := s.cmd.Process.Signal(sig); err != nil {
		s.Fatal(err)
	}
}

// kinds lists the kinds of act of the newest game, in order.
func (s *server) kinds() string {
	s.Helper()
	var kinds string
	s.sql("select coalesce(string_agg(kind, ' ' order by seq), '') from acts where game_id = (select max(id) from games)",
		&kinds)
	return kinds
}

// begun gives a drill of the coach's own starts to the student and opens it.
func begun(coach, b *tab, s *server, query string, fields map[string]string) {
	b.Helper()
	give(coach, s, query, fields)
	b.open(s.base + "/today")
	b.at("/today")
	must[bool](b, `([...document.querySelectorAll('form[action="/today/start"]')].at(-1)
		.querySelector('button').click(), true)`)
	b.at("/play/")
	b.ready(1)
}

// TestBoardPage tries what a child's hands do to the board page: two things at
// once, moves that there are not, a new try, a dead line, a win that is typed.
func TestBoardPage(t *testing.T) {
	s := startServer(t)
	coach := newTab(t, 1280, 900)
	makeClub1(coach, s)
	s.sql("update clubs set pace = 40")
	wick := addPupil(coach, s, "Wick")
	give(coach, s, "ending=KRK", map[string]string{"fens": "8/8/8/4k3/8/8/8/R3K3 w - - 0 1"})
	b := signInCard(t, s, wick, 390, 844)

	helpAndMoveAtOnce(b, s)
	takeBackLeavesTheBoard(b, s)
	movesThatAreNone(b)
	deadLineIsNoticed(b, s)
	anothersMoveStays(b, s)
	newTryAsks(b, s)

	begun(coach, b, s, "ending=KPK", map[string]string{"fens": "8/4P1k1/4K3/8/8/8/8/8 w - - 0 1"})
	promotionTakesTheFocus(b)
	begun(coach, b, s, "ending=KQK", map[string]string{"fens": "7k/8/6K1/8/8/8/5Q2/8 w - - 0 1"})
	typedWinKeepsTheFocus(b)
	begun(coach, b, s, "ending=KQK", map[string]string{"fens": "7k/8/6K1/8/8/8/5Q2/8 w - - 0 1"})
	reasonsAreReadOnce(b)
}

// helpAndMoveAtOnce: help and a move tapped before anything is acknowledged both
// go out, in order, and the move stays painted.
func helpAndMoveAtOnce(b *tab, s *server) {
	b.Helper()
	s.freeze()
	b.click("#ladder button:nth-child(1)")
	b.tapTap("a1a4", "")
	b.wait(`document.querySelector('[data-square="a4"]').getAttribute('aria-label').includes('rook')`)
	s.thaw()
	b.ready(2)
	if got := s.kinds(); got != "help move" {
		b.Errorf("acts: %s", got)
	}
}

// takeBackLeavesTheBoard: while a take-back is on its way the board takes no move,
// since it is about to change.
func takeBackLeavesTheBoard(b *tab, s *server) {
	b.Helper()
	s.freeze()
	b.click("#tool-back")
	b.tapTap("a4a5", "")
	if must[bool](b, `document.querySelector('[data-square="a5"]').getAttribute('aria-label').includes('rook')`) {
		b.Error("a move is painted on a board that is about to change")
	}
	s.thaw()
	b.ready(1)
	if got := s.kinds(); got != "help move back" {
		b.Errorf("acts: %s", got)
	}
	b.tapTap("a1a4", "")
	b.ready(2)
}

// movesThatAreNone: a tap, a drag and the keyboard are told why, also to a screen
// reader.
func movesThatAreNone(b *tab) {
	b.Helper()
	for _, c := range []struct {
		hand      func(b *tab, uci, san string)
		move, say string
	}{
		{(*tab).tapTap, "a4b5", "The rook goes straight."},
		{(*tab).drag, "e1e3", "The king goes one square."},
		{(*tab).keys, "a4b6", "The rook goes straight."},
	} {
		must[bool](b, `(document.querySelector('#off').textContent = document.querySelector('#live').textContent = '', true)`)
		c.hand(b, c.move, "")
		b.wait(fmt.Sprintf(`document.querySelector('#off').textContent === %q &&
			document.querySelector('#live').textContent === %[1]q`, c.say))
	}
}

// deadLineIsNoticed: with the server frozen the page says by itself that it is not
// connected, and comes back by itself.
func deadLineIsNoticed(b *tab, s *server) {
	b.Helper()
	s.freeze()
	b.wait(`document.querySelector('#line').dataset.state === 'off'`)
	b.sees("Not connected")
	s.thaw()
	b.ready(2)
	b.sees("You're back, and nothing is lost")
}

// anothersMoveStays: a move that another person left on this device is not sent,
// and not thrown away.
func anothersMoveStays(b *tab, s *server) {
	b.Helper()
	before := s.kinds()
	must[bool](b, `(localStorage.setItem('drover.waiting.' + document.querySelector('main').dataset.game,
		JSON.stringify([{do: 'move', ply: 2, move: 'a4a8', took: 5, id: 'other', by: '999'}])), true)`)
	b.reload()
	b.ready(2)
	b.tapTap("a4a6", "")
	b.ready(3)
	if got := s.kinds(); got != before+" move" {
		b.Errorf("acts: %s, before %s", got, before)
	}
	kept := must[string](b, `localStorage.getItem('drover.waiting.' + document.querySelector('main').dataset.game)`)
	if !strings.Contains(kept, `"other"`) {
		b.Errorf("kept is %s", kept)
	}
}

// newTryAsks: More, New try asks before it ends a game that goes on.
func newTryAsks(b *tab, s *server) {
	b.Helper()
	game := must[string](b, "location.pathname")
	b.click("#tool-more")
	b.click("#renew")
	b.sees("This try ends, and you begin again")
	b.click("#renew-no")
	b.wait(`!document.querySelector('#more').open`)
	if got := s.kinds(); strings.Contains(got, "anew") {
		b.Fatalf("ended without being asked: %s", got)
	}
	b.click("#tool-more")
	b.click("#renew")
	b.click("#renew-yes")
	b.wait(fmt.Sprintf("location.pathname.startsWith('/play/') && location.pathname !== %q", game))
	b.ready(1)
	var end string
	if s.sql(`select "end" from games where id = (select max(game_id) from acts)`, &end); end != "restarted" {
		b.Errorf("it ended by %q", end)
	}
}

// promotionTakesTheFocus: after a tap with a finger the choice of a man has the
// focus, and keeps it.
func promotionTakesTheFocus(b *tab) {
	b.Helper()
	b.fingers("e7e8", "")
	b.wait(`document.activeElement.closest('.promote') &&
		document.querySelector('.promote').getAttribute('aria-modal') === 'true'`)
	must[bool](b, `(document.activeElement.click(), true)`)
	b.ready(2)
	b.sees("His pen")
	if must[bool](b, `document.querySelector('#strip').textContent.includes('in front')`) {
		b.Error("with a queen the strip speaks of the pawn")
	}
}

// typedWinKeepsTheFocus: after a mate that was typed the focus is on what came of
// it, and the board has said its keys.
func typedWinKeepsTheFocus(b *tab) {
	b.Helper()
	if !must[bool](b, `document.getElementById(document.querySelector('[role=grid]').getAttribute('aria-describedby'))
		?.textContent.includes('Arrow keys')`) {
		b.Error("the board does not say its keys")
	}
	j := newJudge(b.T)
	_, san, mates := b.best(j, 0)
	if !mates {
		b.Fatal("no mate in one")
	}
	b.typed("", san)
	b.sees("Checkmate in 1 move")
	b.wait(`document.activeElement === document.querySelector('#after h2')`)
	b.wait(`document.querySelector('#turn-line').textContent === 'Move 1'`)
	if !must[bool](b, `document.querySelector('#after .go').value === 'today'`) {
		b.Error("the one start is won, and the main button does not lead on")
	}
}

// reasonsAreReadOnce: what a screen reader hears of a stalemate says the reason
// once and ends each sentence; the panel offers what its sentence says.
func reasonsAreReadOnce(b *tab) {
	b.Helper()
	b.tapTap("f2f7", "")
	b.sees("The win is gone")
	b.wait(`document.querySelector('#live').textContent.includes('stalemate')`)
	said := must[string](b, `document.querySelector('#live').textContent`)
	if strings.Count(said, "stalemate") != 1 || strings.Count(said, "The win is gone.") != 1 ||
		strings.Contains(said, "Win gone") || !strings.HasSuffix(said, ".") {
		b.Errorf("heard: %q", said)
	}
	b.click(`#after [value="again"], #after .go`)
	b.ready(1)
}

// TestWhyWords: each sentence that says why a man cannot go somewhere has at most
// eight words.
func TestWhyWords(t *testing.T) {
	t.Parallel()
	text, err := os.ReadFile("../../static/js/why.js")
	if err != nil {
		t.Fatal(err)
	}
	said := regexp.MustCompile("['`]([A-Z][^'`]*\\.)['`]").FindAllStringSubmatch(string(text), -1)
	if len(said) < 12 {
		t.Fatalf("only %d sentences found", len(said))
	}
	for _, s := range said {
		if n := len(strings.Fields(s[1])); n > 8 {
			t.Errorf("%d words: %q", n, s[1])
		}
	}
}

// TestWhy holds the reasons against a rules library: over random positions each
// move that the rules do not have is given a reason, and none that they have.
func TestWhy(t *testing.T) {
	b := newTab(t, 800, 600)
	module, err := os.ReadFile("../../static/js/why.js")
	if err != nil {
		t.Fatal(err)
	}
	plain := strings.NewReplacer("export function", "function", "import { letters } from './paint.js';",
		"const letters = {k: 'king', q: 'queen', r: 'rook', b: 'bishop', n: 'knight', p: 'pawn'};").Replace(string(module))
	for _, fen := range []string{
		"8/8/8/4k3/8/8/8/R3K3 w - - 0 1", "8/8/8/8/3k4/8/3P4/3K4 w - - 0 1", "8/8/3k4/8/3B4/2NK4/8/8 w - - 0 1",
		"8/8/8/4k3/8/3q4/8/R3K3 w - - 0 1", "4k3/8/8/8/7b/8/5R2/4K3 w - - 0 1",
	} {
		p, err := board.ParseFEN(fen)
		if err != nil {
			t.Fatal(err)
		}
		legal := map[string]bool{}
		for _, m := range p.Moves() {
			legal[m.UCI()[:4]] = true
		}
		var men, asked []string
		for sq := board.Square(0); sq < 64; sq++ {
			m := p.At(sq)
			if !m.There {
				continue
			}
			letter := string(m.Kind.Letter())
			if m.Color == board.Black {
				letter = strings.ToLower(letter)
			}
			men = append(men, fmt.Sprintf("[%q,%q]", sq, letter))
			for to := board.Square(0); m.Color == board.White && to < 64; to++ {
				if to != sq && !legal[sq.String()+to.String()] {
					asked = append(asked, sq.String()+to.String())
				}
			}
		}
		js := fmt.Sprintf(`(() => {
			%s;
			const men = new Map([%s]);
			return %q.split(' ').filter((m) => !why({ men, from: m.slice(0, 2), to: m.slice(2), side: 'w',
				now: { turn: 'you', check: %q }, legal: ['x'] })).join(' ').trim();
		})()`,
			plain, strings.Join(men, ","), strings.Join(asked, " "), checkOf(p))
		if silent := must[string](b, js); silent != "" {
			t.Errorf("%s: nothing is said of %s", fen, silent)
		}
	}
}

func checkOf(p board.Position) string {
	if p.InCheck() {
		return p.King(p.Turn()).String()
	}
	return ""
}
