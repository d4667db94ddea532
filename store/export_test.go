package store

import (
	"context"
	"fmt"
	"sync/atomic"
	"time"

	"drover/game"
	"drover/game/practice"
	"drover/game/progress"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
)

// Together commits acts of one game as one group, as the committer does with
// those that wait, and gives what each was told.
func (s *Store) Together(c game.ClubID, set practice.Setup, acts ...practice.Act) (won []bool, errs []error) {
	var batch []*waiting
	for _, a := range acts {
		e := entry{club: c, setup: set, act: a}
		if a.End != "" {
			e.outcome = &practice.Outcome{End: a.End, Result: practice.NotWon}
		}
		batch = append(batch, &waiting{entry: e, reply: make(chan appended, 1)})
	}
	s.committer.commit(batch)
	for _, w := range batch {
		r := <-w.reply
		won, errs = append(won, r.won), append(errs, r.err)
	}
	return won, errs
}

// FormLife and DraftFor are how long a form and a draft are kept.
const (
	FormLife time.Duration = formLife
	DraftFor time.Duration = draftFor
)

// Hurry makes the listener less patient.
func (s *Store) Hurry(quiet, answer time.Duration) { s.patience = patience{quiet, answer} }

// Heard sets when the listener's connection last lived.
func (s *Store) Heard(at time.Time) { s.heard.Store(at.UnixNano()) }

// Poison gives the committer something at which it panics.
func (s *Store) Poison() { s.committer.queue <- nil }

// Counted is the store, for reading alone, over connections of its own that count what
// they are asked, and tell it; end closes them.
func (s *Store) Counted(ctx context.Context, each func(sql string, args []any)) (counted *Store, asked *atomic.Int64,
	end func(), err error) {
	cfg, n := s.pool.Config(), new(atomic.Int64)
	cfg.ConnConfig.Tracer = tally{n, each}
	pool, err := pgxpool.NewWithConfig(ctx, cfg)
	if err != nil {
		return nil, nil, nil, fmt.Errorf("connect: %w", err)
	}
	return &Store{pool: database{pool}, quick: database{pool}, now: s.now}, n, pool.Close, nil
}

type tally struct {
	n    *atomic.Int64
	each func(sql string, args []any) // nil: they are only counted
}

// TraceQueryStart counts a query.
func (c tally) TraceQueryStart(ctx context.Context, _ *pgx.Conn, q pgx.TraceQueryStartData) context.Context {
	if c.n.Add(1); c.each != nil {
		c.each(q.SQL, q.Args)
	}
	return ctx
}

// TraceQueryEnd does nothing.
func (c tally) TraceQueryEnd(context.Context, *pgx.Conn, pgx.TraceQueryEndData) {}

// Payloads are the notifications that the hints make.
func Payloads(all []string) (out []string) {
	h := hints{wait: all}
	for p := h.take(); p != ""; p = h.take() {
		out = append(out, p)
	}
	return out
}

// DueDays counts for a person what a feed would, up to a day.
func (s *Store) DueDays(ctx context.Context, a game.Actor, until time.Time) ([]DueDay, error) {
	return s.dueDays(ctx, s.pool, feedRow{Actor: a, Until: until, Zone: "UTC"})
}

// Translate maps an error of the database to a kind.
func Translate(err error) error { return translate(err) }

// InOrder is the order in which bells are written.
func InOrder(all map[progress.Key]progress.Mastery) []progress.Key { return inOrder(all) }

// Records reads the records of all students of a club as far as overviews look at them.
func (s *Store) Records(ctx context.Context, c game.ClubID) ([]progress.Record, error) {
	var out []progress.Record
	err := transact(ctx, s.pool, steady, func(tx pgx.Tx) (err error) {
		r := reading{ctx: ctx, tx: tx, club: c, now: s.now()}
		const q = `select id from people where club_id = $1 and role = 'student'`
		rows, err := tx.Query(ctx, q, c)
		if err != nil {
			return err
		}
		if r.only, err = pgx.CollectRows(rows, pgx.RowTo[game.PersonID]); err != nil {
			return err
		}
		out, err = r.fill(r.stages, r.bells, r.tries)
		return err
	})
	return out, err
}
