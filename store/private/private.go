// Package private runs a Postgres of Drover's own over the programs that the
// system has installed: a data folder, a unix socket, no network, fsync on. It
// never touches a Postgres that is already there.
package private

import (
	"context"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"sync"
	"syscall"
	"time"

	"github.com/jackc/pgx/v5"
)

// Names of the roles and the database inside.
const (
	owner    = "drover_owner" // owns the schema and migrates it
	app      = "drover"       // reads and writes rows
	database = "drover"
)

// Server is a running private Postgres. It is started again when it dies.
type Server struct {
	dir      string
	socket   string
	bin      string
	user     *user
	lock     *os.File
	events   func(string)
	stopping chan struct{}
	stopped  chan struct{}
	once     sync.Once

	mu   sync.Mutex
	proc *os.Process
}

// Start runs the Postgres of a data folder, which it makes if it is not there,
// and returns when it answers. events is told what a person who runs the
// program may want to know.
func Start(ctx context.Context, dir string, events func(string)) (*Server, error) {
	dir, err := filepath.Abs(dir)
	if err != nil {
		return nil, fmt.Errorf("data folder: %w", err)
	}
	s := &Server{dir: dir, events: events, stopping: make(chan struct{}), stopped: make(chan struct{})}
	if s.user, err = worker(); err != nil {
		return nil, err
	}
	if err := s.prepare(); err != nil {
		return nil, err
	}
	if err := s.boot(ctx); err != nil {
		s.unlock()
		return nil, err
	}
	return s, nil
}

// prepare makes the folders and takes the lock.
func (s *Server) prepare() error {
	for _, d := range []string{s.dir, s.path("run")} {
		if err := os.MkdirAll(d, 0o700); err != nil {
			return fmt.Errorf("the data folder %s cannot be made: %w. Choose another with DROVER_DATA", s.dir, err)
		}
		if err := s.user.own(d); err != nil {
			return fmt.Errorf("the data folder %s cannot be given to its user: %w. Choose another with DROVER_DATA", s.dir, err)
		}
	}
	if s.socket = s.path("run"); len(s.socket) > 80 {
		return fmt.Errorf("the path %s is too long for a socket. Choose a shorter data folder with DROVER_DATA", s.socket)
	}
	f, err := os.OpenFile(s.path("lock"), os.O_CREATE|os.O_RDWR, 0o600)
	if err != nil {
		return fmt.Errorf("lock the data folder: %w", err)
	}
	if err := syscall.Flock(int(f.Fd()), syscall.LOCK_EX|syscall.LOCK_NB); err != nil {
		_ = f.Close()
		return fmt.Errorf("another Drover runs on the data folder %s. Stop that one first, or choose another folder with DROVER_DATA", s.dir)
	}
	s.lock = f
	return nil
}

func (s *Server) path(name string) string { return filepath.Join(s.dir, name) }

// boot finds the programs, makes the cluster if there is none, and starts it.
func (s *Server) boot(ctx context.Context) error {
	made, err := os.ReadFile(s.path("data/PG_VERSION"))
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
	died := make(chan exit, 1)
	if err := s.launch(died); err != nil {
		return err
	}
	if err := s.await(ctx, died); err != nil {
		s.kill()
		return err
	}
	go s.watch(died)
	return s.roles(ctx)
}

// initialise makes the cluster in a folder of another name first, so that a
// start that was cut short leaves nothing half made under the real name.
func (s *Server) initialise(ctx context.Context) error {
	tmp := s.path("data.new")
	if err := os.RemoveAll(tmp); err != nil {
		return fmt.Errorf("clear %s: %w", tmp, err)
	}
	out, err := s.user.command(ctx, s.dir, filepath.Join(s.bin, "initdb"), "-D", tmp, "-U", owner, "--auth=trust",
		"--encoding=UTF8", "--locale=C.UTF-8").CombinedOutput()
	if err != nil {
		return fmt.Errorf("the database could not be made in %s: %w: %s", s.dir, err, lastLine(out))
	}
	if err := os.Rename(tmp, s.path("data")); err != nil {
		return fmt.Errorf("name the data folder: %w", err)
	}
	return nil
}

// roles makes what the app needs inside; each step may have been done before.
func (s *Server) roles(ctx context.Context) error {
	conn, err := pgx.Connect(ctx, s.url(owner, "postgres"))
	if err != nil {
		return fmt.Errorf("connect to the private database: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	var role, base bool
	const q = `select exists (select from pg_roles where rolname = $1), exists (select from pg_database where datname = $2)`
	if err := conn.QueryRow(ctx, q, app, database).Scan(&role, &base); err != nil {
		return fmt.Errorf("look into the private database: %w", err)
	}
	if !role {
		if _, err := conn.Exec(ctx, "create role "+app+" login"); err != nil {
			return fmt.Errorf("make the role: %w", err)
		}
	}
	if !base {
		if _, err := conn.Exec(ctx, "create database "+database); err != nil {
			return fmt.Errorf("make the database: %w", err)
		}
	}
	return nil
}

func (s *Server) url(role, base string) string {
	v := url.Values{"host": {s.socket}}
	return "postgres://" + role + "@/" + base + "?" + v.Encode()
}

// URL is the address for the app: rows, not the schema.
func (s *Server) URL() string { return s.url(app, database) }

// OwnerURL is the address for migrations.
func (s *Server) OwnerURL() string { return s.url(owner, database) }

// await waits until the server answers or dies.
func (s *Server) await(ctx context.Context, died <-chan exit) error {
	ctx, cancel := context.WithTimeout(ctx, time.Minute)
	defer cancel()
	tick := time.NewTicker(15 * time.Millisecond)
	defer tick.Stop()
	for {
		conn, err := pgx.Connect(ctx, s.url(owner, "postgres"))
		if err == nil {
			return conn.Close(ctx)
		}
		select {
		case e := <-died:
			return fmt.Errorf("the private Postgres stopped while it started: %w. Its last words are in %s", e.err, s.path("postgres.log"))
		case <-ctx.Done():
			return fmt.Errorf("the private Postgres does not answer: %w. Its last words are in %s", ctx.Err(), s.path("postgres.log"))
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

// end asks for a fast shutdown, and insists after a while.
func (s *Server) end(died <-chan exit) {
	s.signal(syscall.SIGINT)
	select {
	case <-died:
		return
	case <-time.After(15 * time.Second):
	}
	s.signal(syscall.SIGQUIT)
	select {
	case <-died:
	case <-time.After(5 * time.Second):
		s.kill()
	}
}

// Stop shuts the server down and lets go of the folder. It may be called
// twice.
func (s *Server) Stop() {
	s.once.Do(func() {
		close(s.stopping)
		<-s.stopped
		s.unlock()
	})
}

func (s *Server) unlock() {
	_ = s.lock.Close() // closing lets go of the lock; there is nothing to do about an error
}
