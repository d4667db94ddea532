package storetest

import (
	"bytes"
	"context"
	"io"
	"net"
	"net/url"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/jackc/pgx/v5/pgconn"
)

// Wire stands between a store and its database. It can cut a connection at a
// message, before the database has it or before the store hears of it, and it can
// fall silent, as a line does whose other end is gone without a word.
type Wire struct {
	URL  string       // of the database, through the wire
	At   string       // what stands in a message that is cut; a commit if empty
	Cut  atomic.Int32 // messages that are still to be cut
	Pass bool         // they reach the database all the same

	backend net.Addr
	silent  atomic.Bool // new connections are silent from the start
	mu      sync.Mutex
	lines   map[*atomic.Bool]struct{} // of the open connections: whether each is silent
}

// commit is the whole message of the wire protocol that commits.
var commit = []byte("Q\x00\x00\x00\x0bcommit\x00")

// NewWire lays a wire before a database.
func NewWire(t testing.TB, address string) *Wire {
	t.Helper()
	cfg, err := pgconn.ParseConfig(address)
	if err != nil {
		t.Fatal(err)
	}
	network, path := pgconn.NetworkAddress(cfg.Host, cfg.Port)
	w := &Wire{backend: &net.UnixAddr{Name: path, Net: network}, lines: map[*atomic.Bool]struct{}{}}
	dir := t.TempDir()
	var lc net.ListenConfig
	l, err := lc.Listen(context.Background(), "unix", filepath.Join(dir, ".s.PGSQL.5432"))
	if err != nil {
		t.Fatal(err)
	}
	var served sync.WaitGroup
	served.Go(func() {
		for {
			client, err := l.Accept()
			if err != nil {
				return
			}
			served.Go(func() { w.serve(client) })
		}
	})
	t.Cleanup(func() { _ = l.Close(); w.Freeze(false); served.Wait() })
	u, err := url.Parse(address)
	if err != nil {
		t.Fatal(err)
	}
	u.RawQuery, u.Host = url.Values{"host": {dir}, "port": {"5432"}}.Encode(), ""
	w.URL = u.String()
	return w
}

// Silence makes the connections that are open fall silent for good: they stay open,
// and nothing goes through. New ones work.
func (w *Wire) Silence() {
	w.mu.Lock()
	defer w.mu.Unlock()
	for silent := range w.lines {
		silent.Store(true)
	}
}

// Freeze makes all connections silent, new ones too, or lets new ones work again.
func (w *Wire) Freeze(frozen bool) {
	if w.silent.Store(frozen); frozen {
		w.Silence()
	}
}

// serve carries one connection until either side ends it, or it is cut.
func (w *Wire) serve(client net.Conn) {
	defer func() { _ = client.Close() }()
	var d net.Dialer
	backend, err := d.DialContext(context.Background(), w.backend.Network(), w.backend.String())
	if err != nil {
		return
	}
	defer func() { _ = backend.Close() }()
	silent := &atomic.Bool{}
	silent.Store(w.silent.Load())
	w.mu.Lock()
	w.lines[silent] = struct{}{}
	w.mu.Unlock()
	defer func() {
		w.mu.Lock()
		defer w.mu.Unlock()
		delete(w.lines, silent)
	}()
	go func() { _, _ = io.Copy(muted{client, silent}, backend); _ = client.Close() }()
	w.forward(client, muted{backend, silent})
}

// muted is a connection into which nothing goes while it is silent.
type muted struct {
	net.Conn
	silent *atomic.Bool
}

// Write sends, or swallows.
func (m muted) Write(b []byte) (int, error) {
	if m.silent.Load() {
		return len(b), nil
	}
	return m.Conn.Write(b)
}

// cuts says whether a message is of those that are cut.
func (w *Wire) cuts(message []byte) bool {
	if w.At == "" {
		return bytes.Equal(message, commit)
	}
	return bytes.Contains(message, []byte(w.At))
}

// forward carries what the store says to the database.
func (w *Wire) forward(client net.Conn, backend muted) {
	buf := make([]byte, 64<<10)
	for {
		n, err := client.Read(buf)
		if err != nil {
			return
		}
		if w.cuts(buf[:n]) && w.Cut.Add(-1) >= 0 {
			if w.Pass {
				backend.silent.Store(true)                                                      // the store hears nothing any more
				_, _ = backend.Conn.Write(append(bytes.Clone(buf[:n]), "X\x00\x00\x00\x04"...)) // and goodbye
				_, _ = io.Copy(io.Discard, backend)                                             // until the database has done it
			}
			_ = client.Close()
			return
		}
		if _, err := backend.Write(buf[:n]); err != nil {
			return
		}
	}
}
