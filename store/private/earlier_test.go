package private_test

import (
	"net/url"
	"os"
	"os/exec"
	osuser "os/user"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"drover/store"

	"github.com/jackc/pgx/v5"
)

// earlier makes a data folder as the version before made it: trust for
// everybody on the machine, drover_owner as the cluster's superuser, the lock
// and the log root's where root runs; with a migrated schema and some rows.
func earlier(t *testing.T) string {
	t.Helper()
	dir := folder(t)
	run := filepath.Join(dir, "run")
	do(t, os.MkdirAll(run, 0o700))
	give(t, dir)
	do(t, os.Chmod(dir, 0o755))
	bin, err := filepath.Glob("/usr/lib/postgresql/*/bin")
	if err != nil || len(bin) == 0 {
		t.Fatal("no PostgreSQL", err)
	}
	old := func(program string, args ...string) *exec.Cmd {
		cmd := exec.Command(filepath.Join(bin[len(bin)-1], program), args...)
		cmd.Dir, cmd.SysProcAttr = dir, &syscall.SysProcAttr{Credential: credential(t), Setpgid: true}
		return cmd
	}
	data := filepath.Join(dir, "data")
	initdb := old("initdb", "-D", data, "-U", "drover_owner", "--auth=trust", "--encoding=UTF8", "--locale=C.UTF-8")
	if out, err := initdb.CombinedOutput(); err != nil {
		t.Fatalf("%v: %s", err, out)
	}
	do(t, os.WriteFile(filepath.Join(dir, "lock"), nil, 0o600))
	log, err := os.Create(filepath.Join(dir, "postgres.log"))
	do(t, err)
	defer log.Close()
	server := old("postgres", "-D", data, "-k", run, "-c", "listen_addresses=")
	server.Stdout, server.Stderr = log, log
	do(t, server.Start())
	address := func(role, base string) string {
		return "postgres://" + role + "@/" + base + "?" + url.Values{"host": {run}}.Encode()
	}
	fillEarlier(t, address)
	do(t, server.Process.Signal(syscall.SIGINT), server.Wait())
	return dir
}

func credential(t *testing.T) *syscall.Credential {
	t.Helper()
	if os.Geteuid() != 0 {
		return nil
	}
	u, err := osuser.Lookup("postgres")
	do(t, err)
	uid, err1 := strconv.Atoi(u.Uid)
	gid, err2 := strconv.Atoi(u.Gid)
	do(t, err1, err2)
	return &syscall.Credential{Uid: uint32(uid), Gid: uint32(gid)}
}

// fillEarlier makes role, database, schema and rows as the version before did,
// and one of each kind of thing that a schema may come to hold.
func fillEarlier(t *testing.T, address func(role, base string) string) {
	t.Helper()
	owner, app := address("drover_owner", "drover"), address("drover", "drover")
	conn := answering(t, address("drover_owner", "postgres"))
	for _, q := range []string{"create role drover login", "create database drover"} {
		_, err := conn.Exec(ctx, q)
		do(t, err)
	}
	do(t, conn.Close(ctx), store.Migrate(ctx, owner), store.Grant(ctx, owner, app))
	conn = answering(t, owner)
	defer conn.Close(ctx)
	_, err := conn.Exec(ctx, `insert into clubs (name, zone, welfare, contact) values ('Kept', 'UTC', 'W', 'C');
		create schema apart; create type apart.mood as enum ('calm'); create domain apart.few as int check (value < 9);
		create table apart.t (id serial, n int generated always as identity, mood apart.mood, few apart.few);
		create view apart.v as select * from apart.t; create materialized view apart.m as select 1 as one;
		create function apart.f(int) returns int language sql as 'select 1'; create sequence apart.s;
		create table apart.p (n int) partition by range (n)`)
	do(t, err)
}

// answering connects as soon as a server answers.
func answering(t *testing.T, address string) *pgx.Conn {
	t.Helper()
	end := time.Now().Add(time.Minute)
	for tick := time.NewTicker(20 * time.Millisecond); ; <-tick.C {
		conn, err := pgx.Connect(ctx, address)
		if err == nil {
			return conn
		}
		if time.Now().After(end) {
			t.Fatal(err)
		}
	}
}

// TestFolderOfTheVersionBefore is changed over at the first start, and stands
// as it is at the second: rows, roles, who may connect, and the folder's mode.
func TestFolderOfTheVersionBefore(t *testing.T) {
	t.Parallel()
	dir := earlier(t)
	for range 2 {
		s := start(t, dir)
		rolesStand(t, s)
		do(t, store.Migrate(ctx, s.OwnerURL), store.Grant(ctx, s.OwnerURL, s.URL))
		if got := scan[string](t, s.URL, "select name from clubs"); got != "Kept" {
			t.Errorf("the row is %q", got)
		}
		for _, q := range []string{"drop table clubs", "alter table clubs add x int", "delete from acts",
			"drop sequence student_numbers"} {
			conn, err := pgx.Connect(ctx, s.URL)
			do(t, err)
			if _, err := conn.Exec(ctx, q); err == nil || !strings.Contains(err.Error(), "42501") {
				t.Errorf("the app: %s: %v", q, err)
			}
			do(t, conn.Close(ctx))
		}
		const left = `select coalesce(string_agg(what, ', '), '') from (
			select c.oid::regclass::text from pg_class c join pg_namespace n on n.oid = relnamespace
				where relowner <> 'drover_owner'::regrole and nspname in ('public', 'apart')
			union all select p.oid::regprocedure::text from pg_proc p join pg_namespace n on n.oid = pronamespace
				where proowner <> 'drover_owner'::regrole and nspname in ('public', 'apart')
			union all select y.oid::regtype::text from pg_type y join pg_namespace n on n.oid = typnamespace
				where typowner <> 'drover_owner'::regrole and nspname in ('public', 'apart')
			union all select nspname from pg_namespace where nspowner <> 'drover_owner'::regrole and nspname = 'apart'
			union all select rolname from pg_roles where rolname = 'drover_passing') as things (what)`
		if got := scan[string](t, s.RootURL, left); got != "" {
			t.Errorf("still the superuser's: %s", got)
		}
		text, err := os.ReadFile(filepath.Join(dir, "data/pg_hba.conf"))
		if err != nil || strings.Contains(string(text), "trust") || !strings.Contains(string(text),
			"local all all peer map=drover") {
			t.Errorf("who may connect: %v: %s", err, text)
		}
		if info, err := os.Stat(dir); err != nil || info.Mode().Perm() != 0o700 {
			t.Errorf("mode %v, %v", info.Mode(), err)
		}
		s.Stop()
	}
}
