package store

import (
	"context"
	"fmt"
	"strings"
	"sync"
	"time"

	"drover/game"

	"github.com/jackc/pgx/v5"
)

// channel is where nodes tell each other that a game has a new act. A hint may
// be lost; the rows are the truth.
const channel = "drover_acts"

// maxPayload keeps a notification under Postgres' limit of 8,000 bytes.
const maxPayload = 7_900

// hints sends, after each commit and outside its transaction, one notification
// with whatever waits.
type hints struct {
	store *Store
	mu    sync.Mutex
	wait  []string
	wake  chan struct{}
	quit  chan struct{}
	done  chan struct{}
}

func newHints(s *Store) *hints {
	h := &hints{store: s, wake: make(chan struct{}, 1), quit: make(chan struct{}), done: make(chan struct{})}
	go h.run()
	return h
}

func (h *hints) stop() {
	select {
	case <-h.quit:
	default:
		close(h.quit)
	}
	<-h.done
}

func (h *hints) add(won map[actKey]time.Time) {
	h.mu.Lock()
	for k := range won {
		h.wait = append(h.wait, fmt.Sprintf("%d:%d:%d", k.club, k.game, k.seq))
	}
	h.mu.Unlock()
	select {
	case h.wake <- struct{}{}:
	default:
	}
}

func (h *hints) run() {
	defer close(h.done)
	for {
		select {
		case <-h.quit:
			return
		case <-h.wake:
			_ = calmly(h.all) // a hint that is lost loses no act
		}
	}
}

// all sends what waits.
func (h *hints) all() {
	for payload := h.take(); payload != ""; payload = h.take() {
		h.notify(payload)
	}
}

// take joins what waits, as much as one notification holds.
func (h *hints) take() string {
	h.mu.Lock()
	defer h.mu.Unlock()
	n, size := 0, 0
	for n < len(h.wait) && size+len(h.wait[n])+1 < maxPayload {
		size += len(h.wait[n]) + 1
		n++
	}
	payload := strings.Join(h.wait[:n], " ")
	h.wait = h.wait[n:]
	return payload
}

func (h *hints) notify(payload string) {
	ctx, cancel := context.WithTimeout(context.Background(), heardWithin)
	defer cancel()
	// A failure loses a hint, no act: listeners read on when they reconnect.
	_, _ = h.store.quick.Exec(ctx, `select pg_notify($1, $2)`, channel, payload)
}

// quietFor is how long the listener waits for a hint before it asks whether its
// line is alive.
const quietFor = 10 * time.Second

// Listener is told of acts that any node has written.
type Listener struct {
	Changed func(ctx context.Context, c game.ClubID, id game.GameID, seq int) error
	Refresh func(ctx context.Context) error // after a connection that was lost: hints may be missing
	Failed  func(err error)
}

// Listen waits for hints on a connection of its own until the context ends. A
// lost connection is opened anew.
func (s *Store) Listen(ctx context.Context, l Listener) {
	s.heard.Store(time.Now().UnixNano())
	defer s.heard.Store(0)
	for ctx.Err() == nil {
		var err error
		if p := calmly(func() { err = s.listenOnce(ctx, l) }); p != nil {
			err = p
		}
		if ctx.Err() != nil {
			return
		}
		l.Failed(err)
		select {
		case <-ctx.Done():
		case <-time.After(time.Second):
		}
	}
}

func (s *Store) listenOnce(ctx context.Context, l Listener) error {
	conn, err := s.listening(ctx)
	if err != nil {
		return err
	}
	defer func() {
		closing, cancel := context.WithTimeout(context.WithoutCancel(ctx), time.Second)
		defer cancel()
		_ = conn.Close(closing) // it is dead, or goes with us
	}()
	if err := l.Refresh(ctx); err != nil {
		return fmt.Errorf("refresh: %w", err)
	}
	for {
		if err := s.await(ctx, conn, l); err != nil {
			return err
		}
	}
}

// heardWithin is how long the listener's connection may take for anything.
const heardWithin = 5 * time.Second

// patience is how long the listener waits: for a hint before it asks whether its
// line is alive, and for the answer.
type patience struct{ quiet, answer time.Duration }

// listening opens a connection that listens.
func (s *Store) listening(ctx context.Context) (*pgx.Conn, error) {
	ctx, cancel := context.WithTimeout(ctx, 2*heardWithin)
	defer cancel()
	conn, err := pgx.ConnectConfig(ctx, s.pool.Config().ConnConfig.Copy())
	if err != nil {
		return nil, fmt.Errorf("listen: %w", err)
	}
	if _, err := conn.Exec(ctx, "listen "+channel); err != nil {
		_ = conn.Close(ctx)
		return nil, fmt.Errorf("listen: %w", err)
	}
	s.heard.Store(time.Now().UnixNano())
	return conn, nil
}

// await waits for one notification; a quiet spell is used to see that the
// connection is alive.
func (s *Store) await(ctx context.Context, conn *pgx.Conn, l Listener) error {
	short, cancel := context.WithTimeout(ctx, s.patience.quiet)
	defer cancel()
	n, err := conn.WaitForNotification(short)
	if err != nil {
		if ctx.Err() != nil || short.Err() == nil {
			return fmt.Errorf("wait for hints: %w", err)
		}
		asking, cancel := context.WithTimeout(ctx, s.patience.answer)
		defer cancel()
		if _, err := conn.Exec(asking, "select 1"); err != nil {
			return fmt.Errorf("the line for hints is dead: %w", err)
		}
		s.heard.Store(time.Now().UnixNano())
		return nil
	}
	s.heard.Store(time.Now().UnixNano())
	for _, part := range strings.Fields(n.Payload) {
		var c game.ClubID
		var id game.GameID
		var seq int
		if _, err := fmt.Sscanf(part, "%d:%d:%d", &c, &id, &seq); err != nil {
			continue // from a newer version; the rows are the truth
		}
		if err := l.Changed(ctx, c, id, seq); err != nil {
			return fmt.Errorf("follow a hint: %w", err)
		}
	}
	return nil
}
