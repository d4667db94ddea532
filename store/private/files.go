package private

import (
	"errors"
	"fmt"
	"io"
	"os"
	"syscall"
)

// open opens a file of ours in the data folder: never through a link, and only
// a plain file that is the user's own and has no other name.
func (s *Server) open(name string, flags int) (*os.File, error) {
	f, err := os.OpenFile(s.path(name), flags|syscall.O_NOFOLLOW|syscall.O_NONBLOCK|syscall.O_CLOEXEC, 0o600)
	if errors.Is(err, syscall.ELOOP) {
		return nil, s.foreign(name)
	}
	if err != nil {
		return nil, err
	}
	info, err := f.Stat()
	if err == nil && (!info.Mode().IsRegular() || ownerOf(info) != os.Geteuid() || !oneName(info)) {
		err = s.foreign(name)
	}
	if err != nil {
		_ = f.Close() // the file was only looked at
		return nil, err
	}
	return f, nil
}

func (s *Server) foreign(name string) error {
	return fmt.Errorf("%s is a link, or no file of the user that runs Drover. "+
		"Look where it leads, move it away and start again", s.path(name))
}

// read reads a file of ours.
func (s *Server) read(name string) ([]byte, error) {
	f, err := s.open(name, os.O_RDONLY)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return io.ReadAll(f)
}

// write puts a file of ours in the place of one that is there.
func (s *Server) write(name, text string) error {
	fresh := name + ".new"
	if err := os.Remove(s.path(fresh)); err != nil && !errors.Is(err, os.ErrNotExist) {
		return err
	}
	f, err := s.open(fresh, os.O_WRONLY|os.O_CREATE|os.O_EXCL)
	if err != nil {
		return err
	}
	_, err = f.WriteString(text)
	if err := errors.Join(err, f.Sync(), f.Close()); err != nil {
		return err
	}
	return os.Rename(s.path(fresh), s.path(name))
}

// aside renames what root made in the folder while the program still ran as
// root, so that the user can make its own.
func (s *Server) aside(name string) error {
	info, err := os.Lstat(s.path(name))
	if errors.Is(err, os.ErrNotExist) || err == nil && ownerOf(info) != 0 {
		return nil
	}
	if err == nil {
		err = os.Rename(s.path(name), s.path(name+".old"))
	}
	if err != nil {
		return fmt.Errorf("put root's %s aside: %w", name, err)
	}
	return nil
}

// take locks the data folder for this program alone.
func (s *Server) take() error {
	f, err := s.open("lock", os.O_CREATE|os.O_RDWR)
	if err != nil {
		return fmt.Errorf("lock the data folder: %w", err)
	}
	if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		_ = f.Close() // nothing was written to it
		return fmt.Errorf("another Drover runs on the data folder %s. Stop that one first, %s", s.dir, elsewhere)
	}
	s.lock = f
	return nil
}

// release lets go of the lock. Closing alone would not while a process that is
// being started still holds a copy of the descriptor.
func (s *Server) release() {
	_ = syscall.Flock(int(s.lock.Fd()), syscall.LOCK_UN) // there is nothing to do about an error of either
	_ = s.lock.Close()
}
