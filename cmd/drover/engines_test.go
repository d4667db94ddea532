package main

import (
	"bytes"
	"compress/zlib"
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"regexp"
	"strings"
	"testing"
	"time"
)

var otherEngines = flag.Bool("engines", false, "drive Firefox and WebKit beside Chromium, which deploy/test --browsers installs")

// opener makes a page for one person, in one engine.
type opener func(t *testing.T, width, height int64) *tab

// engines are the browsers that a club's devices have, each as a test starts it.
var engines = []struct {
	name  string
	start func(t *testing.T) opener
}{
	{"Chromium", func(*testing.T) opener { return newTab }},
	{"Firefox", func(t *testing.T) opener { t.Helper(); return startFirefox(t).newTab }},
	{"WebKit", func(t *testing.T) opener { t.Helper(); return startScreen(t).newTab }},
}

// TestEngines plays the same evening in every engine, over https behind a reverse
// proxy as a club has one: a game in every way to its end, paper, and signing out.
func TestEngines(t *testing.T) {
	if !*otherEngines {
		t.Skip("needs Firefox and WebKit; deploy/test --browsers runs it")
	}
	for _, engine := range engines {
		t.Run(engine.name, func(t *testing.T) {
			t.Parallel()
			e := &evening{T: t, name: engine.name, open: engine.start(t), s: startSecure(t)}
			e.club()
			t.Run("board", e.sub((*evening).boardFits))
			t.Run("game", e.sub((*evening).game))
			t.Run("paper", e.sub((*evening).paper))
			t.Run("back to the child's pages", e.sub((*evening).backToChild))
			t.Run("back to the coach's pages", e.sub((*evening).backToCoach))
			t.Run("back over plain http", e.sub((*evening).backOverHTTP))
		})
	}
}

// evening is a club in one engine.
type evening struct {
	*testing.T
	name         string
	open         opener
	s            *server
	wick         pupil
	coach, child *tab
}

// sub is a part of the evening as a test of its own.
func (e *evening) sub(part func(*evening)) func(*testing.T) {
	return func(t *testing.T) {
		e.T, e.coach.T, e.s.T = t, t, t
		if e.child != nil {
			e.child.T = t
		}
		part(e)
	}
}

// club makes a club with one student and a game to play.
func (e *evening) club() {
	e.Helper()
	e.coach = e.open(e.T, 1280, 900)
	makeClub1(e.coach, e.s)
	e.s.sql("update clubs set pace = 40")
	e.wick = addPupil(e.coach, e.s, "Wick")
	give(e.coach, e.s, "ending=KQK", map[string]string{"fens": "8/8/8/3k4/8/8/1Q6/K7 w - - 0 1"})
	e.child = e.open(e.T, 820, 1180)
	e.child.signIn(e.s, e.wick)
	e.child.begin()
}

// boardFits: at every size the board is square, fills its frame, and each square
// and each man lies under the cell that answers for it.
func (e *evening) boardFits() {
	b := e.child
	for _, size := range pageSizes {
		if e.name == "WebKit" && size[0] < 334 {
			continue // no window of its is narrower
		}
		b.resize(size[0], size[1])
		b.shot(fmt.Sprintf("%s-%dx%d", e.name, size[0], size[1]))
		off := must[[]float64](b, `(() => {
			const box = (part) => part.getBoundingClientRect();
			const board = document.querySelector('.board'), svg = document.querySelector('.board > svg');
			const cell = (square) => box(document.querySelector('[data-square="' + square + '"]'));
			const far = (a, x, y) => Math.max(Math.abs(a.left + a.width / 2 - x), Math.abs(a.top + a.height / 2 - y));
			const dark = [...document.querySelectorAll('.grid [data-square]')].filter((c) =>
				(c.dataset.square.charCodeAt(0) + Number(c.dataset.square[1])) % 2 === 0).map(box);
			const stones = [...svg.querySelectorAll('.stone')].map(box);
			const men = [...svg.querySelectorAll('.man')].map((man) => {
				const at = new DOMPoint(32, 32).matrixTransform(man.getScreenCTM());
				return Math.min(...[...document.querySelectorAll('.grid [aria-label*=","]')].map((c) => far(box(c), at.x, at.y)));
			});
			return [box(svg).height - box(svg).width, box(svg).width - board.clientWidth, box(svg).height - board.clientHeight,
				Math.max(...stones.map((s, i) => far(dark[i], s.left + s.width / 2, s.top + s.height / 2))),
				Math.max(...men), stones.length, men.length];
		})()`)
		for i, what := range []string{"higher than wide", "wider than its frame", "higher than its frame", "off its square (stones)", "off its square (men)"} {
			if off[i] > 1 || off[i] < -1 {
				e.Errorf("at %dx%d the board is %.1f px %s", size[0], size[1], off[i], what)
			}
		}
		if off[5] != 32 || off[6] != 3 {
			e.Fatalf("at %dx%d the board has %.0f stones and %.0f men", size[0], size[1], off[5], off[6])
		}
	}
	b.resize(820, 1180)
}

