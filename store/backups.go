package store

import (
	"context"
	"errors"
	"time"

	"github.com/jackc/pgx/v5"
)

// Backup is a backup that was made.
type Backup struct {
	At    time.Time
	Bytes int64
}

// NoteBackup notes that a backup was made.
func (s *Store) NoteBackup(ctx context.Context, b Backup) error {
	_, err := s.pool.Exec(ctx, `insert into backups (at, bytes) values ($1, $2)`, b.At, b.Bytes)
	return translate(err)
}

// LastBackup is the latest backup of which we know; zero where there is none.
func (s *Store) LastBackup(ctx context.Context) (Backup, error) {
	b, err := readOne[Backup](ctx, s.pool, `select at, bytes from backups order by at desc limit 1`)
	if errors.Is(err, pgx.ErrNoRows) {
		return Backup{}, nil
	}
	return b, translate(err)
}
