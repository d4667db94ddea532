package main

import (
	"bytes"
	"context"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"net"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// webkit is a screen that nobody sees, for the WebKit browsers of a test.
type webkit struct{ display string }

// startScreen runs that screen.
func startScreen(t *testing.T) *webkit {
	t.Helper()
	read, write, err := os.Pipe()
	if err != nil {
		t.Fatal(err)
	}
	defer read.Close()
	launch(t, t.TempDir(), func(cmd *exec.Cmd) { cmd.ExtraFiles = []*os.File{write} },
		"Xvfb", "-displayfd", "3", "-screen", "0", "1600x1400x24", "-nolisten", "tcp", "-noreset")
	write.Close()
	number := heard(read, "")
	if number == "" {
		t.Fatal("Xvfb has ended before it had a screen")
	}
	return &webkit{":" + number}
}

// miniBrowser is where Debian keeps WebKit's own small browser.
func miniBrowser(t *testing.T) string {
	t.Helper()
	for _, version := range []string{"webkit2gtk-4.1", "webkitgtk-6.0"} {
		if found, err := filepath.Glob("/usr/lib/*/" + version + "/MiniBrowser"); err == nil && len(found) > 0 {
			return found[0]
		}
	}
	t.Fatal("there is no MiniBrowser: run deploy/test --browsers, which installs it")
	return ""
}

// newTab is a browser of its own, since a driver has one session at a time.
func (w *webkit) newTab(t *testing.T, width, height int64) *tab {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), patience)
	defer cancel()
	port := freeAddress(t)
	p := &kitPage{base: "http://" + port}
	_, number, _ := net.SplitHostPort(port) // freeAddress has made it
	launch(t, t.TempDir(), func(cmd *exec.Cmd) {
		cmd.Env = append(cmd.Env, "DISPLAY="+w.display, "GDK_BACKEND=x11")
	}, "WebKitWebDriver", "--port="+number)
	if err := until(patience, func() bool { return p.call(ctx, http.MethodGet, "/status", nil, nil) == nil }); err != nil {
		t.Fatalf("WebKit's driver: %v", err)
	}
	// Without its bar of tools, the window can be as narrow as a phone.
	options := map[string]any{"binary": miniBrowser(t), "args": []string{"--automation", "--full-screen"}}
	want := map[string]any{"acceptInsecureCerts": true, "webkitgtk:browserOptions": options}
	var made struct {
		SessionID    string
		Capabilities struct{ BrowserVersion string }
	}
	body := map[string]any{"capabilities": map[string]any{"alwaysMatch": want}}
	if err := p.call(ctx, http.MethodPost, "/session", body, &made); err != nil {
		t.Fatal(err)
	}
	t.Logf("WebKit %s", made.Capabilities.BrowserVersion)
	p.base += "/session/" + made.SessionID
	t.Cleanup(func() { _ = p.call(context.Background(), http.MethodDelete, "", nil, nil) }) // else its group is ended
	b := &tab{T: t, ctx: t.Context(), page: p}
	b.resize(width, height)
	return b
}

// kitPage is the page of one WebKit browser, spoken to by WebDriver.
type kitPage struct{ base string }

// call sends one command and reads its value.
func (p *kitPage) call(ctx context.Context, method, path string, body any, into any) error {
	text := []byte{}
	if method == http.MethodPost {
		var err error
		if text, err = json.Marshal(body); err != nil {
			return err
		}
	}
	r, err := http.NewRequestWithContext(ctx, method, p.base+path, bytes.NewReader(text))
	if err != nil {
		return err
	}
	r.Close = true // the driver keeps no line open for long
	answer, err := http.DefaultClient.Do(r)
	if err != nil {
		return err
	}
	defer answer.Body.Close()
	var got struct{ Value json.RawMessage }
	if err := json.NewDecoder(answer.Body).Decode(&got); err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	if answer.StatusCode != http.StatusOK {
		if strings.Contains(string(got.Value), "unknown command") {
			return fmt.Errorf("%s: %w", path, errUnable)
		}
		return fmt.Errorf("%s: %s", path, got.Value)
	}
	if into == nil {
		return nil
	}
	return json.Unmarshal(got.Value, into)
}

func (p *kitPage) post(ctx context.Context, path string, body map[string]any) error {
	return p.call(ctx, http.MethodPost, path, body, nil)
}

func (p *kitPage) open(ctx context.Context, address string) error {
	return p.post(ctx, "/url", map[string]any{"url": address})
}

func (p *kitPage) reload(ctx context.Context) error {
	return p.post(ctx, "/refresh", map[string]any{})
}

func (p *kitPage) back(ctx context.Context) error { return p.post(ctx, "/back", map[string]any{}) }

// resize gives the window a size, and with it the page, which fills it.
func (p *kitPage) resize(ctx context.Context, width, height int64) error {
	return p.post(ctx, "/window/rect", map[string]any{"x": 0, "y": 0, "width": width, "height": height})
}

func (p *kitPage) evaluate(ctx context.Context, js string) (json.RawMessage, error) {
	var text string
	body := map[string]any{"script": "return JSON.stringify(" + js + ")", "args": []any{}}
	err := p.call(ctx, http.MethodPost, "/execute/sync", body, &text)
	return json.RawMessage(text), err
}

func (p *kitPage) perform(ctx context.Context, actions []any) error {
	return p.post(ctx, "/actions", map[string]any{"actions": actions})
}

func (p *kitPage) click(ctx context.Context, x, y float64) error {
	return p.perform(ctx, pressAt("mouse", x, y))
}

// tap asks for a finger; this version's driver makes it a mouse.
func (p *kitPage) tap(ctx context.Context, x, y float64) error {
	return p.perform(ctx, pressAt("touch", x, y))
}

func (p *kitPage) drag(ctx context.Context, x, y, toX, toY float64) error {
	return p.perform(ctx, dragging(x, y, toX, toY))
}

func (p *kitPage) keys(ctx context.Context, keys string) error { return p.perform(ctx, striking(keys)) }

func (p *kitPage) picture(ctx context.Context) ([]byte, error) {
	return p.file(ctx, http.MethodGet, "/screenshot")
}

func (p *kitPage) sheets(ctx context.Context) ([]byte, error) {
	return p.file(ctx, http.MethodPost, "/print")
}

// file asks for something that comes as a file.
func (p *kitPage) file(ctx context.Context, method, path string) ([]byte, error) {
	var text string
	if err := p.call(ctx, method, path, map[string]any{}, &text); err != nil {
		return nil, err
	}
	return base64.StdEncoding.DecodeString(text)
}
