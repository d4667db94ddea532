package main

import (
	"bufio"
	"bytes"
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"time"
)

// long is how long a package's tests take before it pays to ask the right ones first.
const long = 8 * time.Second

// slow is how many times as long as the middle one a test takes that is asked late.
const slow = 3

// block is a piece of a file that a test runs.
type block struct {
	File                                 string
	StartLine, StartCol, EndLine, EndCol int
}

// alone is one test, and what it runs.
type alone struct {
	Name   string
	Took   time.Duration
	Blocks []block
}

// known is what is found out about a package before anything is changed. It is kept for
// this very code and these very tests, so that a second survey begins at once.
type known struct {
	Report []byte        // gremlins' list of changes
	Clean  time.Duration // how long the tests take
	Alone  []alone       // what each test runs; empty where all are quick
}

// learn finds out what there is to know about a package.
func learn(ctx context.Context, u unit) (known, error) {
	dir := u.dir
	binary := filepath.Join(scratch, "learn.test")
	build := []string{"test", "-c", "-vet=off", "-trimpath", "-coverpkg", u.watched(), "-o", binary, "./" + dir}
	if said, err := runGo(ctx, build); err != nil {
		return known{}, fmt.Errorf("build the tests of %s: %w\n%s", dir, err, said)
	}
	kept, err := keptFor(binary)
	if err != nil {
		return known{}, err
	}
	var k known
	if text, err := os.ReadFile(kept); err == nil && json.Unmarshal(text, &k) == nil { //nolint:gosec // our own cache
		return k, nil
	}
	if k.Report, err = gremlins(ctx, u); err != nil {
		return k, err
	}
	if k.Clean, err = timed(ctx, dir); err != nil {
		return k, err
	}
	if k.Clean > long {
		if k.Alone, err = reach(ctx, binary, dir); err != nil {
			return k, err
		}
	}
	text, err := json.Marshal(k)
	if err != nil {
		return k, fmt.Errorf("keep what is known of %s: %w", dir, err)
	}
	return k, os.WriteFile(kept, text, 0o600)
}

// reach runs each test of a package alone and notes which pieces of code it runs.
func reach(ctx context.Context, binary, dir string) ([]alone, error) {
	names, err := listTests(ctx, binary, dir)
	if err != nil {
		return nil, err
	}
	var all []alone
	for _, name := range names {
		one, err := runAlone(ctx, binary, dir, name)
		if err != nil {
			return nil, err
		}
		all = append(all, one)
	}
	return all, nil
}

// keptFor is the file for what the tests of a binary reach.
func keptFor(binary string) (string, error) {
	text, err := os.ReadFile(binary) //nolint:gosec // we have just built it
	if err != nil {
		return "", fmt.Errorf("read the tests: %w", err)
	}
	cache, err := os.UserCacheDir()
	if err != nil {
		return "", fmt.Errorf("find a place for what the tests reach: %w", err)
	}
	folder := filepath.Join(cache, "drover-mutate")
	if err := os.MkdirAll(folder, 0o700); err != nil {
		return "", fmt.Errorf("make a place for what the tests reach: %w", err)
	}
	sum := sha256.Sum256(text)
	return filepath.Join(folder, hex.EncodeToString(sum[:12])+".json"), nil
}

func listTests(ctx context.Context, binary, dir string) ([]string, error) {
	cmd := exec.CommandContext(ctx, binary, "-test.list", "^Test") //nolint:gosec // we have just built it
	cmd.Dir = dir
	said, err := cmd.Output()
	if err != nil {
		return nil, fmt.Errorf("list the tests of %s: %w", dir, err)
	}
	return strings.Fields(string(said)), nil
}

// runAlone runs one test and reads what it ran.
func runAlone(ctx context.Context, binary, dir, name string) (alone, error) {
	profile := filepath.Join(scratch, "reach.out")
	args := []string{"-test.run", "^" + name + "$", "-test.coverprofile", profile}
	cmd := exec.CommandContext(ctx, binary, args...) //nolint:gosec // we have just built it
	cmd.Dir = dir
	began := time.Now()
	if said, err := cmd.CombinedOutput(); err != nil {
		return alone{}, fmt.Errorf("%s of %s fails on the unchanged code: %w\n%s", name, dir, err, said)
	}
	text, err := os.ReadFile(profile) //nolint:gosec // our own file in the temporary folder
	if err != nil {
		return alone{}, fmt.Errorf("read what %s runs: %w", name, err)
	}
	return alone{name, time.Since(began), blocks(text)}, nil
}

// blocks reads a profile: the pieces of our code that were run.
func blocks(profile []byte) []block {
	var out []block
	lines := bufio.NewScanner(bytes.NewReader(profile))
	for lines.Scan() {
		name, rest, _ := strings.Cut(lines.Text(), ":")
		var b block
		var statements, count int
		_, err := fmt.Sscanf(rest, "%d.%d,%d.%d %d %d", &b.StartLine, &b.StartCol, &b.EndLine, &b.EndCol, &statements, &count)
		if b.File = strings.TrimPrefix(name, "drover/"); err == nil && count > 0 {
			out = append(out, b)
		}
	}
	return out
}

// runs says whether the test runs the place of a change.
func (a alone) runs(c change) bool {
	return slices.ContainsFunc(a.Blocks, func(b block) bool {
		after := cmp.Or(cmp.Compare(c.line, b.StartLine), cmp.Compare(c.col, b.StartCol)) >= 0
		before := cmp.Or(cmp.Compare(c.line, b.EndLine), cmp.Compare(c.col, b.EndCol)) <= 0
		return b.File == c.file && after && before
	})
}

// few is how many tests are asked first.
const few = 8

// ordered gives the tests of a package in the order in which they are asked: of those that
// run the place the few that run the least besides, then the other brief ones, then all
// others, since code may run at another time than it seems to.
func (k known) ordered(c change, dir string) []tests {
	limit, near := slow*k.middle(), []alone(nil)
	for _, a := range k.Alone {
		if a.Took <= limit && a.runs(c) {
			near = append(near, a)
		}
	}
	slices.SortStableFunc(near, func(a, b alone) int { return cmp.Compare(len(a.Blocks), len(b.Blocks)) })
	var out []tests
	if n := min(few, len(near)); n > 0 {
		out = append(out, k.these(near[:n], dir))
	}
	if len(near) > few {
		out = append(out, k.these(near[few:], dir))
	}
	rest := tests{dir: dir, clean: k.Clean}
	if len(near) > 0 {
		rest.not = k.these(near, dir).only
	}
	return append(out, rest)
}

// middle is the time of the middle one of the tests, which a busy machine moves with the rest.
func (k known) middle() time.Duration {
	var all []time.Duration
	for _, a := range k.Alone {
		all = append(all, a.Took)
	}
	if len(all) == 0 {
		return 0
	}
	slices.Sort(all)
	return all[len(all)/2]
}

// these are some tests of a package.
func (k known) these(some []alone, dir string) tests {
	var names []string
	var took time.Duration
	for _, a := range some {
		names = append(names, a.Name)
		took += a.Took
	}
	return tests{dir: dir, only: "^(" + strings.Join(names, "|") + ")$", clean: min(took, k.Clean)}
}
