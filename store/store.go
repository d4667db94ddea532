// Package store keeps a club's data in Postgres, with one file per aggregate.
// Exported methods own their transaction. Every query carries the club, which
// comes from the session and never from an address. Errors that reach a person
// are of the kinds in package game; their causes go to the log alone.
package store

import (
	"context"
	"crypto/rand"
	"errors"
	"fmt"
	"sync/atomic"
	"time"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"
)

// Store is the database. It is safe for many goroutines.
type Store struct {
	pool      database // for pages
	quick     database // for what moves and sockets ask, and no page
	writer    database // the committer's own connection
	now       game.Clock
	node      string // this process, among all that run on the database
	jobs      jobs
	committer *committer
	hints     *hints
	patience  patience
	vault     club.Vault // seals the secrets of second factors
	mails     bool       // whether mail can be sent

	ahead atomic.Int64 // nanoseconds by which the database's clock is before ours
	full  atomic.Bool  // a commit was refused because there is no space left
	heard atomic.Int64 // when the listener's connection last lived, Unix nanoseconds; 0: nobody listens
}

// Pages, moves and the committer never wait for one another's connections: a node has
// at least leastForPages for pages, quickConns for sessions and for the games that
// sockets open, one for the committer and one for the listener.
const (
	leastForPages = 4
	quickConns    = 3
)

// closePools closes the connections that were opened.
func (s *Store) closePools() {
	for _, p := range []database{s.pool, s.quick, s.writer} {
		if p.Pool != nil {
			p.Close()
		}
	}
}

// closeLimit is how long closing may take.
const closeLimit = 2 * time.Second

// Open connects to a database whose schema is already migrated.
func Open(ctx context.Context, url string, now game.Clock) (*Store, error) {
	cfg, err := pgxpool.ParseConfig(url)
	if err != nil {
		return nil, fmt.Errorf("database address: %w", err)
	}
	cfg.ConnConfig.RuntimeParams["statement_timeout"] = "5000"
	cfg.ConnConfig.RuntimeParams["idle_in_transaction_session_timeout"] = "10000"
	cfg.ConnConfig.ConnectTimeout = 5 * time.Second
	s := &Store{now: now, node: rand.Text()[:12], patience: patience{quietFor, heardWithin}}
	for _, p := range []struct {
		into  *database
		conns int32
	}{{&s.pool, max(cfg.MaxConns, leastForPages)}, {&s.quick, quickConns}, {&s.writer, 1}} {
		of := cfg.Copy()
		of.MaxConns = p.conns
		if p.into == &s.writer { // its few statements are planned once: planning costs more than writing
			of.ConnConfig.RuntimeParams["plan_cache_mode"] = "force_generic_plan"
		}
		pool, err := pgxpool.NewWithConfig(ctx, of)
		if err != nil {
			s.closePools()
			return nil, fmt.Errorf("connect: %w", err)
		}
		*p.into = database{pool}
	}
	if s.jobs, err = newJobs(); err != nil {
		s.closePools()
		return nil, err
	}
	s.hints = newHints(s)
	s.committer = newCommitter(s)
	return s, nil
}

// Unlock gives the store the key of the secrets that it seals, before anything else is
// asked of it.
func (s *Store) Unlock(v club.Vault) { s.vault = v }

// Close stops the committer and closes the connections, within a few seconds
// whatever hangs. It may be called twice.
func (s *Store) Close() {
	closed := make(chan struct{})
	go func() {
		defer close(closed)
		s.committer.stop()
		s.hints.stop()
		s.closePools()
	}()
	select {
	case <-closed:
	case <-time.After(closeLimit): // a connection that does not come back
	}
}

// manner is how a transaction differs from a plain one.
type manner struct {
	pgx.TxOptions
	bare bool // the caller sets the time limit, and is given the database's own errors
}

var (
	plain = manner{}
	// steady sees one state of the database throughout, and writes nothing.
	steady = manner{TxOptions: pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}}
	// bare is for a caller that decides by the database's own error what to do next.
	bare = manner{bare: true}
)

// beginner begins transactions: the pool, or a connection.
type beginner interface {
	BeginTx(ctx context.Context, opts pgx.TxOptions) (pgx.Tx, error)
}

// transact runs f in a transaction, which it commits if f gives no error. Every
// transaction of this package begins here.
func transact(ctx context.Context, on beginner, how manner, f func(pgx.Tx) error) error {
	if how.bare {
		return pgx.BeginTxFunc(ctx, on, how.TxOptions, f)
	}
	ctx, cancel := context.WithTimeout(ctx, queryLimit)
	defer cancel()
	return translate(pgx.BeginTxFunc(ctx, on, how.TxOptions, f))
}

// tx runs f in a plain transaction.
func (s *Store) tx(ctx context.Context, f func(pgx.Tx) error) error {
	return transact(ctx, s.pool, plain, f)
}

// away is the error for a database that cannot be reached.
func away(err error) error {
	return game.Wrap(game.Away, "We cannot reach our records just now. Nothing is lost; try again in a moment.", err)
}

// missing is the answer for anything that is not in this club.
func missing() error {
	return game.Fail(game.Missing, "There is nothing here. It may have been removed, or the address is mistyped.")
}

// translate maps database errors to kinds; it leaves errors that have a kind.
func translate(err error) error {
	var known *game.Error
	var pg *pgconn.PgError
	switch {
	case err == nil || errors.As(err, &known):
		return err
	case errors.Is(err, pgx.ErrNoRows):
		return missing()
	case errors.As(err, &pg) && pg.Code == "23505":
		return game.Wrap(game.Conflict, "Something else was saved first. Look again, then try once more.", err)
	case errors.As(err, &pg) && pg.Code == "23503":
		return game.Wrap(game.Missing, "There is nothing here. It may have been removed, or the address is mistyped.", err)
	case errors.As(err, &pg) && pg.Code[:2] == "22":
		return game.Wrap(game.Bad, "There is something in this that cannot be kept. Write it again, in plain letters.", err)
	case errors.As(err, &pg) && (pg.Code[:2] == "08" || pg.Code[:2] == "57" || pg.Code[:2] == "53"):
		return away(err)
	case errors.As(err, &pg):
		return fmt.Errorf("database: %w", err)
	case errors.Is(err, context.Canceled):
		return err
	}
	return away(err)
}

// audit notes who did what to whom; ids only.
func audit(ctx context.Context, tx pgx.Tx, a game.Actor, action string, subject game.PersonID, detail string) error {
	const q = `insert into audit (club_id, actor_id, action, subject_id, detail)
		values (@club, nullif(@actor, 0), @action, nullif(@subject, 0), @detail)`
	_, err := tx.Exec(ctx, q, args{
		"club": a.Club, "actor": a.Person, "action": action, "subject": subject, "detail": detail,
	})
	return err
}
