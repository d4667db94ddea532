package main

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// TestMain runs the tests in the repository's folder, as the command runs.
func TestMain(m *testing.M) {
	if err := os.Chdir("../.."); err != nil {
		panic(err)
	}
	os.Exit(m.Run())
}

// TestMade: a change replaces its own token and nothing else, whatever stands around it.
func TestMade(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		line       string
		col        int
		kind, want string
	}{
		{"\tif a < b && c {", 7, "CONDITIONALS_BOUNDARY", "\tif a <= b && c {"},
		{"\tif a < b && c {", 7, "CONDITIONALS_NEGATION", "\tif a >= b && c {"},
		{"\tif a >= b {", 7, "CONDITIONALS_BOUNDARY", "\tif a > b {"},
		{"\tif a < b && c {", 11, "INVERT_LOGICAL", "\tif a < b || c {"},
		{"\tn &^= 1 << k", 4, "INVERT_BWASSIGN", "\tn &= 1 << k"},
		{"\tn &^= 1 << k", 4, "REMOVE_SELF_ASSIGNMENTS", "\tn = 1 << k"},
		{"\tn &^= 1 << k", 10, "INVERT_BITWISE", "\tn &^= 1 >> k"},
		{"\tx := a &^ b", 9, "INVERT_BITWISE", "\tx := a & b"},
		{"\ti++", 3, "INCREMENT_DECREMENT", "\ti--"},
		{"\treturn -x", 9, "INVERT_NEGATIVES", "\treturn +x"},
		{"\t\tcontinue", 3, "INVERT_LOOPCTRL", "\t\tbreak"},
	} {
		it := change{file: "x.go", line: 2, col: c.col, kind: c.kind}
		if !it.swap(c.line) {
			t.Errorf("%s: no token of %s at %d", c.line, c.kind, c.col)
			continue
		}
		got, err := it.made("one\n" + c.line + "\nthree\n")
		if want := "one\n" + c.want + "\nthree\n"; got != want || err != nil {
			t.Errorf("%s, %s: %q, %v", c.line, c.kind, got, err)
		}
		if _, err := it.made("one\nanother\nthree\n"); err == nil {
			t.Errorf("%s: changed in a file that was edited", c.line)
		}
	}
}

// TestAddresses: an & that takes an address is told from one between bits.
func TestAddresses(t *testing.T) {
	t.Parallel()
	at, err := addresses("x.go", []byte("package x\n\nvar p, n = &q, a&b&^c\nvar r = f(&q, a & b)\n"))
	if err != nil || len(at) != 2 || !at[[2]int{3, 12}] || !at[[2]int{4, 11}] {
		t.Errorf("%v, %v", at, err)
	}
}

// TestPick: a seed gives the same sample, another seed another one, and a line that is added
// to the code leaves the sample as it was, but for that line.
func TestPick(t *testing.T) {
	t.Parallel()
	var all []change
	for line := 1; line <= 200; line++ {
		all = append(all, change{file: "x.go", line: line, text: strings.Repeat("x", line%90), kind: "K", nth: 1, to: "-"})
	}
	texts := func(some []change) map[int]bool {
		out := map[int]bool{}
		for _, c := range some {
			out[c.line] = true
		}
		return out
	}
	first, again, other := texts(pick(all, 1, 60)), texts(pick(all, 1, 60)), texts(pick(all, 2, 60))
	more := slices.Concat(all, []change{{file: "x.go", line: 201, text: "new", kind: "K", nth: 1, to: "-"}})
	longer := texts(pick(more, 1, 60))
	same, differ, left := 0, 0, 0
	for line := range first {
		if again[line] {
			same++
		}
		if !other[line] {
			differ++
		}
		if !longer[line] {
			left++
		}
	}
	if len(first) != 60 || same != 60 || differ < 20 || left > 1 {
		t.Errorf("%d picked, %d again, %d not with another seed, %d not after a line was added", len(first), same,
			differ, left)
	}
}

// TestRead: what go test says is understood.
func TestRead(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		said   string
		failed bool
		want   outcome
	}{
		{"ok  \tdrover/store\t1.2s", false, outcome{built: true}},
		{"--- FAIL: TestA (0.1s)\nFAIL\tdrover/store", true, outcome{caught: true, built: true, by: "TestA"}},
		{"store/x.go:3:1: undefined: y\nFAIL\tdrover/store [build failed]", true,
			outcome{caught: true, by: "it does not build"}},
		{"panic: test timed out after 15s\n", true, outcome{caught: true, built: true, by: "out of time"}},
		{"panic: runtime error: index out of range", true, outcome{caught: true, built: true, by: "a panic"}},
	} {
		if got := read(c.said, c.failed); got != c.want {
			t.Errorf("%q: %+v", c.said, got)
		}
	}
}

