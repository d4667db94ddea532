package store

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net/url"
	"time"

	"drover/migrations"

	"github.com/golang-migrate/migrate/v4"
	migratepgx "github.com/golang-migrate/migrate/v4/database/pgx/v5"
	"github.com/golang-migrate/migrate/v4/source/iofs"
	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/jackc/pgx/v5/stdlib"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
	"github.com/riverqueue/river/rivermigrate"
)

// Migrate brings the schema up to this program's version, under a lock with a
// time limit, so that several nodes may start at once. It refuses a schema
// that is newer than the program, one that a failed step left half done, and half of a
// restore.
func Migrate(ctx context.Context, address string) error {
	conn, err := pgx.Connect(ctx, address)
	if err != nil {
		return fmt.Errorf("connect to migrate: %w", err)
	}
	half, err := has(ctx, conn, Unfinished)
	if err := errors.Join(err, conn.Close(context.WithoutCancel(ctx))); err != nil {
		return err
	}
	if half {
		return errUnfinished
	}
	return migrateUp(ctx, address)
}

func migrateUp(ctx context.Context, address string) error {
	m, err := migrator(address)
	if err != nil {
		return err
	}
	defer m.Close()
	version, dirty, err := m.Version()
	switch {
	case errors.Is(err, migrate.ErrNilVersion):
	case err != nil:
		return fmt.Errorf("read the schema's version: %w", err)
	case dirty:
		return fmt.Errorf("step %d of the schema failed half way: restore the last backup, "+
			"or mend the schema by hand and set schema_migrations.dirty to false", version)
	case version > migrations.Latest:
		return fmt.Errorf("the schema is at step %d, this program knows %d: start the newer program that made it", version,
			migrations.Latest)
	}
	done := make(chan error, 1)
	go func() { done <- m.Up() }()
	select {
	case err = <-done:
	case <-ctx.Done():
		m.GracefulStop <- true
		err = <-done
	}
	if err != nil && !errors.Is(err, migrate.ErrNoChange) {
		return fmt.Errorf("migrate the schema: %w", err)
	}
	return migrateJobs(ctx, address)
}

// migrateJobs brings the job queue's own schema up to its version, right after ours and
// one node at a time.
func migrateJobs(ctx context.Context, address string) error {
	pool, err := pgxpool.New(ctx, address)
	if err != nil {
		return fmt.Errorf("connect to migrate the job queue: %w", err)
	}
	defer pool.Close()
	silent := slog.New(slog.DiscardHandler)
	m, err := rivermigrate.New(riverpgxv5.New(pool), &rivermigrate.Config{Schema: JobSchema, Logger: silent})
	if err != nil {
		return fmt.Errorf("prepare to migrate the job queue: %w", err)
	}
	lock, err := pool.Acquire(ctx)
	if err != nil {
		return fmt.Errorf("connect to migrate the job queue: %w", err)
	}
	defer lock.Release()
	for _, q := range []string{
		"select pg_advisory_lock(hashtextextended('drover job queue', 0))", // it ends with the connection
		"create schema if not exists " + JobSchema,
	} {
		if _, err := lock.Exec(ctx, q); err != nil {
			return fmt.Errorf("prepare to migrate the job queue: %w", mayCreate(err, pool.Config().ConnConfig))
		}
	}
	if _, err := m.Migrate(ctx, rivermigrate.DirectionUp, nil); err != nil {
		return fmt.Errorf("migrate the job queue: %w", err)
	}
	return nil
}

// mayCreate says what to grant where a role may not make the job queue's schema.
func mayCreate(err error, c *pgx.ConnConfig) error {
	var pg *pgconn.PgError
	if !errors.As(err, &pg) || pg.Code != "42501" {
		return err
	}
	database, role := pgx.Identifier{c.Database}.Sanitize(), pgx.Identifier{c.User}.Sanitize()
	return fmt.Errorf("%w: let the database's owner run: grant create on database %s to %s", err, database, role)
}

func migrator(address string) (*migrate.Migrate, error) {
	cfg, err := pgx.ParseConfig(address)
	if err != nil {
		return nil, fmt.Errorf("database address: %w", err)
	}
	db, err := migratepgx.WithInstance(stdlib.OpenDB(*cfg), &migratepgx.Config{StatementTimeout: time.Minute})
	if err != nil {
		return nil, fmt.Errorf("connect to migrate: %w", err)
	}
	files, err := iofs.New(migrations.Files, ".")
	if err != nil {
		return nil, fmt.Errorf("read the steps: %w", err)
	}
	m, err := migrate.NewWithInstance("iofs", files, "pgx5", db)
	if err != nil {
		return nil, fmt.Errorf("prepare to migrate: %w", err)
	}
	m.LockTimeout = 30 * time.Second
	return m, nil
}

// Grant lets the app's own role read and write rows, but neither change the schema
// nor alter what is written once: the log of acts, consents, bells and the audit,
// whose numbers and times are the database's own.
func Grant(ctx context.Context, owner, app string) error {
	u, err := url.Parse(app)
	if err != nil || u.User == nil {
		return fmt.Errorf("the app's database address needs a user: %w", err)
	}
	conn, err := pgx.Connect(ctx, owner)
	if err != nil {
		return fmt.Errorf("connect as owner: %w", err)
	}
	defer conn.Close(ctx)
	role := pgx.Identifier{u.User.Username()}.Sanitize()
	// All at once, since another node may be at work. The transaction is bare: whoever
	// starts the program set the time limit, and reads the database's own error.
	err = transact(ctx, conn, bare, func(tx pgx.Tx) error {
		for _, q := range []string{
			"grant usage on schema public to " + role,
			"grant select, insert, update, delete on all tables in schema public to " + role,
			"grant usage on all sequences in schema public to " + role,
			"revoke update, delete on acts, audit, bells, consents from " + role,
			"grant execute on function forget_games(int), forget_audit(int), erase_next(), erase_left() to " + role,
			"revoke insert, update, delete on erased, erasures from " + role,
			"grant insert (club_id, student_id, asked_by), update (confirmed_by, stopped_by) on erasures to " + role,
			"revoke insert on audit from " + role,
			"grant insert (club_id, actor_id, action, subject_id, detail) on audit to " + role,
			"revoke update, delete on concern_notes, reasons from " + role,
			"revoke update, delete on concerns from " + role,
			"grant update (opened_at, opened_by, closed_at, closed_by) on concerns to " + role,
			"revoke delete on bars from " + role,
			"revoke insert, update, delete on schema_migrations from " + role,
			"revoke update, delete on backups from " + role,
			"grant usage on schema " + JobSchema + " to " + role,
			"grant select, insert, update, delete on all tables in schema " + JobSchema + " to " + role,
			"grant usage on all sequences in schema " + JobSchema + " to " + role,
			"revoke insert, update, delete on " + JobSchema + ".river_migration from " + role,
		} {
			if _, err := tx.Exec(ctx, q); err != nil {
				return fmt.Errorf("%s: %w", q, err)
			}
		}
		return nil
	})
	if err != nil {
		return fmt.Errorf("grant to %s: %w", role, err)
	}
	return nil
}
