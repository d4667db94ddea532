// Package backup writes all that a database of Drover's holds into one file, and puts it
// back. The file is a plain zip archive (PKWARE's APPNOTE, zip64 where it is long) with
//
//	manifest.json  the Manifest: of when it is, of which schema, and what the rows add up to
//	dump           the rows and their tables, as pg_dump -Fc writes them
//	key            the site's own key, under which second factors are sealed
//	erased         who was erased so far, as store.ErasedList writes it
//	sha256         the SHA-256 of each of these, as sha256sum -c reads it
//
// in this order, so that it can be written to a pipe, and so that 'unzip', 'sha256sum' and
// 'pg_restore' open it where no Drover is at hand. It is of one moment: what is counted and
// what is dumped see one snapshot of the database. The job queue stays out of it, since its
// jobs follow from the rows: the overviews are worked out again by themselves, and a mail
// that has gone out must not go out twice.
package backup

import (
	"context"
	"fmt"
	"time"

	"drover/store"

	"github.com/jackc/pgx/v5"
)

// Names of the parts.
const (
	manifestName = "manifest.json"
	dumpName     = "dump"
	keyName      = "key"
	erasedName   = "erased"
	sumsName     = "sha256"
)

// Format is the version of the file's format that this program writes. It reads all up to it.
const Format = 1

// Manifest says what a backup holds.
type Manifest struct {
	Drover   string    `json:"drover"`   // the program that wrote it
	Format   int       `json:"format"`   // of the file
	Schema   uint      `json:"schema"`   // the step of the database's schema
	Postgres int       `json:"postgres"` // the major version of the server
	At       time.Time `json:"at"`
	Clubs    int64     `json:"clubs"`
	People   int64     `json:"people"`
	Games    int64     `json:"games"`
	Tables   []Table   `json:"tables"`
}

// Table is what the rows of one table add up to.
type Table struct {
	Name string `json:"name"`
	Rows int64  `json:"rows"`
	Hash string `json:"hash"` // the sum, over all rows, of the first 60 bits of the MD5 of the row's text
}

// rows counts the rows of each table and adds up their hashes, in one snapshot. The order of
// the rows does not matter, and the settings make their text the same everywhere.
func rows(ctx context.Context, tx pgx.Tx) ([]Table, error) {
	const plainly = `set local timezone = 'UTC'; set local datestyle = 'ISO, YMD'; set local intervalstyle = 'postgres';
		set local extra_float_digits = 1; set local bytea_output = 'hex'; set local search_path = public`
	if _, err := tx.Exec(ctx, plainly); err != nil {
		return nil, fmt.Errorf("count the rows: %w", err)
	}
	names, err := tx.Query(ctx, `select relname::text from pg_class
		where relnamespace = 'public'::regnamespace and relkind in ('r', 'p') and not relispartition and relname <> $1
		order by relname`, store.Unfinished)
	if err != nil {
		return nil, fmt.Errorf("list the tables: %w", err)
	}
	tables, err := pgx.CollectRows(names, func(row pgx.CollectableRow) (t Table, err error) {
		return t, row.Scan(&t.Name)
	})
	if err != nil {
		return nil, fmt.Errorf("list the tables: %w", err)
	}
	for i := range tables {
		t := &tables[i]
		q := fmt.Sprintf(`select count(*), coalesce(sum(('x' || left(md5(t::text), 15))::bit(60)::bigint), 0)::text from %s t`,
			pgx.Identifier{t.Name}.Sanitize())
		if err := tx.QueryRow(ctx, q).Scan(&t.Rows, &t.Hash); err != nil {
			return nil, fmt.Errorf("count the rows of %s: %w", t.Name, err)
		}
	}
	return tables, nil
}

// Rows counts the rows of each table of a database and adds up their hashes.
func Rows(ctx context.Context, conn *pgx.Conn) (tables []Table, err error) {
	err = pgx.BeginTxFunc(ctx, conn, snapshot, func(tx pgx.Tx) (err error) {
		tables, err = rows(ctx, tx)
		return err
	})
	return tables, err //nolint:wrapcheck // it is said already
}

// snapshot sees one state of the database throughout.
var snapshot = pgx.TxOptions{IsoLevel: pgx.RepeatableRead, AccessMode: pgx.ReadOnly}
