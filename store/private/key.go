package private

import (
	"bytes"
	"crypto/rand"
	"errors"
	"fmt"
	"os"
	"path/filepath"
)

// keySize is how many bytes a key has that is made here; one that came back from a backup
// may have more.
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
	key, err := s.key()
	if errors.Is(err, os.ErrNotExist) {
		key = make([]byte, keySize)
		_, _ = rand.Read(key) // never fails since Go 1.24
		err = s.write("key", string(key))
	}
	if err != nil {
		return nil, fmt.Errorf("the key in %s: %w", s.path("key"), err)
	}
	return key, nil
}

// key reads the key that is there.
func (s *Server) key() ([]byte, error) {
	key, err := s.read("key")
	if err == nil && len(key) < keySize {
		err = fmt.Errorf("it has %d bytes and not %d; take it from a backup", len(key), keySize)
	}
	return key, err
}

// KeyThere reads the key of a data folder in which a site has run, and makes none.
func KeyThere(dir string) ([]byte, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return nil, fmt.Errorf("data folder: %w", err)
	}
	s := &Server{dir: dir}
	key, err := s.key()
	if errors.Is(err, os.ErrNotExist) {
		return nil, fmt.Errorf("there is no key in the data folder %s. Give the one in which the site runs with DROVER_DATA, "+
			"or its DROVER_KEY", dir)
	}
	if err != nil {
		return nil, fmt.Errorf("the key in %s: %w", s.path("key"), err)
	}
	return key, nil
}

// KeepKey puts a key that a backup holds into a data folder, which it makes if it is not
// there. Another key that lies there is kept beside it, as key.old.
func KeepKey(dir string, key []byte) error {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return fmt.Errorf("data folder: %w", err)
	}
	s := &Server{dir: dir}
	if err := s.close(dir); err != nil {
		return err
	}
	old, err := s.read("key")
	switch {
	case err == nil && bytes.Equal(old, key):
		return nil
	case err == nil:
		err = os.Rename(s.path("key"), s.path("key.old"))
	case errors.Is(err, os.ErrNotExist):
		err = nil
	}
	if err == nil {
		err = s.write("key", string(key))
	}
	if err != nil {
		return fmt.Errorf("put the key into %s: %w", s.path("key"), err)
	}
	return nil
}
