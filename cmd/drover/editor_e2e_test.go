package main

import (
	"context"
	"fmt"
	"strings"
	"testing"
)

// TestBoardEditor sets positions up by finger, by drag and by keyboard, and keeps a
// drill that starts from them.
func TestBoardEditor(t *testing.T) {
	s := startServer(t)
	b := newTab(t, 1280, 1000)
	makeClub1(b, s)
	b.open(s.base + "/drills/new?ending=KRK")
	b.click(`[name="kind"][value="pasted"]`)
	b.setUp("")

	editByFinger(b)
	editByDrag(b)
	editByKeys(b)
	editLines(b)
	endingChangesTheMen(b)

	b.click(`[name="ending"][value="KRK"]`)
	b.click(`[name="do"][value="shelf"]`)
	b.wait(`document.querySelector(".drill-rows")`)
	var starts string
	s.sql("select string_agg(x, '|' order by n) from drills, jsonb_array_elements_text(starts) with ordinality as e(x, n) where ready is null",
		&starts)
	if want := "8/8/8/8/4k3/8/1R6/3K4 w - - 0 1|8/8/8/4k3/8/8/R7/4K3 w - - 0 1"; starts != want {
		t.Errorf("kept are %s", starts)
	}
}

// setUp wants the men of the board to be these, as in "Ke1 ke5".
func (b *tab) setUp(want string) {
	b.Helper()
	b.wait(fmt.Sprintf(`document.querySelectorAll('#set-up [data-square]').length === 64 &&
		[...document.querySelectorAll('#set-up [data-square]')].map((c) => c.getAttribute('aria-label').split(', '))
			.filter((n) => n[1]).map((n) => ((l) => n[1].startsWith('white') ? l : l.toLowerCase())(
				{ king: 'K', queen: 'Q', rook: 'R', bishop: 'B', knight: 'N', pawn: 'P' }[n[1].slice(6)]) + n[0])
			.sort().join(' ') === %q`, want))
}

// hears wants the editor's live region to have said something.
func (b *tab) hears(want string) {
	b.Helper()
	b.wait(fmt.Sprintf(`document.querySelector('#editor-say[role="status"]').textContent === %q`, want))
}

func man(letter string) string { return fmt.Sprintf(`[data-man="%s"]`, letter) }

// finger taps in the middle of an element.
func (b *tab) finger(selector string) {
	b.Helper()
	must[bool](b, fmt.Sprintf(`(document.querySelector(%q).scrollIntoView({block: 'center', behavior: 'instant'}), true)`, selector))
	x, y := b.middle(selector)
	b.act(func(ctx context.Context, page engine) error { return page.tap(ctx, x, y) })
}

// carry drags one element's middle to another's, or beside the board.
func (b *tab) carry(from, to string) {
	b.Helper()
	must[bool](b, `(document.querySelector('#set-up').scrollIntoView({block: 'center', behavior: 'instant'}), true)`)
	x, y := b.middle(from)
	u, v := b.middle(to)
	b.act(func(ctx context.Context, page engine) error { return page.drag(ctx, x, y, u, v) })
}

// editByFinger: a man, then his square; what no position may have is said at once.
func editByFinger(b *tab) {
	b.Helper()
	b.resize(320, 700)
	for _, of := range []string{"#set-up [data-square]", "#tray button"} {
		if least := must[float64](b, fmt.Sprintf(`Math.min(...[...document.querySelectorAll(%q)].flatMap((e) =>
			[e.getBoundingClientRect().width, e.getBoundingClientRect().height]))`, of)); least < 38 {
			b.Errorf("%s: %v px on a phone", of, least)
		}
	}
	b.finger(square("d4"))
	b.hears("Choose a man first, then a square.")
	b.finger(man("K"))
	b.hears("White king. Where to?")
	b.wait(`document.querySelector('[data-man="K"]').getAttribute('aria-pressed') === 'true'`)
	b.finger(square("e1"))
	b.hears("White king on e1.")
	b.click("#editor-add")
	b.hears("The black king is not on the board yet.")
	b.finger(man("k"))
	b.finger(square("e2"))
	b.click("#editor-add")
	b.hears("The kings touch on e1 and e2. Leave a square between them.")
	b.finger(square("e2"))
	b.hears("Black king. Where to?")
	b.finger(square("e5"))
	b.hears("Black king on e5.")
	b.finger(man("K"))
	b.finger(man("K"))
	b.hears("Let go.")
	b.finger(man("k")) // there is one alone: he moves
	b.finger(square("e6"))
	b.setUp("Ke1 ke6")
	if got := must[string](b, `document.querySelector('[name="fens"]').value`); got != "" {
		b.Errorf("the text has %q", got)
	}
	b.resize(1280, 1000)
}