// TestWanted: a unit's patterns pick its files, and those of packages below it only where
// they are named.
func TestWanted(t *testing.T) {
	t.Parallel()
	whole, guards := unit{dir: "store"}, unit{dir: "web", files: []string{"guard.go", "site/at*.go"}}
	for name, want := range map[string][2]bool{
		"guard.go": {true, true}, "jobs.go": {true, false}, "site/attempt.go": {false, true},
		"site/guard.go": {false, false},
	} {
		if got := [2]bool{wanted(whole, name), wanted(guards, name)}; got != want {
			t.Errorf("%s: %v", name, got)
		}
	}
	if whole.watched() != "./store" || guards.watched() != "./web/..." {
		t.Errorf("%s, %s", whole.watched(), guards.watched())
	}
}

// TestGuardsAreThere: each file that a unit names is in the tree.
func TestGuardsAreThere(t *testing.T) {
	t.Parallel()
	for _, u := range units {
		for _, pattern := range u.files {
			if found, err := filepath.Glob(filepath.Join(u.dir, pattern)); err != nil || len(found) == 0 {
				t.Errorf("%s has no %s (%v)", u.dir, pattern, err)
			}
		}
	}
}

// TestBlocks: of a profile what was run is kept, under its place in the tree.
func TestBlocks(t *testing.T) {
	t.Parallel()
	got := blocks([]byte("mode: set\ndrover/web/public/attempt.go:5.2,7.16 3 1\ndrover/web/guard.go:1.1,2.2 1 0\n"))
	c := change{file: "web/public/attempt.go", line: 6, col: 4}
	if len(got) != 1 || got[0] != (block{"web/public/attempt.go", 5, 2, 7, 16}) || !(alone{Blocks: got}).runs(c) {
		t.Errorf("%v", got)
	}
}

// TestArguments: what cannot be done is said, and nothing is run.
func TestArguments(t *testing.T) {
	t.Parallel()
	for said, args := range map[string][]string{
		`"nowhere" is not one of the packages`: {"nowhere"},
		"a sample has at least 1 change":       {"-sample", "0", "store"},
		"these arguments cannot be read":       {"-seed", "x"},
	} {
		if err := run(t.Context(), args, t.Output()); err == nil || !strings.Contains(err.Error(), said) {
			t.Errorf("%v: %v", args, err)
		}
	}
	if some, err := choose([]string{"./store/", "solver"}); err != nil || len(some) != 2 || some[0].dir != "store" {
		t.Errorf("%v, %v", some, err)
	}
}

// TestTablesFitTheTree: each row of the tables has its text once in the code, and its test
// is there.
func TestTablesFitTheTree(t *testing.T) {
	t.Parallel()
	rows, err := readHand("deploy/mutation/hand.txt")
	if err != nil || len(rows) < 40 {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	for _, r := range rows {
		if _, err := r.find(); err != nil {
			t.Error(err)
		}
		if !named(t, r.dir, r.test) {
			t.Errorf("%s has no test %s", r.dir, r.test)
		}
	}
	known, err := readSame("deploy/mutate.txt")
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range known {
		if text, err := os.ReadFile(k.file); err != nil || strings.Count(string(text), "\t"+k.text+"\n") != 1 {
			t.Errorf("%s has not this line once: %s (%v)", k.file, k.text, err)
		}
	}
}

// named says whether a folder's tests hold a test of that name; a folder that ends in /...
// stands for all below it.
func named(t *testing.T, dir, test string) bool {
	t.Helper()
	dir, deep := strings.CutSuffix(dir, "/...")
	patterns := []string{dir + "/*_test.go"}
	if deep {
		patterns = append(patterns, dir+"/*/*_test.go")
	}
	for _, pattern := range patterns {
		paths, err := filepath.Glob(pattern)
		if err != nil {
			t.Fatal(err)
		}
		for _, path := range paths {
			text, err := os.ReadFile(path)
			if err != nil {
				t.Fatal(err)
			}
			if regexp.MustCompile(`(?m)^func ` + test + `\(`).Match(text) {
				return true
			}
		}
	}
	return false
}
