package main

import (
	"fmt"
	"strings"
	"testing"
)

// mates are starts with mate in one, one for each size of page.
func mates(n int) string {
	var fens []string
	for _, queen := range []string{"Q7/8", "8/2Q5", "8/3Q4", "8/4Q3", "8/1Q6", "2Q5/8", "3Q4/8", "4Q3/8", "8/5Q2",
		"5Q2/8"}[:n] {
		fens = append(fens, "7k/8/6K1/8/8/8/"+queen+" w - - 0 1")
	}
	return strings.Join(fens, "\n")
}

// pageSizes are those at which the board page was designed to stand still.
var pageSizes = [][2]int64{
	{320, 640}, {390, 664}, {390, 844}, {500, 900}, {600, 900}, {768, 1024}, {820, 1180}, {844, 390}, {1024, 768},
	{1280, 800},
}

// TestBoardPageStandsStill: a game that is played to its end, with help shown on
// the way, fits the page and moves nothing on it; so does the same game opened
// again, and all that is said of its end can be scrolled to and lies under nothing.
func TestBoardPageStandsStill(t *testing.T) {
	s := startServer(t)
	coach := newTab(t, 1280, 900)
	makeClub1(coach, s)
	s.sql("update clubs set pace = 40")
	wick := addPupil(coach, s, "Wick")
	give(coach, s, "ending=KQK&mode=guided", map[string]string{"fens": mates(len(pageSizes))})
	b := signInCard(t, s, wick, pageSizes[0][0], pageSizes[0][1])
	judge := newJudge(t)
	for i, size := range pageSizes {
		name := fmt.Sprintf("%dx%d", size[0], size[1])
		b.resize(size[0], size[1])
		if i > 0 {
			// As if it had been two days ago and without help: a day has an end.
			s.sql(`update games set result = 'clean', started_at = started_at - interval '2 days',
				ended_at = ended_at - interval '2 days'`)
			b.open(s.base + "/today")
			b.click(`form[action="/today/start"] .go`)
			b.at("/play/")
		}
		b.ready(1)
		b.click("#tool-type")
		must[bool](b, `(document.querySelector('#typed').requestSubmit(), true)`)
		b.fits(name + ", a move typed wrongly")
		b.open(must[string](b, "location.href"))
		b.ready(1)
		b.watchShifts()
		b.fits(name + ", playing")
		b.click("#ladder button:nth-child(2)")
		b.wait(`document.querySelector('.rung.shown')`)
		b.fits(name + ", help shown")
		if w := must[float64](b, `document.querySelector('[data-square]').getBoundingClientRect().width`); w < 38 {
			t.Errorf("%s: a square is %.1f px wide", name, w)
		}
		must[string](b, `document.querySelector('#verdict p').textContent =
			'The rook left row 5, and he got out by f5. Kc7 would have kept it shut: only the turn had to pass. '.repeat(2)`)
		b.fits(name + ", much to say")
		uci, san, _ := b.best(judge, 0)
		hands[i%2](b, uci, san)
		b.stands(name + ", as the game ends")
		b.open(must[string](b, "location.href"))
		b.watchShifts()
		b.stands(name + ", an ended game opened")
	}
}

// watchShifts counts what moves on the page, from when it was opened.
func (b *tab) watchShifts() {
	b.Helper()
	must[bool](b, `(window.moved = [],
		window.watch = new PerformanceObserver((list) => moved.push(...list.getEntries())),
		watch.observe({type: 'layout-shift', buffered: true}), true)`)
}

// stands waits for the panel of an ended game and holds that nothing has moved
// since the page was opened and that nothing of the panel is covered.
func (b *tab) stands(when string) {
	b.Helper()
	b.sees("Checkmate in 1 move")
	b.drawn()
	if moved := must[float64](b, `[...moved, ...watch.takeRecords()]
		.reduce((sum, shift) => sum + shift.value, 0)`); moved > 0.02 {
		where := must[string](b, `moved.flatMap((shift) => shift.sources
			.map((s) => s.node?.id || s.node?.className)).join(', ')`)
		b.Errorf("%s: the page shifts by %.3f: %s", when, moved, where)
	}
	if wide := must[float64](b, `document.documentElement.scrollWidth - innerWidth`); wide > 0 {
		b.Errorf("%s: the page is %g px too wide", when, wide)
	}
	covered := must[string](b, `(() => {
		const parts = [...document.querySelectorAll('#after :is(h2, p, li, a, button)')];
		const under = parts.filter((part) => {
			part.scrollIntoView({block: 'nearest'});
			const box = part.getBoundingClientRect();
			return [box.top + 1, box.bottom - 2].some((y) => {
				const top = document.elementFromPoint(box.left + box.width / 2, y);
				return !top || !part.contains(top) && !top.contains(part);
			});
		});
		scrollTo(0, 0);
		return parts.length < 5 ? 'no panel' : under.map((part) => part.textContent).join(' | ');
	})()`)
	if covered != "" {
		b.Errorf("%s: out of reach: %s", when, covered)
	}
}

// drawn waits until the page has been painted as it is now.
func (b *tab) drawn() {
	b.Helper()
	must[bool](b, `(window.drawn = false,
		requestAnimationFrame(() => requestAnimationFrame(() => setTimeout(() => { window.drawn = true; }))), true)`)
	b.wait("window.drawn")
}

// fits holds that a page needs no scrolling, and that what is docked covers nothing.
func (b *tab) fits(when string) {
	b.Helper()
	over := must[[]float64](b, `[document.documentElement.scrollWidth - innerWidth,
		document.documentElement.scrollHeight - innerHeight]`)
	if over[0] > 0 || over[1] > 0 {
		b.Errorf("%s: the page is %g px too wide and %g px too high", when, over[0], over[1])
	}
	low := must[float64](b, `Math.max(...[...document.querySelectorAll('.rung, #verdict, #typed')]
		.map((part) => part.getBoundingClientRect().bottom))`)
	if dock := must[float64](b, `document.querySelector('.tools').getBoundingClientRect().top`); low > dock+1 {
		b.Errorf("%s: the tools begin at %g px and lie over what ends at %g px", when, dock, low)
	}
}
