package private_test

import (
	"context"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"drover/store/private"

	"github.com/jackc/pgx/v5"
)

func start(t *testing.T, dir string) *private.Server {
	t.Helper()
	s, err := private.Start(context.Background(), dir, func(s string) { t.Log(s) })
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Stop)
	return s
}

// folder is a data folder that the unprivileged user can reach.
func folder(t *testing.T) string {
	t.Helper()
	dir, err := os.MkdirTemp("", "drover-pg-")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.Chmod(dir, 0o755); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { os.RemoveAll(dir) })
	return filepath.Join(dir, "d")
}

func scan[T any](t *testing.T, address, query string) T {
	t.Helper()
	conn, err := pgx.Connect(context.Background(), address)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(context.Background())
	var v T
	if err := conn.QueryRow(context.Background(), query).Scan(&v); err != nil {
		t.Fatal(err)
	}
	return v
}

func TestStartsAgainOnItsData(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	s := start(t, dir)
	scan[int](t, s.OwnerURL(), "with x as (select 1) select 1 from x")
	for _, q := range []string{"fsync", "full_page_writes", "synchronous_commit"} {
		if got := scan[string](t, s.URL(), "select current_setting('"+q+"')"); got != "on" {
			t.Errorf("%s is %s", q, got)
		}
	}
	if got := scan[string](t, s.URL(), "select current_setting('listen_addresses')"); got != "" {
		t.Errorf("listens on %q", got)
	}
	scan[string](t, s.OwnerURL(), "select set_config('a.b', '1', false)")
	s.Stop()
	s.Stop()
	again := start(t, dir)
	if got := scan[string](t, again.URL(), "select current_database()"); got != "drover" {
		t.Errorf("database %q", got)
	}
}

func TestSecondStartIsRefused(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	start(t, dir)
	_, err := private.Start(context.Background(), dir, func(string) {})
	if err == nil || !strings.Contains(err.Error(), "another Drover runs on the data folder") {
		t.Errorf("second start: %v", err)
	}
}

func TestOlderVersionIsRefused(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	if err := os.MkdirAll(filepath.Join(dir, "data"), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "data", "PG_VERSION"), []byte("9\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	_, err := private.Start(context.Background(), dir, func(string) {})
	if err == nil || !strings.Contains(err.Error(), "was made by PostgreSQL 9") || !strings.Contains(err.Error(), "Install postgresql-9") {
		t.Errorf("older folder: %v", err)
	}
}

// TestKilledServerComesBack kills the server process as the kernel would and
// waits, by asking, until it answers with its data.
func TestKilledServerComesBack(t *testing.T) {
	t.Parallel()
	s := start(t, folder(t))
	conn, err := pgx.Connect(context.Background(), s.OwnerURL())
	if err != nil {
		t.Fatal(err)
	}
	if _, err := conn.Exec(context.Background(), "create table kept as select 42 as n"); err != nil {
		t.Fatal(err)
	}
	pid := scan[int](t, s.OwnerURL(), "select (regexp_split_to_array(pg_read_file('postmaster.pid'), '\n'))[1]::int")
	if err := syscall.Kill(pid, syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(context.Background(), time.Minute)
	defer cancel()
	var n int
	for tick := time.NewTicker(20 * time.Millisecond); ; {
		c, err := pgx.Connect(ctx, s.OwnerURL())
		if err == nil {
			err = c.QueryRow(ctx, "select n from kept").Scan(&n)
			c.Close(ctx)
		}
		if err == nil {
			break
		}
		select {
		case <-tick.C:
		case <-ctx.Done():
			t.Fatalf("not back after a minute: %v", err)
		}
	}
	if n != 42 {
		t.Errorf("row is %d", n)
	}
}

// TestKilledParentLeavesNothing runs a start in a child process, kills that
// with -9, and starts again on the same folder.
func TestKilledParentLeavesNothing(t *testing.T) {
	if dir := os.Getenv("DROVER_TEST_PRIVATE"); dir != "" {
		if _, err := private.Start(context.Background(), dir, func(string) {}); err != nil {
			t.Fatal(err)
		}
		os.Stdout.WriteString("up\n")
		select {}
	}
	t.Parallel()
	dir := folder(t)
	cmd := exec.Command(os.Args[0], "-test.run=^TestKilledParentLeavesNothing$")
	cmd.Env = append(os.Environ(), "DROVER_TEST_PRIVATE="+dir)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	buf := make([]byte, 3)
	if _, err := out.Read(buf); err != nil || string(buf) != "up\n" {
		t.Fatalf("child said %q, %v", buf, err)
	}
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	_ = cmd.Wait() // it was killed
	if got := scan[int](t, start(t, dir).URL(), "select 7"); got != 7 {
		t.Errorf("answers %d", got)
	}
}
