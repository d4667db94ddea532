package main

import (
	"context"
	"fmt"
	"testing"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// keeps waits until what a child has set is kept as one row.
func (s *server) keeps(row string) {
	s.Helper()
	var got string
	err := until(patience, func() bool {
		s.sql(`select coalesce((select concat_ws(' ', coalesce(pace, 0), big, turned, sounds, scheme) from own_settings), '')`, &got)
		return got == row
	})
	if err != nil {
		s.Fatalf("kept is %q, not %q", got, row)
	}
}

// ears counts what sounds from now on, instead of what the page would use.
func (b *tab) ears() {
	b.Helper()
	must[bool](b, `(window.heard = [0, 0], window.AudioContext = class extends AudioContext {
		constructor() { super(); heard[0] += 1; }
		createOscillator() { heard[1] += 1; return super.createOscillator(); }
	}, true)`)
}

// TestOwnSettings: a child changes each of its settings with the keyboard alone, each is
// kept at once, and the board follows: turned, with its keys and its letters; big signs;
// the pace in its frame; dark; and a sound only after a key, and only for who wants it.
func TestOwnSettings(t *testing.T) {
	s := startServer(t)
	coach := newTab(t, 1280, 900)
	makeClub1(coach, s)
	wick := addPupil(coach, s, "Wick")
	give(coach, s, "ending=KRK", map[string]string{"fens": "8/8/8/4k3/R7/8/8/4K3 w - - 0 1"})
	b := newTab(t, 390, 844)
	b.signIn(s, wick)
	b.prefers("prefers-color-scheme", "light")
	b.tabTo(`a[href="/own"]`)
	b.press(keyEnter)
	b.at("/own")
	b.wait(`document.querySelector('#keep').hidden`)
	setsByKeys(b, s)

	b.at("/today")
	b.begin()
	b.ears()
	boardFollows(b)
	soundsAreHeard(b)

	// Off again: nothing is fetched and nothing is made.
	must[bool](b, `(fetch('/own', {method: 'POST', body: new URLSearchParams({pace: 'club', scheme: 'device'}),
		redirect: 'manual'}).then(() => { window.off = true; }), true)`)
	b.wait("window.off")
	s.keeps("0 f f f ")
	b.reload()
	b.ready(2)
	b.ears()
	b.tapTap("e1e2", "")
	b.ready(3)
	if !must[bool](b, `heard.join() === '0,0' && !performance.getEntriesByType('resource').some((r) => r.name.endsWith('sound.js')) &&
		!document.documentElement.hasAttribute('data-big') && document.querySelector('.ranks').textContent.trim().startsWith('8')`) {
		t.Error("what is off is still there")
	}
}

// setsByKeys sets everything on the settings page, and leaves it.
func setsByKeys(b *tab, s *server) {
	b.Helper()
	b.tabTo(`[name="pace"]`)
	b.press(keyRight)
	s.keeps("1200 f f f ")
	b.tabTo(`[name="big"]`)
	width := `parseFloat(getComputedStyle(document.querySelector('.sample:not([hidden]) .cover-sign')).strokeWidth)`
	before := must[float64](b, width)
	b.press(" ")
	s.keeps("1200 t f f ")
	if after := must[float64](b, width); after < 1.4*before {
		b.Errorf("a sign was %.1f wide, and big it is %.1f", before, after)
	}
	b.tabTo(`[name="turned"]`)
	b.press(" ")
	s.keeps("1200 t t f ")
	b.wait(`document.querySelectorAll('.sample')[0].hidden && !document.querySelectorAll('.sample')[1].hidden`)
	b.tabTo(`[name="sounds"]`)
	b.press(" ")
	s.keeps("1200 t t t ")
	ground := must[string](b, `getComputedStyle(document.body).backgroundColor`)
	b.tabTo(`[name="scheme"]`)
	b.press(keyRight + keyRight)
	s.keeps("1200 t t t dark")
	if dark := must[string](b, `getComputedStyle(document.body).backgroundColor`); dark == ground {
		b.Error("dark is as light as before")
	}
	b.sees("Kept.")
	b.tabTo(`.own-back a`)
	b.press(keyEnter)
}

// boardFollows looks at the board as the child has set it.
func boardFollows(b *tab) {
	b.Helper()
	top := func(square string) float64 {
		return must[float64](b, fmt.Sprintf(`document.querySelector('[data-square=%q]').getBoundingClientRect().top`, square))
	}
	if top("e1") > top("e8") || !must[bool](b, `document.querySelector('.ranks').textContent.trim().startsWith('1') &&
		document.querySelector('.files').textContent.trim().startsWith('h')`) {
		b.Error("the board is not turned, or its letters are not")
	}
	if !must[bool](b, `document.documentElement.dataset.scheme === 'dark'`) {
		b.Error("the board's page is not dark")
	}
	must[bool](b, `(() => { const url = new URL('/live/games/' + document.querySelector('main').dataset.game, location.href);
		url.protocol = 'ws'; new WebSocket(url, 'drover.1').onmessage = (e) => { const f = JSON.parse(e.data); if (f.game) window.pace = f.game.pace; };
		return true; })()`)
	b.wait(`window.pace === 1200`)
	if n := must[string](b, "heard.join()"); n != "0,0" {
		b.Errorf("before any key there were %s", n)
	}
	must[bool](b, `(document.querySelector('[data-square="e1"]').focus(), true)`)
	on := func(square string) {
		b.Helper()
		b.wait(fmt.Sprintf(`document.activeElement.dataset.square === %q`, square))
	}
	b.press(keyDown)
	on("e2")
	b.press(keyRight)
	on("d2")
	b.press("t") // for a moment
	on("d2")
	if top("e1") < top("e8") {
		b.Error("T does not turn the board back")
	}
	b.press(keyRight)
	on("e2")
	b.wait(`document.querySelector('#live').textContent === 'The board is turned: row 1 is at the bottom.'`)
	b.click("#tool-more")
	b.click("#more-turn")
	b.wait(`!document.querySelector('#more').open`)
	if top("e1") > top("e8") {
		b.Error("'Turn the board' does not")
	}
	b.click("#ladder button:nth-child(2)")
	b.wait(`document.querySelector('.board .cover-sign')`)
	if w := must[float64](b, `parseFloat(getComputedStyle(document.querySelector('.board .cover-sign')).strokeWidth)`); w < 6 {
		b.Errorf("a big sign is %.1f px wide", w)
	}
}

// soundsAreHeard: a move makes a sound, through the one way to the ear.
func soundsAreHeard(b *tab) {
	b.Helper()
	before := must[int](b, "heard[1]")
	b.tapTap("a4b4", "")
	b.ready(2)
	if n := must[int](b, "heard[0]"); n != 1 {
		b.Errorf("%d ways to the ear", n)
	}
	if n := must[int](b, "heard[1]"); n <= before {
		b.Error("a move makes no sound")
	}
}

// prefers draws the page as for a device with a preference.
func (b *tab) prefers(feature, value string) {
	b.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	media := emulation.SetEmulatedMediaParams{Media: "screen", Features: []*emulation.MediaFeature{{Name: feature, Value: value}}}
	if _, err := chromedp.Call(ctx, emulation.SetEmulatedMedia, media); err != nil {
		b.Fatal(err)
	}
}

// TestTakenManLeaves: a man whom the lone king takes fades and goes off his square, in
// about 0.4 s; where motion is not wanted he is gone at once. In both a mark stays where
// he was taken, also when the page is loaded again.
func TestTakenManLeaves(t *testing.T) {
	s := startServer(t)
	coach := newTab(t, 1280, 900)
	makeClub1(coach, s)
	s.sql("update clubs set pace = 40")
	wick := addPupil(coach, s, "Wick")
	give(coach, s, "ending=KRK", map[string]string{"fens": "8/8/8/4k3/8/3R4/8/K7 w - - 0 1"})
	b := signInCard(t, s, wick, 390, 844)
	for _, motion := range []string{"no-preference", "reduce"} {
		b.prefers("prefers-reduced-motion", motion)
		must[bool](b, `(window.left = [], new MutationObserver((list) => list.forEach((m) => m.addedNodes.forEach((man) => {
			for (const a of man.getAnimations().slice(-1)) left.push([man.querySelector('use').getAttribute('href').split('#')[1], a.effect.getTiming().duration].join(' '));
		}))).observe(document.querySelector('[data-layer=leaving]'), { childList: true }), true)`)
		b.tapTap("d3d4", "")
		b.wait(`document.querySelector('.board .fallen') && !document.querySelector('[data-layer=leaving] *')`)
		want := map[string]string{"no-preference": "r 400", "reduce": ""}[motion]
		if got := must[string](b, "left.join()"); got != want {
			t.Errorf("%s: there left %q, not %q", motion, got, want)
		}
		at := must[string](b, `document.querySelector('.board .fallen').getAttribute('transform')`)
		if n := must[int](b, `document.querySelectorAll('.board .man').length`); n != 2 {
			t.Errorf("%s: %d men stand", motion, n)
		}
		b.reload()
		b.wait(`document.querySelector('#after h2')`)
		b.wait(`document.querySelector('.board .fallen')?.getAttribute('transform') === ` + fmt.Sprintf("%q", at))
		b.click(`#after [value="again"]`)
		b.ready(1)
		if must[bool](b, `Boolean(document.querySelector('.board .fallen'))`) {
			t.Error("the mark is there in a new game")
		}
	}
}
