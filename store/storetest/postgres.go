package storetest

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"os"
	"os/exec"
	osuser "os/user"
	"runtime"
	"syscall"

	"drover/store/private"

	"github.com/jackc/pgx/v5/pgconn"
)

// Names of the environment by which a test binary tells a copy of itself to
// run a server.
const (
	childDir   = "DROVER_TEST_POSTGRES"
	childAdmit = "DROVER_TEST_POSTGRES_ADMIT"
)

// Admitted lets the user that runs the tests connect, which root otherwise may
// not.
const Admitted = true

// Postgres is a private server, run by a copy of the test binary: a test that
// root runs stays root, and the server's process does not.
type Postgres struct {
	URL, OwnerURL, RootURL string

	cmd  *exec.Cmd
	hold io.Closer // the copy ends when this does
}

// Start runs a server on a data folder. What the start says when it fails is
// the error.
func Start(dir string, admitted bool) (*Postgres, error) {
	p := &Postgres{cmd: exec.CommandContext(context.Background(), os.Args[0])} //nolint:gosec // the test binary itself
	p.cmd.Env = append(os.Environ(), childDir+"="+dir)
	if me, err := osuser.Current(); admitted && err == nil {
		p.cmd.Env = append(p.cmd.Env, childAdmit+"="+me.Username)
	}
	p.cmd.Stderr = os.Stderr
	in, err1 := p.cmd.StdinPipe()
	out, err2 := p.cmd.StdoutPipe()
	if err := errors.Join(err1, err2, p.cmd.Start()); err != nil {
		return nil, err
	}
	p.hold = in
	lines := bufio.NewScanner(out)
	for _, to := range []*string{&p.URL, &p.OwnerURL, &p.RootURL} {
		if lines.Scan() {
			*to = lines.Text()
		}
	}
	if p.RootURL == "" { // it has said why not
		p.Stop()
		return nil, errors.New(p.URL)
	}
	return p, nil
}

// Stop shuts the server down.
func (p *Postgres) Stop() {
	_ = p.hold.Close() // it may be closed already
	_ = p.cmd.Wait()   // it may have been killed
}

// PID is the number of the process that runs the server.
func (p *Postgres) PID() int { return p.cmd.Process.Pid }

// Kill ends the process that runs the server as the kernel would.
func (p *Postgres) Kill() error {
	defer p.Stop()
	return p.cmd.Process.Kill()
}

// serveFolder runs the server until its standard input ends.
func serveFolder() int {
	dir := os.Getenv(childDir)
	var others []string
	if name := os.Getenv(childAdmit); name != "" {
		others = append(others, name)
	}
	err := private.Become(dir)
	var s *private.Server
	if err == nil {
		s, err = private.Start(context.Background(), dir, func(s string) { fmt.Fprintln(os.Stderr, s) }, others...)
	}
	if err != nil {
		fmt.Println(err)
		return 1
	}
	fmt.Printf("%s\n%s\n%s\n", s.URL(), s.OwnerURL(), s.RootURL())
	_, _ = io.Copy(io.Discard, os.Stdin) // either way it has ended
	s.Stop()
	return 0
}

// DialAs connects as another user, which only root can: one thread becomes that
// user, connects, and ends.
func DialAs(uid int) pgconn.DialFunc {
	return func(ctx context.Context, network, address string) (net.Conn, error) {
		type dialled struct {
			conn net.Conn
			err  error
		}
		done := make(chan dialled)
		go func() {
			runtime.LockOSThread() // and never unlocked: the thread ends with this
			if _, _, no := syscall.RawSyscall(syscall.SYS_SETRESUID, ^uintptr(0), uintptr(uid), ^uintptr(0)); no != 0 {
				done <- dialled{nil, no}
				return
			}
			var d net.Dialer
			conn, err := d.DialContext(ctx, network, address)
			done <- dialled{conn, err}
		}()
		d := <-done
		return d.conn, d.err
	}
}