// game: every way to make a move, help, a reload in the middle, and mate.
func (e *evening) game() {
	b, j := e.child, newJudge(e.T)
	every := append([]func(b *tab, uci, san string){(*tab).fingers}, hands...)
	for move := 1; ; move++ {
		b.ready(move)
		switch move {
		case 2:
			b.click("#ladder button:nth-child(2)")
			b.wait(`document.querySelector('.rung.shown') && document.querySelector('#help-count').textContent.includes('counts as helped')`)
		case 4:
			b.reload()
			b.ready(move)
		}
		uci, san, mates := b.best(j, 2*(move-1))
		every[(move-1)%len(every)](b, uci, san)
		if mates {
			if move < len(every) {
				e.Errorf("only %d of %d ways to move were tried", move, len(every))
			}
			b.sees(fmt.Sprintf("Checkmate in %d moves", move))
			break
		}
		if move > 20 {
			e.Fatal("no mate in twenty best moves")
		}
	}
	b.shot(e.name + "-mate")
	b.click(`#after [value="today"]`)
	b.at("/today")
}

// paper: the stage view and the report take one sheet each.
func (e *evening) paper() {
	e.coach.open(e.s.base + "/stages")
	e.coach.sees("Wick")
	e.coach.shot(e.name + "-stages")
	e.onSheets(e.coach, "the stage view", 1)
	family := e.open(e.T, 820, 1180)
	family.open(e.wick.link)
	family.at("/report")
	family.sees("Wick")
	e.onSheets(family, "the report", 1)
}

// onSheets prints the page, where the engine can.
func (e *evening) onSheets(b *tab, what string, want int) {
	e.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	pdf, err := b.page.sheets(ctx)
	if errors.Is(err, errUnable) {
		e.Logf("%s is not printed: %v", what, err)
		return
	}
	if err != nil {
		e.Fatal(err)
	}
	if n := countSheets(pdf); n != want {
		e.Errorf("%s takes %d sheets, want %d", what, n, want)
	}
}

// aSheet is what a PDF says of each of its pages, in the open or packed.
var aSheet = regexp.MustCompile(`/Type\s*/Page\b`)

// countSheets counts the pages of a PDF.
func countSheets(pdf []byte) int {
	n := len(aSheet.FindAll(pdf, -1))
	for _, part := range bytes.Split(pdf, []byte("stream"))[1:] {
		packed, err := zlib.NewReader(bytes.NewReader(bytes.TrimLeft(part, "\r\n")))
		if err != nil {
			continue // what stands between two streams, or a picture
		}
		text, _ := io.ReadAll(packed) // what cannot be read names no page
		n += len(aSheet.FindAll(text, -1))
	}
	return n
}

// signOut leaves by the button of the page.
func (b *tab) signOut() {
	b.Helper()
	must[bool](b, `([...document.querySelectorAll('form[action="/out"] button')]
		.find((button) => button.getClientRects().length).id = 'way-out', true)`)
	b.click("#way-out")
	b.at("/in")
}

// backToChild: after a child's sign-out Back shows nothing of theirs.
func (e *evening) backToChild() {
	e.child.open(e.s.base + "/today")
	e.child.sees("Wick")
	e.child.signOut()
	e.child.backShowsNobody("Wick")
}

// backToCoach: after a coach's sign-out Back shows no names of students.
func (e *evening) backToCoach() {
	e.coach.open(e.s.base + "/stages")
	e.coach.sees("Wick")
	e.coach.signOut()
	e.coach.backShowsNobody("Wick")
}

// backOverHTTP: the same where a club has no https, as on one computer.
func (e *evening) backOverHTTP() {
	s := startServer(e.T)
	coach := e.open(e.T, 1280, 900)
	makeClub1(coach, s)
	addPupil(coach, s, "Wick")
	coach.open(s.base + "/stages")
	coach.sees("Wick")
	coach.signOut()
	coach.backShowsNobody("Wick")
}

// backShowsNobody goes back in the browser's history and holds that within some
// seconds the page asks who is there, and shows nothing of the one who was.
func (b *tab) backShowsNobody(name string) {
	b.Helper()
	must[bool](b, `(window.left = true)`)
	b.back()
	b.wait(`!window.left && document.readyState === 'complete'`)
	b.shot("back-" + strings.ReplaceAll(b.Name(), "/", "-"))
	asks := fmt.Sprintf(`location.pathname.startsWith('/in') && document.readyState === 'complete' && !document.body.innerText.includes(%q)`, name)
	if until(10*time.Second, func() bool { ok, err := eval[bool](b, asks); return err == nil && ok }) != nil {
		b.Errorf("Back shows %s", must[string](b, "location.href + ' ' + document.body.innerText.slice(0, 200)"))
	}
}
