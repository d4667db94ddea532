package private

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

// erasedFile lies in each node's data folder, beside the database and not in it.
const erasedFile = "erased.txt"

// ReadErased reads the list of who was erased that a data folder has; empty: it has none.
func ReadErased(dir string) (string, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return "", fmt.Errorf("data folder: %w", err)
	}
	text, err := (&Server{dir: dir}).read(erasedFile)
	if err != nil && !errors.Is(err, os.ErrNotExist) {
		return "", fmt.Errorf("read who was erased: %w", err)
	}
	return string(text), nil
}

// AddErased adds lines to that list and waits until they are on the disk. A line that was cut
// short when it was written is closed with a # first, which its reader passes over.
func AddErased(dir, lines string) error {
	old, err := ReadErased(dir)
	if err != nil {
		return err
	}
	if dir, err = filepath.Abs(dir); err != nil {
		return fmt.Errorf("data folder: %w", err)
	}
	s := &Server{dir: dir}
	if err := s.close(dir); err != nil {
		return err
	}
	f, err := s.open(erasedFile, os.O_WRONLY|os.O_CREATE|os.O_APPEND)
	if err != nil {
		return fmt.Errorf("note who was erased: %w", err)
	}
	if old != "" && !strings.HasSuffix(old, "\n") {
		lines = "#\n" + lines
	}
	_, err = f.WriteString(lines)
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return fmt.Errorf("note who was erased: %w", err)
	}
	return nil
}
