package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"strings"
	"sync"
	"testing"
	"time"

	"drover/game/board"

	"github.com/chromedp/chromedp"
)

// patience is how long a page may take for one step on a slow machine; a wait
// ends with its signal, not with this.
const patience = 90 * time.Second

var (
	browserOnce sync.Once
	browser     context.Context
	errBrowser  error
	stopBrowser = func() {}
)

// startBrowser runs one Chromium for the whole test binary, before two tests at once
// could both start it.
func startBrowser() {
	_, trusted := certificate()
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.Flag("disable-quic", true),
		chromedp.Flag("disable-component-update", true), chromedp.Flag("ignore-certificate-errors-spki-list", trusted))
	if os.Geteuid() == 0 {
		opts = append(opts, chromedp.NoSandbox)
	}
	ctx, cancel := chromedp.NewExecAllocator(context.Background(), opts...)
	browser, _ = chromedp.NewContext(ctx) //nolint:govet // the allocator's cancel ends it
	stopBrowser = cancel
	errBrowser = chromedp.Do(browser)
}

// tab is a page in a browser context of its own: one person at one device.
type tab struct {
	*testing.T
	ctx  context.Context
	page engine
}

func newTab(t *testing.T, width, height int64) *tab {
	t.Helper()
	browserOnce.Do(startBrowser)
	if errBrowser != nil {
		t.Fatalf("Chromium does not start: %v", errBrowser)
	}
	ctx, cancel := chromedp.NewContext(browser, chromedp.WithNewBrowserContext())
	t.Cleanup(cancel)
	b := &tab{t, ctx, chromiumPage{}}
	if err := chromedp.Do(ctx, chromedp.EmulateViewport(width, height)); err != nil {
		t.Fatal(err)
	}
	return b
}

// act lets the page do one thing.
func (b *tab) act(do func(context.Context, engine) error) {
	b.Helper()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	if err := do(ctx, b.page); err != nil {
		b.Fatal(err)
	}
}

// eval runs an expression in the page and reads its value.
func eval[T any](b *tab, js string) (v T, err error) {
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	text, err := b.page.evaluate(ctx, js)
	switch {
	case err != nil:
		return v, err
	case string(text) == "null":
		return v, errors.New("it is null")
	}
	return v, json.Unmarshal(text, &v)
}

// must is eval that has to work.
func must[T any](b *tab, js string) T {
	b.Helper()
	v, err := eval[T](b, js)
	if err != nil {
		b.Fatalf("%s: %v", js, err)
	}
	return v
}

// wait asks the page until an expression is true, also over a change of page.
func (b *tab) wait(js string) {
	b.Helper()
	tick := time.NewTicker(15 * time.Millisecond)
	defer tick.Stop()
	end := time.Now().Add(patience)
	for {
		if ok, err := eval[bool](b, "!!("+js+")"); err == nil && ok {
			return
		}
		if time.Now().After(end) {
			text, _ := eval[string](b, "location.href + ' ' + document.body.innerText.slice(0, 1500)")
			b.Fatalf("never true: %s\non %s", js, text)
		}
		<-tick.C
	}
}

func (b *tab) open(address string) {
	b.Helper()
	b.act(func(ctx context.Context, page engine) error { return page.open(ctx, address) })
}

func (b *tab) reload() {
	b.Helper()
	b.act(func(ctx context.Context, page engine) error { return page.reload(ctx) })
}

func (b *tab) back() {
	b.Helper()
	b.act(func(ctx context.Context, page engine) error { return page.back(ctx) })
}

func (b *tab) resize(width, height int64) {
	b.Helper()
	b.act(func(ctx context.Context, page engine) error { return page.resize(ctx, width, height) })
	b.wait(fmt.Sprintf("innerWidth === %d && innerHeight === %d", width, height))
}

func (b *tab) at(path string) {
	b.Helper()
	b.wait(fmt.Sprintf("location.pathname.startsWith(%q) && document.readyState === 'complete'", path))
}

func (b *tab) sees(text string) {
	b.Helper()
	b.wait(fmt.Sprintf("document.body && document.body.innerText.includes(%q)", text))
}

// click waits until an element can be reached, and clicks in its middle.
func (b *tab) click(selector string) {
	b.Helper()
	b.wait(fmt.Sprintf(`((e) => {
		e.scrollIntoView({block: 'center', behavior: 'instant'});
		const r = e.getBoundingClientRect(), x = r.left + r.width / 2, y = r.top + r.height / 2;
		const top = document.elementFromPoint(x, y);
		return e.contains(top) || [...e.labels ?? []].some((l) => l.contains(top));
	})(document.querySelector(%q))`, selector))
	x, y := b.middle(selector)
	b.act(func(ctx context.Context, page engine) error { return page.click(ctx, x, y) })
}

// write strikes the keys of a text, and more keys, in a field that is empty.
func (b *tab) write(selector, keys string) {
	b.Helper()
	must[bool](b, fmt.Sprintf(`((f) => { f.focus(); f.value = ''; return true; })(document.querySelector(%q))`, selector))
	b.press(keys)
}

