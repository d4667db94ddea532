package store

import (
	"context"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"
)

// queryLimit is the longest that anything asked of the database may take. The
// server ends a statement after as long, but a server that has gone silent ends
// nothing.
const queryLimit = 6 * time.Second

// querier reads rows: the pool, or a transaction.
type querier interface {
	Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error)
	QueryRow(ctx context.Context, sql string, args ...any) pgx.Row
}

// args are a query's arguments by name, for queries of more than three. One that is
// missing, or that the query does not name, is an error and never a null.
type args = pgx.StrictNamedArgs

// readAll reads rows into structs, each column into the field of its name. A column
// or a field that is left over is an error.
func readAll[T any](ctx context.Context, from querier, sql string, with ...any) ([]T, error) {
	rows, err := from.Query(ctx, sql, with...)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, pgx.RowToStructByName[T])
}

// readOne is readAll for a single row.
func readOne[T any](ctx context.Context, from querier, sql string, with ...any) (T, error) {
	rows, err := from.Query(ctx, sql, with...)
	if err != nil {
		var none T
		return none, err
	}
	return pgx.CollectExactlyOneRow(rows, pgx.RowToStructByName[T])
}

// database is the pool with a time limit on all that it is asked.
type database struct{ *pgxpool.Pool }

// Exec is the pool's Exec with the time limit.
func (d database) Exec(ctx context.Context, sql string, args ...any) (pgconn.CommandTag, error) {
	ctx, cancel := context.WithTimeout(ctx, queryLimit)
	defer cancel()
	return d.Pool.Exec(ctx, sql, args...)
}

// Query is the pool's Query with the time limit, which ends when the rows are
// closed.
func (d database) Query(ctx context.Context, sql string, args ...any) (pgx.Rows, error) {
	ctx, cancel := context.WithTimeout(ctx, queryLimit)
	rows, err := d.Pool.Query(ctx, sql, args...)
	if err != nil {
		cancel()
		return nil, err
	}
	return limitedRows{rows, cancel}, nil
}

// QueryRow is the pool's QueryRow with the time limit, which ends when the row
// is scanned.
func (d database) QueryRow(ctx context.Context, sql string, args ...any) pgx.Row {
	ctx, cancel := context.WithTimeout(ctx, queryLimit)
	return limitedRow{d.Pool.QueryRow(ctx, sql, args...), cancel}
}

type limitedRows struct {
	pgx.Rows
	done context.CancelFunc
}

// Close closes the rows and ends the limit.
func (r limitedRows) Close() {
	r.Rows.Close()
	r.done()
}

type limitedRow struct {
	pgx.Row
	done context.CancelFunc
}

// Scan scans the row and ends the limit.
func (r limitedRow) Scan(dest ...any) error {
	defer r.done()
	return r.Row.Scan(dest...)
}
