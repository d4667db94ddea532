package private_test

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"drover/store/private"
)

// TestKeyIsMadeOnce: the first start makes a key for its user's eyes alone; later ones read
// the same. One that is broken or a link is refused, and left as it is.
func TestKeyIsMadeOnce(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	first, err := private.Key(dir)
	if err != nil {
		t.Fatal(err)
	}
	again, err := private.Key(dir)
	file := filepath.Join(dir, "key")
	info, found := os.Stat(file)
	if err != nil || found != nil || len(first) != 32 || !bytes.Equal(first, again) || info.Mode().Perm() != 0o600 {
		t.Errorf("%d bytes, %v, %v", len(first), err, found)
	}
	if other, err := private.Key(t.TempDir()); err != nil || bytes.Equal(first, other) {
		t.Errorf("two folders have one key: %v", err)
	}
	if err := os.WriteFile(file, []byte("cut off"), 0o600); err != nil {
		t.Fatal(err)
	}
	if key, err := private.Key(dir); err == nil {
		t.Errorf("a broken key is taken: %q", key)
	}
	if text, err := os.ReadFile(file); err != nil || string(text) != "cut off" {
		t.Errorf("it was replaced: %q, %v", text, err)
	}
	linked := t.TempDir()
	if err := os.Symlink(file, filepath.Join(linked, "key")); err != nil {
		t.Fatal(err)
	}
	if key, err := private.Key(linked); err == nil {
		t.Errorf("a link is followed: %q", key)
	}
}
