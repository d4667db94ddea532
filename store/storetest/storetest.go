// Package storetest gives each test a database of its own on a real Postgres.
// Each test binary starts one private server and migrates one template, and
// each test gets a clone of that template.
package storetest

import (
	"context"
	"fmt"
	"net/url"
	"os"
	"sync"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"

	"github.com/jackc/pgx/v5"
	"go.uber.org/goleak"
)

var (
	once   sync.Once
	server *Postgres
	dir    string
	failed error
	mu     sync.Mutex
	count  int
)

// Main runs a package's tests and stops the server after them. A package that
// uses New, URL or Start calls it from TestMain; it returns the exit status.
func Main(m *testing.M) int {
	if os.Getenv(childDir) != "" {
		return serveFolder()
	}
	code := m.Run()
	if server != nil {
		server.Stop()
	}
	if dir != "" {
		_ = os.RemoveAll(dir) // a folder in the temporary folder
	}
	return Leaks(code)
}

// Leaks looks for goroutines that the tests have left behind: code, or 1 where there
// are some.
func Leaks(code int) int {
	if code != 0 {
		return code // a test that failed cleans up nothing
	}
	if err := goleak.Find(); err != nil {
		fmt.Fprintln(os.Stderr, "left behind:", err)
		return 1
	}
	return 0
}

// start runs the server and migrates the template.
func start() {
	ctx, cancel := context.WithTimeout(context.Background(), 2*time.Minute)
	defer cancel()
	if dir, failed = os.MkdirTemp("", "drover-test-"); failed != nil {
		return
	}
	if server, failed = Start(dir, Admitted); failed != nil {
		return
	}
	failed = store.Migrate(ctx, server.OwnerURL)
}

// URL makes a database for a test and returns its owner's address.
func URL(t testing.TB) string {
	t.Helper()
	once.Do(start)
	if failed != nil {
		t.Fatal(failed)
	}
	mu.Lock()
	count++
	name := fmt.Sprintf("test_%d", count)
	mu.Unlock()
	own, err := url.Parse(server.OwnerURL)
	if err != nil {
		t.Fatal(err)
	}
	run(t, "create database "+name+" template "+own.Path[1:]+" owner "+own.User.Username())
	t.Cleanup(func() { run(t, "drop database if exists "+name+" with (force)") })
	own.Path = "/" + name
	return own.String()
}

// run executes one statement as the superuser from the maintenance database;
// the template must have no other connection while it is cloned, so one at a
// time.
func run(t testing.TB, statement string) {
	t.Helper()
	mu.Lock()
	defer mu.Unlock()
	admin, err := url.Parse(server.RootURL)
	if err != nil {
		t.Fatal(err)
	}
	admin.Path = "/postgres"
	ctx := context.Background()
	conn, err := pgx.Connect(ctx, admin.String())
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(ctx)
	if _, err := conn.Exec(ctx, statement); err != nil {
		t.Fatal(err)
	}
}

// New opens a store on a database of its own.
func New(t testing.TB, now game.Clock) *store.Store {
	t.Helper()
	url := URL(t)
	s, err := store.Open(context.Background(), url, now)
	if err != nil {
		t.Fatal(err)
	}
	vault, err := club.NewVault([]byte("a key of thirty-two bytes or more"))
	if err != nil {
		t.Fatal(err)
	}
	s.Unlock(vault)
	addresses.Store(s, url)
	t.Cleanup(s.Close)
	return s
}

// addresses are those of the stores that New has opened.
var addresses sync.Map

// Address is where the owner reaches the database of a store that New has opened.
func Address(s *store.Store) string {
	url, _ := addresses.Load(s)
	text, _ := url.(string) // empty for a store of another make
	return text
}

// Exec runs a statement as the owner of a database of URL's.
func Exec(t testing.TB, address, statement string, args ...any) {
	t.Helper()
	ctx := context.Background()
	conn, err := pgx.Connect(ctx, address)
	if err != nil {
		t.Fatal(err)
	}
	defer conn.Close(ctx)
	if _, err := conn.Exec(ctx, statement, args...); err != nil {
		t.Fatalf("%s: %v", statement, err)
	}
}
