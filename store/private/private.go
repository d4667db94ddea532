// Package private runs a Postgres of Drover's own with the programs that the
// system has installed: a data folder, a unix socket, no network, fsync on. It
// never touches any other Postgres.
package private

import (
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5"
)

// Server is a running private Postgres. It is started again when it dies.
type Server struct {
	dir      string
	socket   string
	bin      string
	lock     *os.File
	events   func(string)
	others   []string // who else may connect
	stopping chan struct{}
	stopped  chan struct{}
	once     sync.Once

	mu   sync.Mutex
	proc *os.Process
}

// Start runs the Postgres of a data folder, which it makes if it is not there,
// and returns when it answers. Where root runs the program, Become comes first.
// events is told what a person who runs the program may want to know. others
// are users of the system who may connect beside the one that runs it: for
// tests, which root may run.
func Start(ctx context.Context, dir string, events func(string), others ...string) (*Server, error) {
	if os.Geteuid() == 0 {
		return nil, errors.New("a private Postgres is not for root to run")
	}
	dir, err := filepath.Abs(dir)
	if err != nil {
		return nil, fmt.Errorf("data folder: %w", err)
	}
	s := &Server{dir: dir, events: events, others: others, stopping: make(chan struct{}), stopped: make(chan struct{})}
	if err := s.prepare(); err != nil {
		return nil, err
	}
	if err := s.boot(ctx); err != nil {
		s.release()
		return nil, err
	}
	if err := s.roles(ctx); err != nil {
		s.Stop()
		return nil, err
	}
	return s, nil
}

// prepare makes the folders, closes them to others and takes the lock.
func (s *Server) prepare() error {
	if s.socket = s.path("run"); len(s.socket) > 80 {
		return fmt.Errorf("the path %s is too long for a socket. Choose a shorter data folder with DROVER_DATA", s.socket)
	}
	if err := s.close(s.dir); err != nil {
		return err
	}
	for _, name := range []string{"run", "postgres.log"} {
		if err := s.aside(name); err != nil {
			return err
		}
	}
	if err := s.close(s.socket); err != nil {
		return err
	}
	return s.take()
}

// close makes a folder if it is not there, and takes from others what they
// could do with it.
func (s *Server) close(dir string) error {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return fmt.Errorf("the data folder %s cannot be made: %w. Mend that, %s", s.dir, err, elsewhere)
	}
	d, info, err := openFolder(dir)
	if err != nil {
		return err
	}
	defer d.Close()
	if ownerOf(info) != os.Geteuid() {
		return fmt.Errorf("the data folder %s belongs to another user. Start Drover as that user, %s", dir, elsewhere)
	}
	if err := d.Chmod(0o700); err != nil {
		return fmt.Errorf("close the data folder to others: %w", err)
	}
	return nil
}

func (s *Server) path(name string) string { return filepath.Join(s.dir, name) }

// boot finds the programs, makes the cluster if there is none, and starts it.
func (s *Server) boot(ctx context.Context) error {
	made, err := s.read("data/PG_VERSION")
	fresh := errors.Is(err, os.ErrNotExist)
	if err != nil && !fresh {
		return fmt.Errorf("read the data folder: %w", err)
	}
	if s.bin, err = programs(string(made), s.dir); err != nil {
		return err
	}
	if fresh {
		if err := s.initialise(ctx); err != nil {
			return err
		}
	}
	if err := s.stopLeftover(ctx); err != nil {
		return err
	}
	if err := s.admit(); err != nil {
		return err
	}
	died := make(chan exit, 1)
	if err := s.launch(died); err != nil {
		return err
	}
	if err := s.await(ctx, died); err != nil {
		s.kill()
		return err
	}
	go s.watch(died)
	return nil
}

// initialise makes the cluster in a folder of another name first, so that a
// start that was cut short leaves nothing half made under the real name.
func (s *Server) initialise(ctx context.Context) error {
	tmp := s.path("data.new")
	if err := os.RemoveAll(tmp); err != nil {
		return fmt.Errorf("clear %s: %w", tmp, err)
	}
	out, err := command(ctx, s.dir, filepath.Join(s.bin, "initdb"), "-D", tmp, "-U", root, "--auth=peer",
		"--encoding=UTF8", "--locale=C.UTF-8").CombinedOutput()
	if err != nil {
		return fmt.Errorf("the database could not be made in %s: %w: %s", s.dir, err, lastLine(out))
	}
	if err := os.Rename(tmp, s.path("data")); err != nil {
		return fmt.Errorf("name the data folder: %w", err)
	}
	return nil
}

// await waits until the server answers or dies.
func (s *Server) await(ctx context.Context, died <-chan exit) error {
	ctx, cancel := context.WithTimeout(ctx, time.Minute)
	defer cancel()
	tick := time.NewTicker(15 * time.Millisecond)
	defer tick.Stop()
	for {
		conn, err := pgx.Connect(ctx, s.url(root, "postgres"))
		if err == nil {
			return conn.Close(ctx)
		}
		if unknownRole(err) { // a cluster of an earlier version answers so
			return nil
		}
		select {
		case e := <-died:
			return fmt.Errorf("the private Postgres stopped while it started: %w. Its last words are in %s", e.err,
				s.path("postgres.log"))
		case <-ctx.Done():
			return fmt.Errorf("the private Postgres does not answer: %w. Its last words are in %s", ctx.Err(),
				s.path("postgres.log"))
		case <-tick.C:
		}
	}
}

// watch starts the server again whenever it dies, at once and then ever more
// slowly.
func (s *Server) watch(died chan exit) {
	defer close(s.stopped)
	pause := 100 * time.Millisecond
	for {
		began := time.Now()
		select {
		case <-s.stopping:
			s.end(died)
			return
		case e := <-died:
			s.events(fmt.Sprintf("the private Postgres stopped (%v); starting it again", e.err))
		}
		if time.Since(began) > time.Minute {
			pause = 100 * time.Millisecond
		}
		for s.launch(died) != nil {
			if !s.rest(&pause) {
				return
			}
		}
		if !s.rest(&pause) {
			s.end(died)
			return
		}
	}
}

// rest waits before the next attempt; false when the server is to stop.
func (s *Server) rest(pause *time.Duration) bool {
	select {
	case <-s.stopping:
		return false
	case <-time.After(*pause):
		*pause = min(*pause*2, 10*time.Second)
		return true
	}
}

// end asks for a fast shutdown and insists ever harder, so that the program
// ends in time whatever hangs.
func (s *Server) end(died <-chan exit) {
	for _, step := range []struct {
		sig  syscall.Signal
		wait time.Duration
	}{{syscall.SIGINT, 4 * time.Second}, {syscall.SIGQUIT, 2 * time.Second}, {syscall.SIGKILL, time.Second}} {
		s.signal(step.sig)
		select {
		case <-died:
			return
		case <-time.After(step.wait):
		}
	}
}

// Stop shuts the server down and lets go of the folder. It may be called
// twice.
func (s *Server) Stop() {
	s.once.Do(func() {
		close(s.stopping)
		<-s.stopped
		s.release()
	})
}
