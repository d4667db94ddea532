package store

import (
	"context"
	"errors"
	"fmt"

	"github.com/jackc/pgx/v5"
)

// Unfinished is the table that stands in a database from before a restore begins until all of
// it is done. A site does not start on such a database, and a restore begins anew.
const Unfinished = "restore_unfinished"

// errUnfinished refuses what would be served too early.
var errUnfinished = errors.New("a restore into this database was cut short, and nothing is served from half of one. Run drover restore again")

// Restoring makes room for what a restore puts in: it takes the schema out of a database that
// holds no club, or only what a restore that was cut short has left.
func Restoring(ctx context.Context, address string) error {
	conn, err := pgx.Connect(ctx, address)
	if err != nil {
		return fmt.Errorf("connect as owner: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	if full, err := holdsClub(ctx, conn); err != nil || full {
		return errors.Join(err, errors.New("this database holds a club"))
	}
	if _, err := conn.Exec(ctx, "create table if not exists "+Unfinished+" ()"); err != nil {
		return fmt.Errorf("mark that a restore begins: %w", err)
	}
	there, err := has(ctx, conn, "schema_migrations")
	if err != nil || !there {
		return err
	}
	m, err := migrator(address)
	if err != nil {
		return err
	}
	defer m.Close()
	if err := m.Down(); err != nil {
		return fmt.Errorf("take the schema out: %w", err)
	}
	if _, err := conn.Exec(ctx, "drop table schema_migrations; drop schema if exists "+JobSchema+" cascade"); err != nil {
		return fmt.Errorf("take the schema out: %w", err)
	}
	return nil
}

// Restored brings the schema of what was restored up to this program's, ends what waited for
// a job then, erases again who was erased since, and lets the rest be served.
func Restored(ctx context.Context, address string, since ErasedList, say func(people int)) error {
	if err := migrateUp(ctx, address); err != nil {
		return err
	}
	conn, err := pgx.Connect(ctx, address)
	if err != nil {
		return fmt.Errorf("connect as owner: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	if _, err := conn.Exec(ctx, endWaiting); err != nil {
		return fmt.Errorf("end what waited for a job: %w", err)
	}
	if err := EraseListed(ctx, address, since, say); err != nil {
		return err
	}
	if _, err := conn.Exec(ctx, "drop table "+Unfinished); err != nil {
		return fmt.Errorf("mark that the restore is done: %w", err)
	}
	return nil
}

// endWaiting ends mails and exports that were on their way: the queue is in no backup, so nothing
// would ever carry them out. A mail of the week may have gone out since, so it is uncertain;
// whatever else is still needed is asked for anew.
const endWaiting = `update letters set outcome = case when week is null then 'dropped' else 'unknown' end where outcome is null;
	update exports set failed = true where done_at is null`

// Vacant says whether a restore may put a club into a database; an error says why not.
func Vacant(ctx context.Context, address string) error {
	conn, err := pgx.Connect(ctx, address)
	if err != nil {
		return fmt.Errorf("connect as owner: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	full, err := holdsClub(ctx, conn)
	if err != nil {
		return err
	}
	if full {
		return errors.New("this database holds a club already, and a restore would mix the two. " +
			"Restore into a new data folder or an empty database")
	}
	if runs, err := has(ctx, conn, "nodes"); err != nil || !runs {
		return err
	}
	var alive bool
	const q = `select exists (select from nodes where seen_at > now() - $1 * interval '1 second')`
	if err := conn.QueryRow(ctx, q, silentFor).Scan(&alive); err != nil {
		return fmt.Errorf("look whether a site runs: %w", err)
	}
	if alive {
		return errors.New("a Drover runs on this database. Stop it first; after a kill, wait a quarter of a minute")
	}
	return nil
}

// holdsClub says whether a database holds a club, other than half of a restore.
func holdsClub(ctx context.Context, conn *pgx.Conn) (full bool, err error) {
	half, err := has(ctx, conn, Unfinished)
	if err != nil || half {
		return false, err
	}
	there, err := has(ctx, conn, "clubs")
	if err != nil || !there {
		return false, err
	}
	if err := conn.QueryRow(ctx, `select exists (select from clubs)`).Scan(&full); err != nil {
		return false, fmt.Errorf("look for a club: %w", err)
	}
	return full, nil
}

// has says whether there is a table.
func has(ctx context.Context, conn *pgx.Conn, table string) (is bool, err error) {
	if err := conn.QueryRow(ctx, `select to_regclass($1) is not null`, table).Scan(&is); err != nil {
		return false, fmt.Errorf("look into the database: %w", err)
	}
	return is, nil
}
