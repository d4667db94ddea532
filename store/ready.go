package store

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"drover/game"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
)

// NotReady is why a node should get no requests now, in one word; the cause is for
// the log.
type NotReady struct {
	Word string
	Err  error
}

// The words.
const (
	NoDatabase = "database" // it does not answer, or would lose what it acknowledges
	NoSpace    = "space"    // a commit was refused because the disk is full, and none has gone through since
	NoListener = "listener" // acts of other nodes may not be heard
)

// Error gives the word with its cause.
func (n *NotReady) Error() string { return fmt.Sprintf("not ready: %s: %v", n.Word, n.Err) }

// Unwrap gives the cause.
func (n *NotReady) Unwrap() error { return n.Err }

// deafAfter is how long the listener's connection may give no sign of life: longer
// than a quiet spell with its question and a new connection take.
const deafAfter = 25 * time.Second

// Ready says whether the database answers and keeps what it acknowledges, whether
// there is space, and whether other nodes are heard.
func (s *Store) Ready(ctx context.Context) error {
	const q = `select name from pg_settings where name in ('fsync', 'full_page_writes', 'synchronous_commit')
		and setting = 'off'`
	rows, err := s.quick.Query(ctx, q)
	if err != nil {
		return &NotReady{NoDatabase, err}
	}
	off, err := pgx.CollectRows(rows, pgx.RowTo[string])
	switch heard := s.heard.Load(); {
	case err != nil:
		return &NotReady{NoDatabase, err}
	case len(off) > 0:
		return &NotReady{NoDatabase, fmt.Errorf("the database runs with %v off: an acknowledged move could be lost", off)}
	case s.full.Load():
		return &NotReady{NoSpace, errors.New("the database's disk is full")}
	case heard != 0 && time.Since(time.Unix(0, heard)) > deafAfter:
		return &NotReady{NoListener, fmt.Errorf("nothing was heard since %s", time.Unix(0, heard).Format(time.TimeOnly))}
	}
	return nil
}

// committed notes what became of a commit: whether there was space for it.
func (s *Store) committed(err error) {
	var pg *pgconn.PgError
	switch {
	case err == nil:
		s.full.Store(false)
	case errors.As(err, &pg) && pg.Code == "53100":
		s.full.Store(true)
	}
}

// Alive notes that this node lives, and measures how far the database's clock
// is from ours. After a commit was refused for lack of space, it tries whether
// there is space again.
func (s *Store) Alive(ctx context.Context) error {
	const q = `insert into nodes (id, seen_at) values ($1, now()) on conflict (id) do update set seen_at = now()
		returning clock_timestamp()`
	asked := s.now()
	var at time.Time
	err := s.quick.QueryRow(ctx, q, s.node).Scan(&at)
	if err == nil {
		s.ahead.Store(int64(at.Sub(asked.Add(s.now().Sub(asked) / 2))))
	}
	if err == nil && s.full.Load() {
		err = s.trySpace(ctx)
	}
	s.committed(err)
	return translate(err)
}

// trySpace writes something large, and takes it away again.
func (s *Store) trySpace(ctx context.Context) error {
	return s.tx(ctx, func(tx pgx.Tx) error {
		const q = `insert into nodes (id, pad) values ($1, $2)`
		if _, err := tx.Exec(ctx, q, s.node+" space", strings.Repeat("drover", 20_000)); err != nil {
			return err
		}
		_, err := tx.Exec(ctx, `delete from nodes where id = $1`, s.node+" space")
		return err
	})
}

// Clock is the time by the database's clock, as last measured. It is what the
// times of acts are compared with, which the database gives.
func (s *Store) Clock() time.Time { return s.now().Add(time.Duration(s.ahead.Load())) }

var _ game.Clock = (*Store)(nil).Clock
