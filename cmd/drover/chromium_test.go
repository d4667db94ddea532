package main

import (
	"context"
	"encoding/json"
	"strings"

	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/page"
	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// chromiumPage is a page of Chromium: the context that it is given knows which.
type chromiumPage struct{}

func (chromiumPage) open(ctx context.Context, address string) error {
	return chromedp.Do(ctx, chromedp.Navigate(address))
}

func (chromiumPage) reload(ctx context.Context) error { return chromedp.Do(ctx, chromedp.Reload()) }

// back goes back and does not wait: a page that is taken from memory loads nothing.
func (chromiumPage) back(ctx context.Context) error {
	past, err := chromedp.Run(ctx, chromedp.NavigationEntries())
	if err != nil {
		return err
	}
	to := past.Entries[past.CurrentIndex-1].ID
	_, err = chromedp.Call(ctx, page.NavigateToHistoryEntry, page.NavigateToHistoryEntryParams{EntryID: to})
	return err
}

func (chromiumPage) resize(ctx context.Context, width, height int64) error {
	return chromedp.Do(ctx, chromedp.EmulateViewport(width, height))
}

func (chromiumPage) evaluate(ctx context.Context, js string) (json.RawMessage, error) {
	return chromedp.Run(ctx, chromedp.Evaluate[[]byte](js))
}

func (chromiumPage) click(ctx context.Context, x, y float64) error {
	return chromedp.Do(ctx, chromedp.MouseClickXY(x, y))
}

func (chromiumPage) tap(ctx context.Context, x, y float64) error {
	tap := input.SynthesizeTapGestureParams{X: x, Y: y, GestureSourceType: input.GestureSourceTypeTouch}
	_, err := chromedp.Call(ctx, input.SynthesizeTapGesture, tap)
	return err
}

func (chromiumPage) drag(ctx context.Context, x, y, toX, toY float64) error {
	return chromedp.Do(ctx, chromedp.DragAndDropXY(x, y, toX, toY, 5))
}

func (chromiumPage) keys(ctx context.Context, keys string) error {
	named := strings.NewReplacer(keyLeft, kb.ArrowLeft, keyUp, kb.ArrowUp, keyRight, kb.ArrowRight,
		keyDown, kb.ArrowDown, keyEnter, kb.Enter, keyEscape, kb.Escape, keyDelete, kb.Delete,
		keyHome, kb.Home, keyEnd, kb.End)
	return chromedp.Do(ctx, chromedp.KeyEvent(named.Replace(keys)))
}

func (chromiumPage) picture(ctx context.Context) ([]byte, error) {
	return chromedp.Run(ctx, chromedp.CaptureScreenshot())
}

func (chromiumPage) sheets(ctx context.Context) ([]byte, error) {
	yes := true
	how := page.PrintToPDFParams{PreferCSSPageSize: &yes, PrintBackground: &yes}
	pdf, err := chromedp.Call(ctx, page.PrintToPDF, how)
	return pdf.Data, err
}
