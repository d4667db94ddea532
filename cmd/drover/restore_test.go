package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"drover/store"
)

// TestRestoreWantsAWholeList: a list that is given by hand is read strictly, since what is missing
// in it brings people back.
func TestRestoreWantsAWholeList(t *testing.T) {
	t.Parallel()
	head, hash := store.ErasedList{}.Text(), strings.Repeat("0a", 32)
	file := filepath.Join(t.TempDir(), "club.erased")
	for text, want := range map[string]string{
		"": "This list is empty", hash + "\n": "no list of erased people", head + hash[:63]: "The last line is cut short: ",
		head + hash: "", head: "",
	} {
		if err := os.WriteFile(file, []byte(text), 0o600); err != nil {
			t.Fatal(err)
		}
		_, err := restoreCommand{Erased: file}.list()
		if (err == nil) != (want == "") || err != nil && !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v", text, err)
		}
	}
	if l, err := (restoreCommand{NoErasedList: true}).list(); err != nil || len(l.Hashes) != 0 {
		t.Errorf("none: %+v, %v", l, err)
	}
	for _, c := range []restoreCommand{{}, {Erased: file, NoErasedList: true}} {
		if _, err := c.list(); err == nil || !strings.Contains(err.Error(), "--no-erased-list") {
			t.Errorf("%+v: %v", c, err)
		}
	}
}