// editByDrag: from the tray, from square to square, and off the board.
func editByDrag(b *tab) {
	b.Helper()
	b.carry(man("R"), square("h8"))
	b.hears("White rook on h8.")
	b.carry(square("h8"), square("a2"))
	b.hears("White rook on a2.")
	b.setUp("Ke1 Ra2 ke6")
	b.carry(square("e6"), "#editor-say")
	b.hears("Black king off the board.")
	b.carry(man("k"), "#f-fens") // let go beside the board: nothing
	b.setUp("Ke1 Ra2")
	b.carry(man("k"), square("e5"))
	b.setUp("Ke1 Ra2 ke5")
	b.wait(`!document.querySelector('.carried') && !document.querySelector('[aria-pressed="true"][data-man]')`)
	b.click("#editor-add")
	b.hears("Added as line 1.")
	b.wait(`document.querySelector('[name="fens"]').value === '8/8/8/4k3/8/8/R7/4K3 w - - 0 1'`)
}

// editByKeys: one tab stop, arrows, Enter, letters as in a FEN, Delete and Escape.
func editByKeys(b *tab) {
	b.Helper()
	b.click("#editor-empty")
	b.hears("The board is empty.")
	b.wait(`document.querySelectorAll('#set-up [tabindex="0"]').length === 1`)
	must[bool](b, `(document.querySelector('[data-man="K"]').focus(), true)`)
	b.press(keyEnter)
	b.hears("White king. Where to?")
	b.keys("e1e1", "") // put, and taken up
	b.hears("White king. Where to?")
	b.press(keyEscape)
	b.hears("Let go.")
	b.setUp("Ke1")
	b.keys("e1d1", "")
	b.hears("White king on d1.")
	b.press(keyUp + keyLeft + "R")
	b.hears("White rook on c2.")
	b.press(keyDelete)
	b.hears("White rook off the board.")
	b.press(keyHome)
	b.wait(`document.activeElement.getAttribute('aria-label') === 'a2'`)
	b.press(keyEnd + "k")
	b.wait(`document.activeElement.getAttribute('aria-label') === 'h2, black king'`)
	b.press(keyDelete + keyEnter)
	b.hears("Choose a man first, then a square.")
	b.keys("e4b2", "")
	b.press("R")
	b.press(strings.Repeat(keyUp, 2) + strings.Repeat(keyRight, 3) + "k")
	b.setUp("Kd1 Rb2 ke4")
	b.click("#editor-add")
	b.hears("Added as line 2.")
}

// editLines: a line is taken to the board, changed, and the text is still the truth.
func editLines(b *tab) {
	b.Helper()
	b.fill(map[string]string{"fens": "8/8/8/4k3/8/8/R7/4K3 w - - 0 1\n8/8/8/8/4k3/8/1R6/3K4 w - - 0 1\n8/8/8/8/8/8/8/4K2R w - - 0 1"})
	must[bool](b, `((f) => { f.focus(); f.setSelectionRange(f.value.length, f.value.length); f.click(); return true; })(document.querySelector('#f-fens'))`)
	b.wait(`document.querySelector('#editor-take').textContent === 'Line 3 to the board'`)
	b.click("#editor-take")
	b.hears("Line 3 does not have the men of this ending, each on a square and the student's white. Change it in the text.")
	must[bool](b, `((f) => { f.focus(); f.setSelectionRange(3, 3); f.click(); return true; })(document.querySelector('#f-fens'))`)
	b.click("#editor-take")
	b.hears("Line 1 is on the board.")
	b.setUp("Ke1 Ra2 ke5")
	b.click(square("a2"))
	b.click(square("b2"))
	b.click("#editor-change")
	b.hears("Line 1 is changed.")
	b.wait(`document.querySelector('#editor-change').hidden`)
	b.wait(`document.querySelector('[name="fens"]').value.startsWith('8/8/8/4k3/8/8/1R6/4K3 w - - 0 1\n8/8/8/8/4k3')`)
	b.fill(map[string]string{"fens": "8/8/8/8/4k3/8/1R6/3K4 w - - 0 1\n8/8/8/4k3/8/8/R7/4K3 w - - 0 1"})
}

// endingChangesTheMen: the tray has the men of the ending; in a hold drill the student
// has the weaker side.
func endingChangesTheMen(b *tab) {
	b.Helper()
	for ending, men := range map[string]string{"KBBK": "KBk", "KPK": "KPk", "hold-KRKN": "KNkr", "hold-KPK": "Kkp"} {
		b.click(fmt.Sprintf(`[name="ending"][value="%s"]`, ending))
		b.wait(fmt.Sprintf(`[...document.querySelectorAll('#tray button')].map((e) => e.dataset.man).join('') === %q`, men))
	}
	b.click(`[name="ending"][value="KBBK"]`)
	for _, at := range []string{"c1", "f1", "g1"} { // the third is the first one, moved
		b.click(man("B"))
		b.click(square(at))
	}
	b.wait(`document.querySelector('[data-man="B"]').getAttribute('aria-label') === 'white bishop, 2 of 2 on the board'`)
	b.wait(`document.querySelector('[data-square="c1"]').getAttribute('aria-label') === 'c1'`)
}
