package main

import (
	"context"
	"fmt"
	"os"
	"time"

	"drover/deploy/measurement/load"

	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
)

// slower is by how much the browser's processor is slowed, to be that of a cheap phone.
const slower = 4

// taps is how many moves are tapped.
const taps = 10

// patience is how long a page may take for one step.
const patience = time.Minute

// watching counts what moves on the page and notes when something is painted, from the
// page's beginning, and gives how long it takes from a tap to the frame in which the
// tapped square shows another man.
const watching = `(() => {
	window.seen = {shift: 0, paint: 0, taps: []};
	new PerformanceObserver((list) => list.getEntries().forEach((e) => { seen.shift += e.hadRecentInput ? 0 : e.value; }))
		.observe({type: 'layout-shift', buffered: true});
	new PerformanceObserver((list) => list.getEntries().forEach((e) => { seen.paint = e.startTime; }))
		.observe({type: 'largest-contentful-paint', buffered: true});
	window.time = (name) => {
		const label = () => document.querySelector('[data-square="' + name + '"]').getAttribute('aria-label');
		addEventListener('pointerup', (tap) => {
			const before = label();
			const look = () => {
				if (label() === before) return requestAnimationFrame(look);
				const painted = new MessageChannel();
				painted.port1.onmessage = () => seen.taps.push(performance.now() - tap.timeStamp);
				painted.port2.postMessage(0);
			};
			requestAnimationFrame(look);
		}, {capture: true, once: true});
	};
	return true;
})()`

// page is a page of Chromium.
type page struct{ ctx context.Context }

// inBrowser measures the board page in Chromium, whose processor is slowed.
func inBrowser(ctx context.Context, w *world) error {
	if err := w.start(ctx); err != nil {
		return err
	}
	if _, err := w.root.Exec(ctx, "update clubs set pace = 100 where id = $1", w.players.club); err != nil {
		return fmt.Errorf("make the replies quick: %w", err)
	}
	games, err := w.begin(ctx, 0, 1, 1)
	if err != nil {
		return err
	}
	// Chromium writes to the home of whoever runs it, which may not be ours any more.
	if err := os.Setenv("HOME", w.dir); err != nil {
		return fmt.Errorf("give Chromium a home: %w", err)
	}
	opts := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.NoSandbox) // it opens our own pages alone
	ctx, end := chromedp.NewExecAllocator(ctx, opts...)
	defer end()
	ctx, leave := chromedp.NewContext(ctx)
	defer leave()
	p := page{ctx}
	if err := p.arrive(w, games[0].ID); err != nil {
		return fmt.Errorf("open the board page in Chromium: %w", err)
	}
	first, files, err := p.loaded()
	if err != nil {
		return err
	}
	for i, move := range games[0].Moves[:taps] {
		if err := p.move(i+1, move); err != nil {
			return fmt.Errorf("tap %s: %w", move, err)
		}
	}
	return p.report(w, first, files)
}

// report writes down what was seen.
func (p page) report(w *world, first float64, files int) error {
	took, err := eval[[]float64](p, "seen.taps")
	if err != nil {
		return err
	}
	shift, err := eval[float64](p, "seen.shift")
	if err != nil {
		return err
	}
	var all []time.Duration
	for _, t := range took {
		all = append(all, time.Duration(t*float64(time.Millisecond)))
	}
	all = load.Sorted(all)
	const where = "Chromium at a quarter of the processor's speed: "
	w.table.judge(ms(load.Quantile(all, 1)) < 50, "50 ms", where+fmt.Sprintf("tap to painted move, %d moves", len(all)),
		"half within %.0f ms, all within %.0f ms", ms(load.Quantile(all, 0.5)), ms(load.Quantile(all, 1)))
	w.table.judge(first <= 1500, "1.5 s", where+"largest paint of the board page, and its requests", "%.2f s, %d requests",
		first/1000, files)
	w.table.judge(shift <= 0.02, "0.02", where+"layout shift while it loads and moves are made", "%.3f", shift)
	return nil
}

// arrive signs a player in and opens the board of a game, on the screen of a phone.
func (p page) arrive(w *world, g int64) error {
	slow := emulation.SetCPUThrottlingRateParams{Rate: slower}
	card := w.site.Base + "/open#" + w.players.tokens[0]
	if err := chromedp.Do(p.ctx, chromedp.EmulateViewport(390, 844), chromedp.Navigate(card)); err != nil {
		return err
	}
	if err := p.wait("location.pathname === '/today'"); err != nil {
		return err
	}
	if _, err := chromedp.Call(p.ctx, emulation.SetCPUThrottlingRate, slow); err != nil {
		return err
	}
	if err := chromedp.Do(p.ctx, chromedp.Navigate(fmt.Sprintf("%s/play/%d", w.site.Base, g))); err != nil {
		return err
	}
	_, err := eval[bool](p, watching)
	return err
}

// loaded waits for the first move, and gives when the largest part was painted, in
// milliseconds, and how many files were asked for.
func (p page) loaded() (paint float64, files int, err error) {
	if err := p.ready(1); err != nil {
		return 0, 0, err
	}
	if err := p.wait("seen.paint"); err != nil {
		return 0, 0, err
	}
	if paint, err = eval[float64](p, "seen.paint"); err != nil {
		return 0, 0, err
	}
	files, err = eval[int](p, "1 + performance.getEntriesByType('resource').length")
	return paint, files, err
}

// ready waits until the student is to make a move of a number.
func (p page) ready(no int) error {
	return p.wait(fmt.Sprintf(`document.querySelector('#turn').textContent === 'Your move' &&
		document.querySelector('#turn-line').textContent.startsWith('Move %d,') &&
		document.querySelector('#line').dataset.state === 'saved'`, no))
}

// move taps a move's two squares and waits until it is painted.
func (p page) move(no int, uci string) error {
	if err := p.ready(no); err != nil {
		return err
	}
	for i, name := range []string{uci[:2], uci[2:4]} {
		if i == 1 {
			if _, err := eval[bool](p, fmt.Sprintf("(time(%q), true)", name)); err != nil {
				return err
			}
		}
		at, err := eval[[]float64](p, fmt.Sprintf(`((r) => [r.left + r.width / 2, r.top + r.height / 2])(
			document.querySelector('[data-square="%s"]').getBoundingClientRect())`, name))
		if err != nil {
			return err
		}
		if err := chromedp.Do(p.ctx, chromedp.MouseClickXY(at[0], at[1])); err != nil {
			return err
		}
	}
	return p.wait(fmt.Sprintf("seen.taps.length === %d", no))
}

// eval runs an expression in the page and reads its value.
func eval[T any](p page, js string) (T, error) {
	ctx, cancel := context.WithTimeout(p.ctx, patience)
	defer cancel()
	return chromedp.Run(ctx, chromedp.Evaluate[T](js))
}

// wait asks the page until an expression is true, also over a change of page.
func (p page) wait(js string) error {
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for end := time.Now().Add(patience); time.Now().Before(end); {
		if ok, err := eval[bool](p, "!!("+js+")"); err == nil && ok {
			return nil
		}
		select {
		case <-tick.C:
		case <-p.ctx.Done():
			return p.ctx.Err()
		}
	}
	return fmt.Errorf("this never became true: %s", js)
}
