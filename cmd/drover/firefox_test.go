package main

import (
	"bufio"
	"context"
	"encoding/base64"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/gorilla/websocket"
)

// firefox is a running Firefox that is spoken to by WebDriver BiDi.
type firefox struct {
	line *websocket.Conn
	last int
}

// quiet are settings of a Firefox that asks nothing of the world outside.
const quiet = `user_pref("datareporting.policy.dataSubmissionEnabled", false);
user_pref("app.normandy.enabled", false);
user_pref("app.update.enabled", false);
user_pref("services.settings.server", "data:,#");
user_pref("network.captive-portal-service.enabled", false);
user_pref("network.connectivity-service.enabled", false);
user_pref("browser.safebrowsing.update.enabled", false);
user_pref("dom.w3c_touch_events.enabled", 1);
`

// startFirefox runs one Firefox for a test.
func startFirefox(t *testing.T) *firefox {
	t.Helper()
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "user.js"), []byte(quiet), 0o600); err != nil {
		t.Fatal(err)
	}
	var said io.ReadCloser
	launch(t, dir, func(cmd *exec.Cmd) {
		var err error
		if said, err = cmd.StderrPipe(); err != nil {
			t.Fatal(err)
		}
	}, "firefox-esr", "--headless", "--no-remote", "--profile", dir, "--remote-debugging-port=0")
	address := heard(said, "WebDriver BiDi listening on ")
	if address == "" {
		t.Fatal("Firefox has ended before it listened")
	}
	ctx, cancel := context.WithTimeout(t.Context(), patience)
	defer cancel()
	line, answer, err := websocket.DefaultDialer.DialContext(ctx, address+"/session", nil)
	if err != nil {
		t.Fatalf("Firefox's port: %v", err)
	}
	answer.Body.Close()
	t.Cleanup(func() { line.Close() })
	f := &firefox{line: line}
	made, err := ask[struct {
		Capabilities struct{ BrowserVersion string }
	}](ctx, f, "session.new",
		map[string]any{"capabilities": map[string]any{"alwaysMatch": map[string]any{"acceptInsecureCerts": true}}})
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("Firefox %s", made.Capabilities.BrowserVersion)
	return f
}

// heard reads what a program says up to a line that begins in a way, gives the
// rest of that line, and lets the program talk on unheard.
func heard(from io.Reader, beginning string) string {
	lines := bufio.NewScanner(from)
	for lines.Scan() {
		if rest, ok := strings.CutPrefix(lines.Text(), beginning); ok {
			go func() { _, _ = io.Copy(io.Discard, from) }() // it ends with the program
			return rest
		}
	}
	return ""
}

// ask sends one command and waits for its answer.
func ask[T any](ctx context.Context, f *firefox, method string, params map[string]any) (T, error) {
	var result T
	f.last++
	if end, ok := ctx.Deadline(); ok {
		_ = f.line.SetReadDeadline(end) // it never fails
	}
	if err := f.line.WriteJSON(map[string]any{"id": f.last, "method": method, "params": params}); err != nil {
		return result, fmt.Errorf("%s: %w", method, err)
	}
	for {
		var answer struct {
			ID             int
			Error, Message string
			Result         json.RawMessage
		}
		if err := f.line.ReadJSON(&answer); err != nil {
			return result, fmt.Errorf("%s: %w", method, err)
		}
		switch {
		case answer.ID != f.last: // an event, or the late answer to a command that was given up
		case answer.Error != "":
			return result, fmt.Errorf("%s: %s: %s", method, answer.Error, answer.Message)
		default:
			return result, json.Unmarshal(answer.Result, &result)
		}
	}
}

// none is an answer in which nothing is looked for.
type none struct{}

// newTab is a page of a person of their own.
func (f *firefox) newTab(t *testing.T, width, height int64) *tab {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), patience)
	defer cancel()
	person, err := ask[struct{ UserContext string }](ctx, f, "browser.createUserContext", map[string]any{})
	if err != nil {
		t.Fatal(err)
	}
	made, err := ask[struct{ Context string }](ctx, f, "browsingContext.create",
		map[string]any{"type": "tab", "userContext": person.UserContext})
	if err != nil {
		t.Fatal(err)
	}
	b := &tab{T: t, ctx: t.Context(), page: &foxPage{f, made.Context}}
	b.resize(width, height)
	return b
}

// foxPage is one page of Firefox.
type foxPage struct {
	*firefox
	id string
}

// tell sends a command about this page whose answer says nothing.
func (p *foxPage) tell(ctx context.Context, method string, params map[string]any) error {
	params["context"] = p.id
	_, err := ask[none](ctx, p.firefox, method, params)
	return err
}

func (p *foxPage) open(ctx context.Context, address string) error {
	return p.tell(ctx, "browsingContext.navigate", map[string]any{"url": address, "wait": "complete"})
}

func (p *foxPage) reload(ctx context.Context) error {
	return p.tell(ctx, "browsingContext.reload", map[string]any{"wait": "complete"})
}

func (p *foxPage) back(ctx context.Context) error {
	return p.tell(ctx, "browsingContext.traverseHistory", map[string]any{"delta": -1})
}

func (p *foxPage) resize(ctx context.Context, width, height int64) error {
	size := map[string]any{"width": width, "height": height}
	return p.tell(ctx, "browsingContext.setViewport", map[string]any{"viewport": size})
}

func (p *foxPage) evaluate(ctx context.Context, js string) (json.RawMessage, error) {
	got, err := ask[struct {
		Type             string
		Result           struct{ Value string }
		ExceptionDetails struct{ Text string }
	}](ctx, p.firefox, "script.evaluate", map[string]any{
		"expression": "JSON.stringify(" + js + ")", "target": map[string]any{"context": p.id}, "awaitPromise": true,
	})
	if err == nil && got.Type == "exception" {
		err = errors.New(got.ExceptionDetails.Text)
	}
	return json.RawMessage(got.Result.Value), err
}

func (p *foxPage) perform(ctx context.Context, actions []any) error {
	return p.tell(ctx, "input.performActions", map[string]any{"actions": actions})
}

func (p *foxPage) click(ctx context.Context, x, y float64) error {
	return p.perform(ctx, pressAt("mouse", x, y))
}

func (p *foxPage) tap(ctx context.Context, x, y float64) error {
	return p.perform(ctx, pressAt("touch", x, y))
}

func (p *foxPage) drag(ctx context.Context, x, y, toX, toY float64) error {
	return p.perform(ctx, dragging(x, y, toX, toY))
}

func (p *foxPage) keys(ctx context.Context, keys string) error { return p.perform(ctx, striking(keys)) }

func (p *foxPage) picture(ctx context.Context) ([]byte, error) {
	return p.file(ctx, "browsingContext.captureScreenshot", map[string]any{})
}

func (p *foxPage) sheets(ctx context.Context) ([]byte, error) {
	a4 := map[string]any{"width": 21.0, "height": 29.7}
	return p.file(ctx, "browsingContext.print", map[string]any{"page": a4, "background": true})
}

// file asks for something that comes as a file.
func (p *foxPage) file(ctx context.Context, method string, params map[string]any) ([]byte, error) {
	params["context"] = p.id
	got, err := ask[struct{ Data string }](ctx, p.firefox, method, params)
	if err != nil {
		return nil, err
	}
	return base64.StdEncoding.DecodeString(got.Data)
}
