package private

import "os"

// Relock takes a lock in a folder and lets go of it.
func Relock(dir string) error {
	s := &Server{dir: dir}
	if err := s.take(); err != nil {
		return err
	}
	s.release()
	return nil
}

// Plain opens a file as the server opens its own.
func Plain(dir, name string) (*os.File, error) { return (&Server{dir: dir}).open(name, os.O_RDONLY) }
