package main

import (
	"context"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"time"
)

// equal is a change after which the code does the same.
type equal struct {
	file, text, kind string // the kind with its number on the line where that is not 1
	why              string
}

// row is a change made by hand, and the test that must notice it.
type row struct {
	file, before, after string
	dir, test           string
}

// paragraphs reads a table: rows stand apart by an empty line, and a line that begins
// with # is for people. Each row must have n lines.
func paragraphs(path string, n int) ([][]string, error) {
	text, err := os.ReadFile(path) //nolint:gosec // a table of ours
	if err != nil {
		return nil, fmt.Errorf("read a table: %w", err)
	}
	var out [][]string
	for _, part := range strings.Split(string(text), "\n\n") {
		var lines []string
		for _, line := range strings.Split(part, "\n") {
			if line = strings.TrimSpace(line); line != "" && !strings.HasPrefix(line, "#") {
				lines = append(lines, line)
			}
		}
		if len(lines) == 0 {
			continue
		}
		if len(lines) != n {
			return nil, fmt.Errorf("%s: a row has %d lines and not %d: %q", path, n, len(lines), lines[0])
		}
		out = append(out, lines)
	}
	return out, nil
}

// readSame reads the changes that are known to change nothing.
func readSame(path string) ([]equal, error) {
	rows, err := paragraphs(path, 4)
	if err != nil {
		return nil, err
	}
	var out []equal
	for _, r := range rows {
		out = append(out, equal{r[0], r[1], strings.TrimSuffix(r[2], " 1"), r[3]})
	}
	return out, nil
}

// whySame says why a change changes nothing, if that is known.
func whySame(known []equal, c change) (string, bool) {
	kind := strings.TrimSuffix(fmt.Sprintf("%s %d", c.kind, c.nth), " 1")
	for _, k := range known {
		if k.file == c.file && k.text == c.text && k.kind == kind {
			return k.why, true
		}
	}
	return "", false
}

// readHand reads the changes made by hand.
func readHand(path string) ([]row, error) {
	rows, err := paragraphs(path, 4)
	if err != nil {
		return nil, err
	}
	var out []row
	for _, r := range rows {
		dir, test, ok := strings.Cut(r[3], " ")
		if !ok {
			return nil, fmt.Errorf("%s: the last line of a row names a package and a test, not %q", path, r[3])
		}
		out = append(out, row{r[0], r[1], r[2], dir, test})
	}
	return out, nil
}

// found is the place of a row's text before: a file, where in it, and what it says.
type found struct {
	file, text string
	at         []int
}

// find looks for the text before, which must be there once. White space in it stands for
// any, so that a row has one line; a file that ends in /... stands for all code below.
func (r row) find() (found, error) {
	words := strings.Fields(r.before)
	for i := range words {
		words[i] = regexp.QuoteMeta(words[i])
	}
	pattern := regexp.MustCompile(strings.Join(words, `\s+`))
	var places []found
	for _, file := range files(r.file) {
		text, err := os.ReadFile(file) //nolint:gosec // a file of the tree
		if err != nil {
			return found{}, fmt.Errorf("read what is to be changed: %w", err)
		}
		for _, at := range pattern.FindAllStringIndex(string(text), -1) {
			places = append(places, found{file, string(text), at})
		}
	}
	if len(places) != 1 {
		return found{}, fmt.Errorf("%s has this %d times and not once: %s", r.file, len(places), r.before)
	}
	return places[0], nil
}

// files are the file itself, or the code below a folder.
func files(name string) []string {
	dir, all := strings.CutSuffix(name, "/...")
	if !all {
		return []string{name}
	}
	var out []string
	_ = filepath.WalkDir(dir, func(path string, _ fs.DirEntry, err error) error { // what is not there has no files
		if err == nil && strings.HasSuffix(path, ".go") && !strings.HasSuffix(path, "_test.go") {
			out = append(out, path)
		}
		return err
	})
	return out
}

// hand makes the changes of the table whose file or test has one of the words in its name.
func hand(ctx context.Context, words []string, out io.Writer) (err error) {
	if scratch, err = workplace(); err != nil {
		return err
	}
	defer os.RemoveAll(scratch)
	rows, err := readHand("deploy/mutation/hand.txt")
	if err != nil {
		return err
	}
	tried, caught := 0, 0
	for _, r := range rows {
		if !r.named(words) {
			continue
		}
		ok, err := r.put(ctx, out)
		if err != nil {
			return err
		}
		if tried++; ok {
			caught++
		}
	}
	fmt.Fprintf(out, "by hand: %d tried, caught %d, survived %d\n", tried, caught, tried-caught)
	return nil
}

func (r row) named(words []string) bool {
	if len(words) == 0 {
		return true
	}
	for _, w := range words {
		if strings.Contains(r.file, w) || strings.Contains(r.test, w) {
			return true
		}
	}
	return false
}

// put makes one change and runs the test that must notice it.
func (r row) put(ctx context.Context, out io.Writer) (bool, error) {
	place, err := r.find()
	if err != nil {
		return false, err
	}
	changed := place.text[:place.at[0]] + r.after + place.text[place.at[1]:]
	got, err := try(ctx, place.file, changed, tests{dir: r.dir, only: "^" + r.test + "$", clean: 20 * time.Second})
	switch {
	case err != nil:
		return false, err
	case !got.built:
		return false, fmt.Errorf("%s does not build with: %s", place.file, r.after)
	case !got.caught:
		fmt.Fprintf(out, "  survived %s: %s: %s -> %s\n", r.test, place.file, r.before, r.after)
	}
	return got.caught, nil
}
