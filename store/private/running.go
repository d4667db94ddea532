package private

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"syscall"
)

// Addresses are those under which a running private Postgres is reached, by the user of
// the system that runs it alone.
type Addresses struct {
	App   string // for rows
	Owner string // for the schema
}

// Running says whether a Drover runs on a data folder, and gives the addresses of its
// Postgres. Where none runs, Start is free to begin one.
func Running(dir string) (at Addresses, runs bool, err error) {
	if dir, err = filepath.Abs(dir); err != nil {
		return at, false, fmt.Errorf("data folder: %w", err)
	}
	s := &Server{dir: dir}
	s.socket = s.path("run")
	f, err := s.open("lock", os.O_RDWR)
	if errors.Is(err, os.ErrNotExist) {
		return at, false, nil
	}
	if err != nil {
		return at, false, fmt.Errorf("look at the lock of the data folder: %w", err)
	}
	defer f.Close()
	err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if errors.Is(err, syscall.EWOULDBLOCK) {
		return Addresses{s.url(app, database), s.url(owner, database)}, true, nil
	}
	if err != nil {
		return at, false, fmt.Errorf("look at the lock of the data folder: %w", err)
	}
	return at, false, nil // closing lets go of it
}
