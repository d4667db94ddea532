package private

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"sort"
	"strconv"
	"strings"
	"syscall"
	"time"
)

// port names the socket's file; given always, so that no setting of somebody
// else's changes it.
const port = "5432"

// command prepares a program in a process group of its own: Ctrl-C on the
// terminal is for us, we stop the server ourselves. It is given nothing of our
// environment, in which there may be secrets, but where programs are.
func command(ctx context.Context, dir, program string, args ...string) *exec.Cmd {
	cmd := exec.CommandContext(ctx, program, args...) //nolint:gosec // a program of PostgreSQL's
	cmd.Dir = dir
	cmd.Env = []string{"PATH=" + os.Getenv("PATH"), "LANG=C.UTF-8", "LC_ALL=C.UTF-8", "TZ=UTC"}
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}
	return cmd
}

// roots are where Debian and its kin keep the server programs, by version.
var roots = []string{"/usr/lib/postgresql/*/bin", "/usr/pgsql-*/bin"}

// programs finds the server programs: those of the version that made the data
// folder, else the newest.
func programs(made, dir string) (string, error) {
	found := folders("initdb", "postgres")
	if len(found) == 0 {
		return "", fmt.Errorf("no PostgreSQL server programs were found. " +
			"Install them (on Debian: apt-get install postgresql), or set DATABASE_URL to a Postgres that is already there")
	}
	if made = strings.TrimSpace(made); made != "" {
		want, err := strconv.Atoi(made)
		if err != nil {
			return "", fmt.Errorf("the data folder %s has an unknown version %q", dir, made)
		}
		if bin, ok := found[want]; ok {
			return bin, nil
		}
		return "", fmt.Errorf("the data folder %s was made by PostgreSQL %d, and this machine has %s. "+
			"Install postgresql-%[2]d beside it and start again; "+
			"to move to the newer one, dump with pg_dump of %[2]d and restore into a fresh folder", dir, want, versions(found))
	}
	list := sorted(found)
	return found[list[len(list)-1]], nil
}

// folders finds the folders in which programs of PostgreSQL lie, by their major version:
// where the path has one program, and where the system keeps them. asks is the program
// whose version counts.
func folders(has, asks string) map[int]string {
	found := map[int]string{}
	if p, err := exec.LookPath(has); err == nil {
		if real, err := filepath.EvalSymlinks(p); err == nil {
			found[major(filepath.Dir(real), asks)] = filepath.Dir(real)
		}
	}
	for _, pattern := range roots {
		dirs, _ := filepath.Glob(pattern) // the patterns are constants
		for _, d := range dirs {
			found[major(d, asks)] = d
		}
	}
	delete(found, 0)
	return found
}

func sorted(found map[int]string) []int {
	list := make([]int, 0, len(found))
	for v := range found {
		list = append(list, v)
	}
	sort.Ints(list)
	return list
}

func versions(found map[int]string) string {
	var names []string
	for _, v := range sorted(found) {
		names = append(names, strconv.Itoa(v))
	}
	return strings.Join(names, " and ")
}

// major asks a program of a folder for its major version; 0 if it does not answer.
func major(bin, program string) int {
	out, err := command(context.Background(), "/", filepath.Join(bin, program), "--version").Output()
	if err != nil {
		return 0
	}
	f := strings.Fields(string(out)) // pg_dump (PostgreSQL) 15.18 (Debian ...)
	if len(f) < 3 {
		return 0
	}
	n, err := strconv.Atoi(strings.Split(f[2], ".")[0])
	if err != nil {
		return 0
	}
	return n
}

// launch starts the server process; died receives its end. The thread that
// starts it lives as long as it does, because the kernel sends the death
// signal when that thread ends.
func (s *Server) launch(died chan<- exit) error {
	logFile, err := s.open("postgres.log", os.O_CREATE|os.O_APPEND|os.O_WRONLY)
	if err != nil {
		return fmt.Errorf("open the database's log: %w", err)
	}
	cmd := command(context.Background(), s.dir, filepath.Join(s.bin, "postgres"), "-D", s.path("data"), "-k", s.socket,
		"-p", port,
		"-c", "listen_addresses=", "-c", "fsync=on", "-c", "full_page_writes=on", "-c", "synchronous_commit=on",
		"-c", "unix_socket_permissions=0700", "-c", "max_connections=60", "-c", "log_min_messages=warning", "-c",
		"timezone=UTC")
	cmd.Stdout, cmd.Stderr = logFile, logFile
	cmd.SysProcAttr.Pdeathsig = syscall.SIGINT
	started := make(chan error, 1)
	go func() {
		runtime.LockOSThread()
		defer logFile.Close()
		if err := cmd.Start(); err != nil {
			started <- fmt.Errorf("start the private Postgres: %w", err)
			return
		}
		s.mu.Lock()
		s.proc = cmd.Process
		s.mu.Unlock()
		started <- nil
		err := cmd.Wait()
		if err == nil {
			err = fmt.Errorf("it shut down")
		}
		died <- exit{err}
	}()
	return <-started
}

func (s *Server) signal(sig syscall.Signal) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.proc != nil {
		_ = s.proc.Signal(sig) // an error means that it is gone already
	}
}

func (s *Server) kill() { s.signal(syscall.SIGKILL) }

// stopLeftover ends a server that an earlier run of ours left on this folder
// when it was killed, and waits until it is gone. Holding the lock, nobody
// else can own it.
func (s *Server) stopLeftover(ctx context.Context) error {
	ctx, cancel := context.WithTimeout(ctx, 30*time.Second)
	defer cancel()
	tick := time.NewTicker(20 * time.Millisecond)
	defer tick.Stop()
	for pid := s.leftover(); pid != 0; pid = s.leftover() {
		_ = syscall.Kill(pid, syscall.SIGINT) // gone in between is as good
		select {
		case <-ctx.Done():
			return fmt.Errorf("a Postgres of an earlier run (process %d) does not stop. Stop it by hand, then start again", pid)
		case <-tick.C:
		}
	}
	return nil
}

// leftover is the process id of a live server on our data folder, or 0.
func (s *Server) leftover() int {
	b, err := s.read("data/postmaster.pid")
	if err != nil {
		return 0
	}
	pid, err := strconv.Atoi(strings.TrimSpace(string(bytes.SplitN(b, []byte("\n"), 2)[0])))
	if err != nil || pid <= 1 {
		return 0
	}
	args, err := os.ReadFile("/proc/" + strconv.Itoa(pid) + "/cmdline")
	if err != nil || !bytes.Contains(args, []byte(s.path("data"))) {
		return 0 // another program has that number now
	}
	return pid
}

func lastLine(out []byte) string {
	lines := strings.Split(strings.TrimSpace(string(out)), "\n")
	return lines[len(lines)-1]
}

// exit is how a server process ended.
type exit struct{ err error }
