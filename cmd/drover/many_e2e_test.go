package main

import (
	"strings"
	"testing"
)

// TestClassOnSheets: a class of 24 is pasted, added and printed on three sheets of eight
// cards, with six clicks and one field.
func TestClassOnSheets(t *testing.T) {
	s := startServer(t)
	b := newTab(t, 1280, 900)
	makeClub1(b, s)
	addClass(b, s, 24)
	b.click(`a[href="/cards"]`)
	b.at("/cards")
	b.click(`form[action="/cards"] .go`)
	b.wait(`document.querySelectorAll('.press').length === 24`)
	if n, size := b.onPaper(); n != 3 || size != upright {
		t.Errorf("24 cards take %d sheets of %s", n, size)
	}
	b.plainPaper("a sheet of cards")
	b.cardsHold()
	sizes := must[string](b, `[...new Set([...document.querySelectorAll('.press')].map((c) => c.getBoundingClientRect())
		.map((r) => Math.round(r.width * 25.4 / 96) + 'x' + Math.round(r.height * 25.4 / 96)))].join(' ')`)
	if sizes != "95x65" {
		t.Errorf("the cards measure %s", sizes)
	}
	over := must[int](b, `[...document.querySelectorAll('.press')].filter((c) => c.scrollHeight > c.clientHeight + 1).length`)
	if over > 0 {
		t.Errorf("%d cards are fuller than they are high", over)
	}
	b.media("screen")
	for _, width := range []int64{390, 820, 1280} {
		b.resize(width, 900)
		b.open(s.base + "/students/many")
		b.fill(map[string]string{"text": "Siv\n" + strings.Repeat("x", 300)})
		b.click(`[value="look"]`)
		b.sees("it has 300")
		if !must[bool](b, "document.querySelector('.many-table td').getClientRects().length > 0") {
			t.Errorf("at %d the preview does not show the number of the line", width)
		}
		if wide := must[int](b, "document.documentElement.scrollWidth - innerWidth"); wide > 0 {
			t.Errorf("at %d the preview is %d too wide", width, wide)
		}
		b.open(s.base + "/students")
		b.sees("Child 23")
	}
}
