package private_test

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"drover/store/private"
	"drover/store/storetest"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

func TestMain(m *testing.M) { os.Exit(storetest.Main(m)) }

var ctx = context.Background()

func start(t *testing.T, dir string) *storetest.Postgres {
	t.Helper()
	s, err := storetest.Start(dir, storetest.Admitted)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Stop)
	return s
}

// refused starts a server that must not start, and says why not.
func refused(t *testing.T, dir, say string) {
	t.Helper()
	s, err := storetest.Start(dir, storetest.Admitted)
	if err == nil {
		s.Stop()
	}
	if err == nil || !strings.Contains(err.Error(), say) {
		t.Errorf("%s: %v, want %q", dir, err, say)
	}
}

// folder is a data folder that is not there yet and that the unprivileged user
// can reach.
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
	conn, err := pgx.Connect(ctx, address)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(ctx)
	var v T
	if err := conn.QueryRow(ctx, query).Scan(&v); err != nil {
		t.Fatal(err)
	}
	return v
}

func TestStartsAgainOnItsData(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	s := start(t, dir)
	scan[int](t, s.OwnerURL, "with x as (select 1) select 1 from x")
	for _, q := range []string{"fsync", "full_page_writes", "synchronous_commit"} {
		if got := scan[string](t, s.URL, "select current_setting('"+q+"')"); got != "on" {
			t.Errorf("%s is %s", q, got)
		}
	}
	if got := scan[string](t, s.URL, "select current_setting('listen_addresses')"); got != "" {
		t.Errorf("listens on %q", got)
	}
	scan[string](t, s.OwnerURL, "select set_config('a.b', '1', false)")
	s.Stop()
	s.Stop()
	again := start(t, dir)
	if got := scan[string](t, again.URL, "select current_database()"); got != "drover" {
		t.Errorf("database %q", got)
	}
}

func TestSecondStartIsRefused(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	start(t, dir)
	refused(t, dir, "another Drover runs on the data folder")
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
	give(t, dir)
	refused(t, dir, "was made by PostgreSQL 9")
	refused(t, dir, "Install postgresql-9")
}

// TestKilledServerComesBack kills the server process as the kernel would and
// waits, by asking, until it answers with its data.
func TestKilledServerComesBack(t *testing.T) {
	t.Parallel()
	s := start(t, folder(t))
	conn, err := pgx.Connect(ctx, s.OwnerURL)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := conn.Exec(ctx, "create table kept as select 42 as n"); err != nil {
		t.Fatal(err)
	}
	if err := syscall.Kill(postmaster(t, s), syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	ctx, cancel := context.WithTimeout(ctx, time.Minute)
	defer cancel()
	var n int
	for tick := time.NewTicker(20 * time.Millisecond); ; {
		c, err := pgx.Connect(ctx, s.OwnerURL)
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

// TestKilledParentLeavesNothing kills a server's parent with -9 and starts
// again on the same folder.
func TestKilledParentLeavesNothing(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	if err := start(t, dir).Kill(); err != nil {
		t.Fatal(err)
	}
	if got := scan[int](t, start(t, dir).URL, "select 7"); got != 7 {
		t.Errorf("answers %d", got)
	}
}

func postmaster(t *testing.T, s *storetest.Postgres) int {
	t.Helper()
	return scan[int](t, s.RootURL, "select (regexp_split_to_array(pg_read_file('postmaster.pid'), '\n'))[1]::int")
}

// TestStopEndsWhatHangs: a server that hears no signal but the last one is
// stopped in time.
func TestStopEndsWhatHangs(t *testing.T) {
	t.Parallel()
	s := start(t, folder(t))
	if err := syscall.Kill(postmaster(t, s), syscall.SIGSTOP); err != nil {
		t.Fatal(err)
	}
	began := time.Now()
	s.Stop()
	if took := time.Since(began); took > 9*time.Second {
		t.Errorf("it took %v", took)
	}
}

// TestLockIsFreeAtOnce: a lock that was let go can be taken again while other
// processes are being started, each of which holds a copy of all that is open
// until it runs.
func TestLockIsFreeAtOnce(t *testing.T) {
	t.Parallel()
	dir := t.TempDir()
	stop := make(chan struct{})
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			for {
				select {
				case <-stop:
					return
				default:
					_ = exec.Command("true").Run() // that it is started is what matters
				}
			}
		})
	}
	for n := range 5_000 {
		if err := private.Relock(dir); err != nil {
			t.Errorf("time %d: %v", n, err)
			break
		}
	}
	close(stop)
	wg.Wait()
}

