package private

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"syscall"
)

// Running says whether a Drover runs on a data folder, and gives the address under which
// its Postgres is reached by the same user of the system. Where none runs, Start is free
// to begin one.
func Running(dir string) (url string, runs bool, err error) {
	if dir, err = filepath.Abs(dir); err != nil {
		return "", false, fmt.Errorf("data folder: %w", err)
	}
	s := &Server{dir: dir}
	s.socket = s.path("run")
	f, err := s.open("lock", os.O_RDWR)
	if errors.Is(err, os.ErrNotExist) {
		return "", false, nil
	}
	if err != nil {
		return "", false, fmt.Errorf("look at the lock of the data folder: %w", err)
	}
	defer f.Close()
	err = syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB)
	if errors.Is(err, syscall.EWOULDBLOCK) {
		return s.url(app, database), true, nil
	}
	if err != nil {
		return "", false, fmt.Errorf("look at the lock of the data folder: %w", err)
	}
	return "", false, nil // closing lets go of it
}
