package main

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"syscall"
	"testing"
	"time"
)

// engine is one page of a browser, as much of it as a flow needs. Points are
// measured in the page's window; keys are characters, with those of WebDriver
// for the ones that type nothing.
type engine interface {
	open(ctx context.Context, address string) error
	reload(ctx context.Context) error
	back(ctx context.Context) error
	resize(ctx context.Context, width, height int64) error
	evaluate(ctx context.Context, js string) (json.RawMessage, error)
	click(ctx context.Context, x, y float64) error
	tap(ctx context.Context, x, y float64) error // with a finger
	drag(ctx context.Context, x, y, toX, toY float64) error
	keys(ctx context.Context, keys string) error
	picture(ctx context.Context) ([]byte, error)
	// sheets is what the page is printed on; errUnable where the engine cannot print.
	sheets(ctx context.Context) ([]byte, error)
}

// errUnable is the answer of an engine that has no such ability.
var errUnable = errors.New("this engine cannot do that")

// The keys that type nothing, as WebDriver writes them.
const (
	keyLeft, keyUp, keyRight, keyDown = "\ue012", "\ue013", "\ue014", "\ue015"
	keyEnter, keyEscape, keyDelete    = "\ue007", "\ue00c", "\ue017"
	keyHome, keyEnd                   = "\ue011", "\ue010"
)

// pointer writes what one pointer does, for WebDriver and BiDi alike.
func pointer(kind string, steps ...map[string]any) []any {
	return []any{map[string]any{
		"type": "pointer", "id": kind, "parameters": map[string]any{"pointerType": kind}, "actions": steps,
	}}
}

// move, down and up are the steps of a pointer.
func move(x, y float64) map[string]any {
	return map[string]any{"type": "pointerMove", "x": int(x + 0.5), "y": int(y + 0.5), "duration": 0}
}

func down() map[string]any { return map[string]any{"type": "pointerDown", "button": 0} }

func up() map[string]any { return map[string]any{"type": "pointerUp", "button": 0} }

// pressAt presses and lets go at one point.
func pressAt(kind string, x, y float64) []any { return pointer(kind, move(x, y), down(), up()) }

// dragging carries something over in five steps, as a hand does.
func dragging(x, y, toX, toY float64) []any {
	steps := []map[string]any{move(x, y), down()}
	for i := 1.0; i <= 5; i++ {
		steps = append(steps, move(x+(toX-x)*i/5, y+(toY-y)*i/5))
	}
	return pointer("mouse", append(steps, up())...)
}

// striking presses one key after another.
func striking(keys string) []any {
	var steps []map[string]any
	for _, key := range keys {
		steps = append(steps, map[string]any{"type": "keyDown", "value": string(key)},
			map[string]any{"type": "keyUp", "value": string(key)})
	}
	return []any{map[string]any{"type": "key", "id": "keys", "actions": steps}}
}

// launch starts a program of a browser in a group of processes of its own, with
// a folder for all that it writes, and ends the whole group with the test.
func launch(t *testing.T, dir string, prepare func(*exec.Cmd), name string, args ...string) *exec.Cmd {
	t.Helper()
	cmd := exec.Command(name, args...)
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	cmd.Env = append(os.Environ(), "HOME="+dir, "TMPDIR="+dir, "XDG_RUNTIME_DIR="+dir, "XDG_CONFIG_HOME="+dir,
		"XDG_CACHE_HOME="+dir, "XDG_DATA_HOME="+dir, "NO_AT_BRIDGE=1", "DBUS_SESSION_BUS_ADDRESS=disabled:")
	prepare(cmd)
	if err := cmd.Start(); err != nil {
		t.Fatalf("%s does not start: %v", name, err)
	}
	t.Cleanup(func() { endGroup(t, cmd) })
	return cmd
}

// endGroup asks a group to end, then makes it, and waits until none is left.
func endGroup(t *testing.T, cmd *exec.Cmd) {
	t.Helper()
	group := -cmd.Process.Pid
	_ = syscall.Kill(group, syscall.SIGTERM) // it may have ended
	ended := make(chan struct{})
	go func() {
		_ = cmd.Wait() // how it ended matters to nobody
		close(ended)
	}()
	select {
	case <-ended:
	case <-time.After(5 * time.Second):
	}
	_ = syscall.Kill(group, syscall.SIGKILL) // the children that outlive their parent
	<-ended
	if err := until(10*time.Second, func() bool { return errors.Is(syscall.Kill(group, 0), syscall.ESRCH) }); err != nil {
		t.Errorf("processes of %s are left: %v", cmd.Path, err)
	}
}

// until asks again until something is so, and gives up after a while.
func until(limit time.Duration, so func() bool) error {
	tick := time.NewTicker(15 * time.Millisecond)
	defer tick.Stop()
	for end := time.Now().Add(limit); !so(); <-tick.C {
		if time.Now().After(end) {
			return fmt.Errorf("not so within %v", limit)
		}
	}
	return nil
}

// shot keeps a picture of the page in the folder that DROVER_TEST_PICTURES names.
func (b *tab) shot(name string) {
	b.Helper()
	dir := os.Getenv("DROVER_TEST_PICTURES")
	if dir == "" {
		return
	}
	b.drawn()
	ctx, cancel := context.WithTimeout(b.ctx, patience)
	defer cancel()
	png, err := b.page.picture(ctx)
	if err == nil {
		err = os.WriteFile(filepath.Join(dir, name+".png"), png, 0o600)
	}
	if err != nil {
		b.Errorf("a picture of %s: %v", name, err)
	}
}
