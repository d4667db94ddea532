package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// stumbles are wordings that readers tripped over, in texts, comments and
// documents: two units stacked by an 'a', odd prepositions, words used in a
// sense that nobody uses, and formats that are named after somebody else's.
var stumbles = regexp.MustCompile(`\blook(s|ed|ing)? ` + `on\b|\bone ` + `a line\b|\bmoves ` +
	`each: a draw|\btwice or ` +
	`mirrored\b|\bat the ` + `mate\b|\bmoves ` + `best\b|` + `\bfound ` + `now\b|\bfence` + `s?\b|["']in ` +
	`work\b|goes out ` + `by itself|\bis a ` +
	`best move\b|Better ` + `was\b`)

// TestNoWordingThatStumbles holds every text that people read against them.
func TestNoWordingThatStumbles(t *testing.T) {
	t.Parallel()
	seen := 0
	walk(t, "", func(path string) {
		switch filepath.Ext(path) {
		case ".go", ".templ", ".js", ".md":
		default:
			return
		}
		text, err := os.ReadFile(filepath.Join(root, path))
		if err != nil {
			t.Fatal(err)
		}
		seen++
		for i, line := range strings.Split(string(text), "\n") {
			if found := stumbles.FindString(line); found != "" {
				t.Errorf("%s:%d says %q", path, i+1, found)
			}
		}
	})
	if seen < 200 {
		t.Errorf("only %d files were read", seen)
	}
}
