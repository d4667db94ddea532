package main

import (
	"context"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"time"
)

// scratch is the folder for copies, profiles and what tests leave when they are cut off.
var scratch string

// workplace makes that folder; the private Postgres of a test, which runs as another user,
// must get through it.
func workplace() (string, error) { return through("", "dm") }

func through(dir, name string) (string, error) {
	made, err := os.MkdirTemp(dir, name)
	if err == nil {
		err = os.Chmod(made, 0o755) //nolint:gosec // it holds copies of code, and nothing secret
	}
	if err != nil {
		return "", fmt.Errorf("make a folder to work in: %w", err)
	}
	return made, nil
}

// floor is the least time that tests get, for a machine that others use too.
const floor = 15 * time.Second

// tests are some tests of a package, and how long they take on the unchanged code.
type tests struct {
	dir       string
	only, not string // patterns of names; empty: no limit
	clean     time.Duration
}

// outcome is what tests say to a change.
type outcome struct {
	caught, built bool
	by            string // the test, or why else
}

var failing = regexp.MustCompile(`--- FAIL: (\S+)`)

// late is said of tests that did not end.
const late = "out of time"

// try runs tests on the tree with one file replaced. Tests that ran out of time are run
// once more with three times as much: the machine may have been busy.
func try(ctx context.Context, file, text string, of tests) (outcome, error) {
	limit := max(3*of.clean, floor)
	got, err := tryWithin(ctx, file, text, of, limit)
	if err == nil && got.by == late {
		got, err = tryWithin(ctx, file, text, of, 3*limit)
	}
	return got, err
}

func tryWithin(ctx context.Context, file, text string, of tests, limit time.Duration) (outcome, error) {
	overlay, err := replaced(file, text)
	if err != nil {
		return outcome{}, err
	}
	args := []string{"test", "-vet=off", "-count=1", "-failfast", "-timeout", limit.String(), "-overlay", overlay}
	if of.only != "" {
		args = append(args, "-run", of.only)
	}
	if of.not != "" {
		args = append(args, "-skip", of.not)
	}
	said, err := runGo(ctx, append(args, "./"+of.dir))
	if ctx.Err() != nil {
		return outcome{}, fmt.Errorf("stopped: %w", ctx.Err())
	}
	return read(said, err != nil), nil
}

// read makes an outcome of what go test said.
func read(said string, failed bool) outcome {
	switch found := failing.FindStringSubmatch(said); {
	case !failed:
		return outcome{built: true}
	case strings.Contains(said, "[build failed]") || strings.Contains(said, "[setup failed]"):
		return outcome{caught: true, by: "it does not build"}
	case found != nil:
		return outcome{caught: true, built: true, by: found[1]}
	case strings.Contains(said, "panic: test timed out"):
		return outcome{caught: true, built: true, by: late}
	}
	return outcome{caught: true, built: true, by: "a panic"}
}

// replaced writes the text and an overlay that puts it in the file's place.
func replaced(file, text string) (string, error) {
	at, err := filepath.Abs(file)
	if err != nil {
		return "", fmt.Errorf("find %s: %w", file, err)
	}
	other, overlay := filepath.Join(scratch, "changed.go"), filepath.Join(scratch, "overlay.json")
	list, err := json.Marshal(map[string]map[string]string{"Replace": {at: other}})
	if err != nil {
		return "", fmt.Errorf("write the overlay: %w", err)
	}
	if err := os.WriteFile(other, []byte(text), 0o600); err != nil { //nolint:gosec // in our own temporary folder
		return "", fmt.Errorf("write the changed copy: %w", err)
	}
	if err := os.WriteFile(overlay, list, 0o600); err != nil {
		return "", fmt.Errorf("write the overlay: %w", err)
	}
	return overlay, nil
}

// runGo runs the go command. What tests leave in the temporary folder is removed.
func runGo(ctx context.Context, args []string) (string, error) {
	left, err := through(scratch, "t")
	if err != nil {
		return "", err
	}
	defer os.RemoveAll(left)
	cmd := exec.CommandContext(ctx, "go", args...) //nolint:gosec // the arguments are ours
	cmd.Env = append(os.Environ(), "TMPDIR="+left)
	cmd.WaitDelay = 5 * time.Second // a server that a killed test left behind holds the pipe
	said, err := cmd.CombinedOutput()
	return string(said), err
}