// fill sets fields of a form by name.
func (b *tab) fill(fields map[string]string) {
	b.Helper()
	for name, value := range fields {
		b.wait(fmt.Sprintf(`document.querySelector('[name="%s"]')`, name))
		must[string](b, fmt.Sprintf(`(() => {
			const f = document.querySelector('[name="%s"]');
			f.value = %q;
			for (const type of ['input', 'change']) f.dispatchEvent(new Event(type, { bubbles: true }));
			return f.value;
		})()`, name, value))
	}
}

// position reads the board as a screen reader would: the names of its squares.
func (b *tab) position(side byte, clock int) board.Position {
	b.Helper()
	names := must[string](b,
		`JSON.stringify([...document.querySelectorAll('[data-square]')].map(c => c.getAttribute('aria-label')))`)
	var list []string
	if err := json.Unmarshal([]byte(names), &list); err != nil || len(list) != 64 {
		b.Fatalf("the board's names: %s, %v", names, err)
	}
	var men [64]byte
	for _, name := range list {
		parts := strings.SplitN(name, ", ", 3)
		sq, ok := board.ParseSquare(parts[0])
		if !ok {
			b.Fatalf("a square is called %q", name)
		}
		if len(parts) > 1 && (strings.HasPrefix(parts[1], "white ") || strings.HasPrefix(parts[1], "black ")) {
			men[sq] = letterOf(parts[1])
		}
	}
	p, err := board.ParseFEN(fmt.Sprintf("%s %c - - %d 1", placement(men), side, clock))
	if err != nil {
		b.Fatalf("the board shows no position: %v: %s", err, names)
	}
	return p
}

func letterOf(name string) byte {
	color, kind, _ := strings.Cut(name, " ")
	letters := map[string]byte{"king": 'K', "queen": 'Q', "rook": 'R', "bishop": 'B', "knight": 'N', "pawn": 'P'}
	if color == "black" {
		return letters[kind] + 'a' - 'A'
	}
	return letters[kind]
}

// placement writes field 1 of a FEN.
func placement(men [64]byte) string {
	var rows []string
	for rank := 7; rank >= 0; rank-- {
		row := ""
		for file := range 8 {
			if c := men[rank*8+file]; c != 0 {
				row += string(c)
			} else {
				row += "1"
			}
		}
		for n := 8; n > 1; n-- {
			row = strings.ReplaceAll(row, strings.Repeat("1", n), fmt.Sprint(n))
		}
		rows = append(rows, row)
	}
	return strings.Join(rows, "/")
}

// middle is where an element lies on the page.
func (b *tab) middle(selector string) (x, y float64) {
	b.Helper()
	p := must[[]float64](b, fmt.Sprintf(`((r) => [r.left + r.width / 2, r.top + r.height / 2])(
		document.querySelector(%q).getBoundingClientRect())`, selector))
	return p[0], p[1]
}

// square names the place of a square on the board.
func square(name string) string { return fmt.Sprintf(`[data-square="%s"]`, name) }

// hands are the ways to make a move.
var hands = []func(b *tab, uci, san string){(*tab).tapTap, (*tab).drag, (*tab).keys, (*tab).typed}

func (b *tab) tapTap(uci, _ string) {
	b.Helper()
	for _, name := range []string{uci[:2], uci[2:4]} {
		x, y := b.middle(square(name))
		b.act(func(ctx context.Context, page engine) error { return page.click(ctx, x, y) })
	}
}

// fingers is tapTap on a screen that is touched.
func (b *tab) fingers(uci, _ string) {
	b.Helper()
	for _, name := range []string{uci[:2], uci[2:4]} {
		x, y := b.middle(square(name))
		b.act(func(ctx context.Context, page engine) error { return page.tap(ctx, x, y) })
	}
}

func (b *tab) drag(uci, _ string) {
	b.Helper()
	x, y := b.middle(square(uci[:2]))
	u, v := b.middle(square(uci[2:4]))
	b.act(func(ctx context.Context, page engine) error { return page.drag(ctx, x, y, u, v) })
}

// keys walks the board's one tab stop with the arrow keys.
func (b *tab) keys(uci, _ string) {
	b.Helper()
	must[bool](b, `(document.querySelector('[data-square][tabindex="0"]').focus(), true)`)
	for _, to := range []string{uci[:2], uci[2:4]} {
		at := must[string](b, "document.activeElement.dataset.square")
		b.press(steps(keyLeft, keyRight, at[0], to[0]) + steps(keyDown, keyUp, at[1], to[1]) + keyEnter)
	}
}

// steps is how often which of two keys leads from one row to another.
func steps(less, more string, from, to byte) string {
	if to < from {
		return strings.Repeat(less, int(from-to))
	}
	return strings.Repeat(more, int(to-from))
}

func (b *tab) press(keys string) {
	b.Helper()
	b.act(func(ctx context.Context, page engine) error { return page.keys(ctx, keys) })
}

func (b *tab) typed(_, san string) {
	b.Helper()
	if must[bool](b, `document.querySelector('#typed').hidden`) {
		b.click("#tool-type")
	}
	b.write("#typed-move", san+keyEnter)
}
