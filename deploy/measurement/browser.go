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
const taps = 20

// patience is how long a page may take for one step.
const patience = time.Minute

// watching counts what moves on the page and notes when something is painted, from the
// page's beginning. Of a tap that time() announces it keeps how long the browser says that
// it took to the next paint (in steps of 8 ms; below 16 it says nothing), and whether the
// tapped square showed another man in that frame.
const watching = `(() => {
	window.seen = {shift: 0, paint: 0, taps: [], late: 0, events: new Map()};
	const watch = (options, each) => new PerformanceObserver((list) => list.getEntries().forEach(each))
		.observe({buffered: true, ...options});
	watch({type: 'layout-shift'}, (e) => { seen.shift += e.hadRecentInput ? 0 : e.value; });
	watch({type: 'largest-contentful-paint'}, (e) => { seen.paint = e.startTime; });
	watch({type: 'event', durationThreshold: 16}, (e) => {
		if (e.name === 'pointerup') seen.events.set(e.startTime, e.duration);
	});
	window.time = (name) => {
		const label = () => document.querySelector('[data-square="' + name + '"]').getAttribute('aria-label');
		addEventListener('pointerup', (tap) => {
			const before = label();
			requestAnimationFrame(() => {
				seen.late += label() === before ? 1 : 0;
				seen.taps.push(tap.timeStamp);
			});
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
	took, err := eval[[]float64](p, "seen.taps.map((at) => seen.events.get(at) ?? 16)")
	if err != nil {
		return err
	}
	late, err := eval[int](p, "seen.late")
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
	w.table.judge(ms(load.Quantile(all, 1)) <= 50 && late == 0, "50 ms",
		where+fmt.Sprintf("tap to painted move, %d moves", len(all)),
		"half within %.0f ms, all within %.0f ms, %d not in the first frame", ms(load.Quantile(all, 0.5)),
		ms(load.Quantile(all, 1)), late)
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