// TestPostgresKnowsNoSecrets: nothing of our environment is in that of the
// database's processes.
func TestPostgresKnowsNoSecrets(t *testing.T) {
	t.Setenv("DROVER_TEST_SECRET", "planted-and-secret")
	t.Setenv("PGPORT", "5999")
	s := start(t, folder(t))
	env, err := os.ReadFile(fmt.Sprintf("/proc/%d/environ", postmaster(t, s)))
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(string(env), "LC_ALL=C.UTF-8") || !strings.Contains(string(env), "PATH=") {
		t.Errorf("it knows not what it needs: %q", env)
	}
	for line := range strings.SplitSeq(string(env), "\x00") {
		name, _, _ := strings.Cut(line, "=")
		if !slices.Contains([]string{"", "PATH", "LANG", "LC_ALL", "TZ", "PGDATA", "PG_GRANDPARENT_PID", "PGLOCALEDIR",
			"PGSYSCONFDIR"}, name) {
			t.Errorf("it knows %s", line)
		}
	}
}

// TestNobodyElseMayConnect: not root, not another user, not under another role;
// and the roles are no more than they need to be.
func TestNobodyElseMayConnect(t *testing.T) {
	t.Parallel()
	dir := folder(t)
	s, err := storetest.Start(dir, !storetest.Admitted)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(s.Stop)
	for _, name := range []string{"data/pg_hba.conf", "data/pg_ident.conf"} {
		if text, err := os.ReadFile(filepath.Join(dir, name)); err != nil || strings.Contains(string(text), "trust") ||
			strings.Contains(string(text), "host") {
			t.Errorf("%s: %v: %s", name, err, text)
		}
	}
	if os.Geteuid() != 0 {
		t.Skip("only root can be somebody else")
	}
	users := map[string]pgconn.DialFunc{"root": nil, "daemon": storetest.DialAs(1)}
	if err := os.Chmod(dir, 0o755); err != nil { // as if the folders and the socket were open
		t.Fatal(err)
	}
	for _, path := range []string{"run", "run/.s.PGSQL.5432"} {
		if err := os.Chmod(filepath.Join(dir, path), 0o777); err != nil {
			t.Fatal(err)
		}
	}
	for _, address := range []string{s.URL, s.OwnerURL, s.RootURL} {
		for name, dial := range users {
			if err := dialled(t, address, dial); err == nil || !strings.Contains(err.Error(), "Peer authentication failed") {
				t.Errorf("%s at %s: %v", name, address, err)
			}
		}
		if err := dialled(t, address, storetest.DialAs(owner(t, dir))); err != nil {
			t.Errorf("the folder's user at %s: %v", address, err)
		}
	}
}

// dialled connects as whom a dialler is.
func dialled(t *testing.T, address string, dial pgconn.DialFunc) error {
	t.Helper()
	cfg, err := pgx.ParseConfig(address)
	if err != nil {
		t.Fatal(err)
	}
	if dial != nil {
		cfg.DialFunc = dial
	}
	conn, err := pgx.ConnectConfig(ctx, cfg)
	if err != nil {
		return err
	}
	return conn.Close(ctx)
}

// TestRoles: the owner of the schema is no superuser, and the app's role cannot
// change the schema.
func TestRoles(t *testing.T) {
	t.Parallel()
	rolesStand(t, start(t, folder(t)))
}

func rolesStand(t *testing.T, s *storetest.Postgres) {
	t.Helper()
	const q = `select string_agg(concat_ws(' ', rolname, rolsuper::text, rolcreatedb::text, rolcreaterole::text), ', '
			order by rolname)
		from pg_roles
		where rolname !~ '^pg_'`
	const want = "drover false false false, drover_owner false false false, drover_root true true true"
	if got := scan[string](t, s.RootURL, q); got != want {
		t.Errorf("roles: %s", got)
	}
	const owner = "select pg_get_userbyid(datdba)::text from pg_database where datname = 'drover'"
	if got := scan[string](t, s.RootURL, owner); got != "drover_owner" {
		t.Errorf("the database is %s's", got)
	}
	conn, err := pgx.Connect(ctx, s.URL)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(ctx)
	for _, q := range []string{"create table mine (n int)", "create schema mine", "set role drover_owner",
		"alter role drover superuser"} {
		if _, err := conn.Exec(ctx, q); err == nil || !strings.Contains(err.Error(), "42501") {
			t.Errorf("%s: %v", q, err)
		}
	}
}
