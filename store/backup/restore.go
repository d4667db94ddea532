package backup

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"drover/store"

	"github.com/jackc/pgx/v5"
)

// Restore puts the rows of a backup into a vacant database, whose owner reaches it at an
// address, holds them against the manifest, and brings the schema up to this program's.
// Nobody is signed in afterwards: a session that was ended since then must not come back. Who
// was erased since then is erased again; say is told how many, before it is done.
func (b *File) Restore(ctx context.Context, address string, since store.ErasedList, say func(people int)) error {
	if len(since.Hashes) > 0 && !b.marked() {
		return errNoMarks
	}
	conn, err := pgx.Connect(ctx, address)
	if err != nil {
		return fmt.Errorf("connect as owner: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	if err := b.fits(ctx, conn); err != nil {
		return err
	}
	if err := store.Restoring(ctx, address); err != nil {
		return fmt.Errorf("make room: %w", err)
	}
	if err := b.load(ctx, address); err != nil {
		return err
	}
	found, err := Rows(ctx, conn)
	if err != nil {
		return err
	}
	if !slices.Equal(found, b.Tables) {
		return errors.New("what was restored is not what was backed up: the rows add up to something else. " +
			"Nothing is served from it. Take another backup")
	}
	if _, err := conn.Exec(ctx, `delete from keys where kind in ('session', 'half')`); err != nil {
		return fmt.Errorf("end the sessions of then: %w", err)
	}
	if err := store.Restored(ctx, address, since, say); err != nil {
		return fmt.Errorf("bring what was restored up to date: %w", err)
	}
	return nil
}

// errNoMarks refuses a list for a backup in which nobody can be found by it.
var errNoMarks = errors.New("this backup is of before people had marks, so the list finds nobody in it who was erased since. " +
	"Take a later backup")

// marked says whether the people of a backup have marks by which a list finds them.
func (b *File) marked() bool {
	return slices.ContainsFunc(b.Tables, func(t Table) bool { return t.Name == "erased" })
}

// fits refuses a server that is older than the one that the backup was made of.
func (b *File) fits(ctx context.Context, conn *pgx.Conn) error {
	var server int
	err := pgx.BeginFunc(ctx, conn, func(tx pgx.Tx) (err error) {
		server, err = major(ctx, tx)
		return err
	})
	if err == nil && server < b.Postgres {
		err = fmt.Errorf("this backup was made of PostgreSQL %d, and here is %d. Restore it into %d or later", b.Postgres, server, b.Postgres)
	}
	return err //nolint:wrapcheck // it is said already
}

// load feeds the dump to pg_restore, which takes all of it or nothing.
func (b *File) load(ctx context.Context, address string) error {
	cfg, err := pgx.ParseConfig(address)
	if err != nil {
		return fmt.Errorf("database address: %w", err)
	}
	cmd, err := client(ctx, address, b.Postgres, "pg_restore", "--exit-on-error", "--single-transaction", "--no-owner",
		"--no-privileges", "--dbname="+cfg.Database)
	if err != nil {
		return err
	}
	dump, err := b.dump.Open()
	if err != nil {
		return errChanged
	}
	defer dump.Close()
	if err := run(cmd, dump, nil); err != nil {
		return fmt.Errorf("pg_restore: %w", err)
	}
	return nil
}

// Club is what came back of one club.
type Club struct {
	Name                               string
	Students, Guardians, Groups, Games int64
}

// Clubs says what a database holds.
func Clubs(ctx context.Context, address string) ([]Club, error) {
	conn, err := pgx.Connect(ctx, address)
	if err != nil {
		return nil, fmt.Errorf("connect as owner: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	const q = `select c.name, p.students, p.guardians,
			(select count(*) from games g where g.club_id = c.id) as games,
			(select count(*) from groups g where g.club_id = c.id) as groups
		from clubs c
		cross join lateral (select count(*) filter (where role = 'student') as students,
				count(*) filter (where role = 'guardian') as guardians
			from people p where p.club_id = c.id) p
		order by c.id`
	rows, err := conn.Query(ctx, q)
	if err != nil {
		return nil, fmt.Errorf("say what came back: %w", err)
	}
	return pgx.CollectRows(rows, pgx.RowToStructByName[Club])
}
