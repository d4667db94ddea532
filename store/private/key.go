package private

import (
	"crypto/rand"
	"errors"
	"fmt"
	"os"
	"path/filepath"
)

// keySize is how many bytes a key has.
const keySize = 32

// Key reads the key that lies in a data folder, beside the database and not in it. It is
// made where there is none. A key that is there and cannot be read is never replaced:
// what was sealed with it would be lost.
func Key(dir string) ([]byte, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return nil, fmt.Errorf("data folder: %w", err)
	}
	s := &Server{dir: dir}
	if err := s.close(dir); err != nil {
		return nil, err
	}
	key, err := s.read("key")
	if errors.Is(err, os.ErrNotExist) {
		key = make([]byte, keySize)
		_, _ = rand.Read(key) // never fails since Go 1.24
		err = s.write("key", string(key))
	}
	if err == nil && len(key) != keySize {
		err = fmt.Errorf("it has %d bytes and not %d; take it from a backup", len(key), keySize)
	}
	if err != nil {
		return nil, fmt.Errorf("the key in %s: %w", s.path("key"), err)
	}
	return key, nil
}
