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

var otherEngines = flag.Bool("engines", false,
	"drive Firefox and WebKit beside Chromium; deploy/test --browsers installs them")

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

func needEngines(t *testing.T) {
	t.Helper()
	if !*otherEngines {
		t.Skip("needs Firefox and WebKit; deploy/test --browsers runs it")
	}
}

// TestEngines plays the same evening in every engine, over https behind a reverse
// proxy as a club has one: a game in every way to its end, paper, and signing out.
func TestEngines(t *testing.T) {
	needEngines(t)
	for _, engine := range engines {
		t.Run(engine.name, func(t *testing.T) {
			t.Parallel()
			e := &evening{T: t, name: engine.name, open: engine.start(t), s: startSecure(t)}
			e.club()
			t.Run("board", e.sub((*evening).boardFits))
			t.Run("game", e.sub((*evening).game))
			t.Run("paper", e.sub((*evening).paper))
			t.Run("back to the child", e.sub((*evening).backToChild))
			t.Run("back to the coach", e.sub((*evening).backToCoach))
			t.Run("back past the next person", e.sub((*evening).backPastTheNext))
			t.Run("back after the session's end", e.sub((*evening).backAfterTheEnd))
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
	game1        string // the address of the child's game
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
	addPupil(e.coach, e.s, "Quill")
	e.child = e.open(e.T, 820, 1180)
	e.child.signIn(e.s, e.wick)
	e.child.begin()
	e.game1 = must[string](e.child, "location.href")
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
		name := fmt.Sprintf("%dx%d", size[0], size[1])
		b.shot(e.name + "-" + name)
		b.fits(name)
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
		for i, what := range []string{
			"higher than wide", "wider than its frame", "higher than its frame", "off its square (stones)",
			"off its square (men)",
		} {
			if off[i] > 1 || off[i] < -1 {
				e.Errorf("at %s the board is %.1f px %s", name, off[i], what)
			}
		}
		if off[5] != 32 || off[6] != 3 {
			e.Fatalf("at %s the board has %.0f stones and %.0f men", name, off[5], off[6])
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
			b.wait(`document.querySelector('.rung.shown')
				&& document.querySelector('#help-count').textContent.includes('counts as helped')`)
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
	e.coach.onSheets("the stage view", 1)
	family := e.open(e.T, 820, 1180)
	family.open(e.wick.link)
	family.at("/report")
	family.sees("Wick")
	family.onSheets("the report", 1)
}

// TestEnginesPrintAClub: the stage view of ten children and a report of weeks are
// as short on paper in Firefox as in Chromium; WebKit's driver cannot print.
func TestEnginesPrintAClub(t *testing.T) {
	needEngines(t)
	t.Parallel()
	links := startDemo(t)
	fox := startFirefox(t)
	for who, page := range map[string]struct {
		first, path, text string
		most              int
	}{
		"Coach Ilse":                {"/since", "/stages", "Juniper", 2},
		"Hanne, Juniper's guardian": {"/report", "/report", "How you can help", 1},
	} {
		b := fox.newTab(t, 1280, 900)
		b.open(links[who])
		b.at(page.first)
		b.open(must[string](b, "location.origin") + page.path)
		b.sees(page.text)
		b.onSheets(page.path, page.most)
	}
}

// onSheets prints the page, where the engine can, and holds how many sheets it
// takes at most.
func (b *tab) onSheets(what string, most int) {
	b.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	pdf, err := b.page.sheets(ctx)
	if errors.Is(err, errUnable) {
		b.Logf("%s is not printed: %v", what, err)
		return
	}
	if err != nil {
		b.Fatal(err)
	}
	if n := countSheets(pdf); n < 1 || n > most {
		b.Errorf("%s takes %d sheets, want %d at most", what, n, most)
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
	e.child.open(e.game1)
	e.child.at("/play/")
	e.child.open(e.s.base + "/today")
	e.child.sees("Wick")
	e.child.signOut()
	e.child.backShowsNobody("Wick", 2)
}

// backToCoach: after a coach's sign-out Back shows no names of students, however
// far back one goes.
func (e *evening) backToCoach() { e.coach.leavesNoNames(e.s) }

// backOverHTTP: the same where a club has no https, as on one computer.
func (e *evening) backOverHTTP() {
	s := startServer(e.T)
	makeClub1(e.coach, s)
	addPupil(e.coach, s, "Quill")
	e.coach.leavesNoNames(s)
}

// leavesNoNames lets a coach read three pages and sign out.
func (b *tab) leavesNoNames(s *server) {
	b.Helper()
	b.coachReads(s)
	b.backShowsNobody("Quill", 3)
}

// coachReads opens three pages with a student's name, then signs out.
func (b *tab) coachReads(s *server) {
	b.Helper()
	b.open(s.base + "/students")
	b.sees("Quill")
	b.open(must[string](b, `[...document.querySelectorAll('a.row-name')].find((a) => a.textContent === 'Quill').href`))
	b.sees("Quill")
	b.open(s.base + "/stages")
	b.sees("Quill")
	b.signOut()
}

// backPastTheNext: a child who signs in after the coach, on the same device, does
// not come back to the coach's pages.
func (e *evening) backPastTheNext() {
	b := e.coach
	e.coachSignsIn()
	b.coachReads(e.s)
	b.signIn(e.s, e.wick)
	for range 5 {
		b.goBack()
		b.shows("", "Quill")
	}
	b.open(e.s.base + "/today")
	b.at("/today")
	b.signOut()
}

// coachSignsIn signs the coach in by password.
func (e *evening) coachSignsIn() {
	e.Helper()
	e.coach.open(e.s.base + "/in/coach")
	e.coach.fill(map[string]string{"email": "coach@test.example", "password": "several plain words here"})
	e.coach.click(`form[action="/in/coach"] button`)
	e.coach.at("/since")
}

// backAfterTheEnd: a session that ended elsewhere, so that nothing on this device
// has changed, leaves no page to come back to either.
func (e *evening) backAfterTheEnd() {
	e.coachSignsIn()
	e.coach.open(e.s.base + "/students")
	e.coach.sees("Quill")
	e.coach.open(e.s.base + "/drills")
	e.s.sql("delete from keys where kind = 'session'")
	e.coach.backShowsNobody("Quill", 1)
}

// backShowsNobody goes back in the browser's history some times and holds that
// each page asks who is there, and shows nothing of the one who was.
func (b *tab) backShowsNobody(name string, times int) {
	b.Helper()
	for range times {
		b.goBack()
		b.shows("/in", name)
	}
}

// goBack goes back once and waits until another page is there.
func (b *tab) goBack() {
	b.Helper()
	must[bool](b, `(window.left = true)`)
	b.back()
	b.wait(`!window.left && document.readyState === 'complete'`)
	b.shot("back-" + strings.ReplaceAll(b.Name(), "/", "-"))
}

// shows holds that within some seconds the page is at an address and without a name.
func (b *tab) shows(path, not string) {
	b.Helper()
	so := fmt.Sprintf(`location.pathname.startsWith('/' + %q) && document.readyState === 'complete'
		&& !document.documentElement.textContent.includes(%q)`, strings.TrimPrefix(path, "/"), not)
	if until(10*time.Second, func() bool { ok, err := eval[bool](b, so); return err == nil && ok }) != nil {
		b.Errorf("Back shows %q", must[string](b, "location.href + ' ' + document.body.innerText.slice(0, 200)"))
	}
}
