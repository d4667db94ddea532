package backup

import (
	"archive/zip"
	"context"
	"crypto/sha256"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"time"

	"drover/store"

	"github.com/jackc/pgx/v5"
)

// Source is what a backup is made of.
type Source struct {
	URL     string           // of the database, as the owner of the schema
	Key     []byte           // the site's own
	Erased  store.ErasedList // who was erased, as the data folder has it
	Program string           // the version of the program
	At      time.Time
}

// Write writes a backup, while others may write to the database.
func Write(ctx context.Context, w io.Writer, from Source) error {
	conn, err := pgx.Connect(ctx, from.URL)
	if err != nil {
		return fmt.Errorf("connect as owner: %w", err)
	}
	defer conn.Close(context.WithoutCancel(ctx))
	const patient = `set statement_timeout = 0; set idle_in_transaction_session_timeout = 0`
	if _, err := conn.Exec(ctx, patient); err != nil {
		return fmt.Errorf("prepare to read the database: %w", err)
	}
	return pgx.BeginTxFunc(ctx, conn, snapshot, func(tx pgx.Tx) error { return writeIn(ctx, tx, w, from) })
}

func writeIn(ctx context.Context, tx pgx.Tx, w io.Writer, from Source) error {
	m, err := manifest(ctx, tx, from)
	if err != nil {
		return err
	}
	var moment string
	if err := tx.QueryRow(ctx, `select pg_export_snapshot()`).Scan(&moment); err != nil {
		return fmt.Errorf("hold one moment of the database: %w", err)
	}
	dump, err := client(ctx, from.URL, m.Postgres, "pg_dump", "--format=custom", "--snapshot="+moment,
		"--exclude-schema="+store.JobSchema, "--no-owner", "--no-privileges")
	if err != nil {
		return err
	}
	erased, err := store.ErasedIn(ctx, tx.Conn())
	if err != nil {
		return fmt.Errorf("read who was erased: %w", err)
	}
	erased.Add(from.Erased)
	text, err := json.MarshalIndent(m, "", "  ")
	if err != nil {
		return fmt.Errorf("write the manifest: %w", err)
	}
	z := &writer{zip: zip.NewWriter(w), at: m.At}
	z.part(manifestName, func(w io.Writer) error { _, err := w.Write(text); return err })
	z.part(dumpName, func(w io.Writer) error {
		if err := run(dump, nil, w); err != nil {
			return fmt.Errorf("pg_dump: %w", err)
		}
		return nil
	})
	z.part(keyName, func(w io.Writer) error { _, err := w.Write(from.Key); return err })
	z.part(erasedName, func(w io.Writer) error { _, err := io.WriteString(w, erased.Text()); return err })
	return z.end()
}

// manifest counts what there is.
func manifest(ctx context.Context, tx pgx.Tx, from Source) (Manifest, error) {
	m := Manifest{Drover: from.Program, Format: Format, At: from.At.UTC().Truncate(time.Second)}
	const q = `select version, dirty, (select count(*) from clubs), (select count(*) from people), (select count(*) from games)
		from schema_migrations`
	var dirty bool
	err := tx.QueryRow(ctx, q).Scan(&m.Schema, &dirty, &m.Clubs, &m.People, &m.Games)
	if err != nil {
		return m, fmt.Errorf("read what there is: %w", err)
	}
	if dirty {
		return m, fmt.Errorf("step %d of the schema failed half way. Mend that first: a backup of it could not be restored", m.Schema)
	}
	if m.Postgres, err = major(ctx, tx); err != nil {
		return m, err
	}
	m.Tables, err = rows(ctx, tx)
	return m, err
}

// writer writes the parts of a backup and keeps their sums. Its first error ends it.
type writer struct {
	zip  *zip.Writer
	at   time.Time
	sums strings.Builder
	err  error
}

// part writes one part.
func (z *writer) part(name string, fill func(io.Writer) error) {
	if z.err != nil {
		return
	}
	w, err := z.zip.CreateHeader(&zip.FileHeader{Name: name, Method: zip.Store, Modified: z.at})
	sum := sha256.New()
	if err == nil {
		err = fill(io.MultiWriter(w, sum))
	}
	if err != nil {
		z.err = fmt.Errorf("write the part %s: %w", name, err)
		return
	}
	fmt.Fprintf(&z.sums, "%x  %s\n", sum.Sum(nil), name)
}

// end writes the sums and closes the archive.
func (z *writer) end() error {
	sums := z.sums.String()
	z.part(sumsName, func(w io.Writer) error { _, err := io.WriteString(w, sums); return err })
	if z.err != nil {
		return z.err
	}
	if err := z.zip.Close(); err != nil {
		return fmt.Errorf("write the end: %w", err)
	}
	return nil
}
