package store_test

import (
	"bytes"
	"fmt"
	"io"
	"net"
	"net/url"
	"path/filepath"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"drover/game"
	"drover/game/practice"
	"drover/store"
	"drover/store/storetest"

	"github.com/jackc/pgx/v5/pgconn"
)

// wire stands between a store and its database, and cuts a connection at a
// commit: before the database has it, or before the store hears of it.
type wire struct {
	backend net.Addr
	cut     atomic.Int32 // commits that are still to be cut
	pass    bool         // they reach the database all the same
}

// commit is the whole message of the wire protocol that commits.
var commit = []byte("Q\x00\x00\x00\x0bcommit\x00")

// wired opens a store whose connections go through a wire.
func wired(t *testing.T, address string, pass bool) (*store.Store, *wire) {
	t.Helper()
	cfg, err := pgconn.ParseConfig(address)
	if err != nil {
		t.Fatal(err)
	}
	network, path := pgconn.NetworkAddress(cfg.Host, cfg.Port)
	w := &wire{backend: &net.UnixAddr{Name: path, Net: network}, pass: pass}
	dir := t.TempDir()
	var lc net.ListenConfig
	l, err := lc.Listen(ctx, "unix", filepath.Join(dir, ".s.PGSQL.5432"))
	if err != nil {
		t.Fatal(err)
	}
	var served sync.WaitGroup
	served.Add(1)
	go func() {
		defer served.Done()
		for {
			client, err := l.Accept()
			if err != nil {
				return
			}
			served.Add(1)
			go func() { defer served.Done(); w.serve(client) }()
		}
	}()
	u, err := url.Parse(address)
	if err != nil {
		t.Fatal(err)
	}
	u.RawQuery, u.Host = url.Values{"host": {dir}, "port": {"5432"}}.Encode(), ""
	s, err := store.Open(ctx, u.String(), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close(); _ = l.Close(); served.Wait() })
	return s, w
}

// serve carries one connection until either side ends it, or it is cut.
func (w *wire) serve(client net.Conn) {
	defer client.Close()
	var d net.Dialer
	backend, err := d.DialContext(ctx, w.backend.Network(), w.backend.String())
	if err != nil {
		return
	}
	defer backend.Close()
	go func() { _, _ = io.Copy(client, backend); _ = client.Close() }()
	buf := make([]byte, 64<<10)
	for {
		n, err := client.Read(buf)
		if err != nil {
			return
		}
		if bytes.Equal(buf[:n], commit) && w.cut.Add(-1) >= 0 {
			_ = client.Close() // the store hears nothing any more
			if w.pass {
				_, _ = backend.Write(append(bytes.Clone(commit), "X\x00\x00\x00\x04"...)) // and goodbye
				_, _ = io.Copy(io.Discard, backend)                                       // until the database has done it
			}
			return
		}
		if _, err := backend.Write(buf[:n]); err != nil {
			return
		}
	}
}

// TestUnknownCommitIsNotWrittenAgain: where nobody knows whether a group was
// committed, each of its acts is told so, and none is written a second time: the
// repeat of the command finds out.
func TestUnknownCommitIsNotWrittenAgain(t *testing.T) {
	t.Parallel()
	s, address := open(t)
	f := storetest.Club(t, s, "unknown")
	set, err := s.Setup(ctx, f.Coach.Club, f.Game)
	if err != nil {
		t.Fatal(err)
	}
	node, w := wired(t, address, false)
	if _, errs := node.Together(f.Coach.Club, set, practice.Act{Seq: 1, Kind: practice.Helped, Client: "before"}); errs[0] != nil {
		t.Fatal(errs[0]) // the wire carries what it does not cut
	}
	w.cut.Store(1)
	acts := []practice.Act{{Seq: 2, Kind: practice.Helped, Client: "a"}, {Seq: 3, Kind: practice.Helped, Client: "b"}}
	won, errs := node.Together(f.Coach.Club, set, acts...)
	for i, err := range errs {
		if won[i] || game.KindOf(err) != game.Away {
			t.Errorf("act %d: won %v, %v", i, won[i], err)
		}
	}
	if w.cut.Load() != 0 {
		t.Errorf("%d commits were sent", 1-w.cut.Load())
	}
	log, err := s.Load(ctx, f.Coach.Club, f.Game, 0)
	if err != nil || len(log) != 1 || log[0].Client != "before" {
		t.Errorf("the log holds %+v, %v", log, err)
	}
	for i, a := range acts { // the repeat of the command
		if _, won, err := node.Append(ctx, f.Coach.Club, set, a, nil); err != nil || !won {
			t.Errorf("the repeat of act %d: %v, %v", i, won, err)
		}
	}
}

// TestUnheardCommitIsThereOnce: a group that was committed unheard is in the log
// once, and the repeats of its commands are told that the numbers are taken.
func TestUnheardCommitIsThereOnce(t *testing.T) {
	t.Parallel()
	s, address := open(t)
	f := storetest.Club(t, s, "unheard")
	set, err := s.Setup(ctx, f.Coach.Club, f.Game)
	if err != nil {
		t.Fatal(err)
	}
	node, w := wired(t, address, true)
	w.cut.Store(1)
	acts := []practice.Act{{Seq: 1, Kind: practice.Helped, Client: "a"}, {Seq: 2, Kind: practice.Helped, Client: "b"}}
	_, errs := node.Together(f.Coach.Club, set, acts...)
	for i, err := range errs {
		if game.KindOf(err) != game.Away {
			t.Errorf("act %d: %v", i, err)
		}
	}
	for i, a := range acts {
		if _, won, err := s.Append(ctx, f.Coach.Club, set, a, nil); err != nil || won {
			t.Errorf("the repeat of act %d: %v, %v", i, won, err)
		}
	}
	log, err := s.Load(ctx, f.Coach.Club, f.Game, 0)
	if err != nil || len(log) != 2 || fmt.Sprint(log[0].Client, log[1].Client) != "ab" {
		t.Errorf("the log holds %+v, %v", log, err)
	}
}
