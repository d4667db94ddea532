package store

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"drover/game"

	"github.com/jackc/pgx/v5"
)

// ExportFor is how long an export is kept.
const ExportFor = 24 * time.Hour

// ExportRow is an export that somebody asked for.
type ExportRow struct {
	ID      int64
	By      game.PersonID
	Student game.PersonID // 0: the whole club
	At      time.Time
	Done    *time.Time
	Failed  bool
	Size    int64 // bytes
}

// Until is when it goes.
func (e ExportRow) Until() time.Time { return e.At.Add(ExportFor) }

const exportColumns = `id, by_id as by, coalesce(student_id, 0) as student, at, done_at as done, failed, size`

// ExportJob asks for an export to be made.
type ExportJob struct {
	Club   game.ClubID `json:"club"`
	Export int64       `json:"export"`
}

// Kind names the job in the queue.
func (ExportJob) Kind() string { return "export" }

// AskExport asks for an export: of a guardian's own child, or for an owner of any student or,
// with 0, of the whole club. One that is there or on its way is not made twice.
func (s *Store) AskExport(ctx context.Context, a game.Actor, student game.PersonID, sent ...Sent) error {
	_, err := s.once(ctx, a, sent, func(tx pgx.Tx, _ Sent) (int64, error) {
		if err := mayExport(ctx, tx, a, student); err != nil {
			return 0, err
		}
		var id int64
		const there = `select id from exports
			where club_id = @club and by_id = @by and coalesce(student_id, 0) = @student and not failed and at > @since
			limit 1`
		err := tx.QueryRow(ctx, there, args{"club": a.Club, "by": a.Person, "student": student, "since": s.now().Add(-ExportFor)}).Scan(&id)
		if err == nil || !errors.Is(err, pgx.ErrNoRows) {
			return id, err
		}
		const q = `insert into exports (club_id, by_id, student_id, at) values (@club, @by, nullif(@student, 0), @now) returning id`
		err = tx.QueryRow(ctx, q, args{"club": a.Club, "by": a.Person, "student": int64(student), "now": s.now()}).Scan(&id)
		if err != nil {
			return 0, err
		}
		if err := s.jobs.put(ctx, tx, ExportJob{a.Club, id}); err != nil {
			return 0, err
		}
		return id, audit(ctx, tx, a, "export asked", student, fmt.Sprintf("export %d", id))
	})
	return err
}

// mayExport refuses whoever may not take a student's data along. It holds the person's row, so
// that an export is asked for before the access ends and goes with it, or not at all.
func mayExport(ctx context.Context, tx pgx.Tx, a game.Actor, student game.PersonID) error {
	if a.Role != game.Guardian {
		if err := mustOwn(ctx, tx, a); err != nil {
			return err
		}
		if student == 0 { // an erasure that goes on is waited for
			return lockClub(ctx, tx, a.Club)
		}
		return anyPupil(ctx, tx, a.Club, student)
	}
	if err := holdPerson(ctx, tx, a.Club, a.Person); err != nil {
		return err
	}
	if err := anyPupil(ctx, tx, a.Club, student); err != nil {
		return err
	}
	return guards(ctx, tx, a.Club, student, a.Person)
}

// anyPupil is missing where there is no such student, of those who have left neither.
func anyPupil(ctx context.Context, tx pgx.Tx, c game.ClubID, id game.PersonID) error {
	var is bool
	const q = `select true from people where club_id = $1 and id = $2 and role = 'student'`
	return tx.QueryRow(ctx, q, c, id).Scan(&is)
}

// Exports lists what somebody has asked for and what is still kept, the latest first.
func (s *Store) Exports(ctx context.Context, a game.Actor) ([]ExportRow, error) {
	const q = `select ` + exportColumns + `
		from exports
		where club_id = $1 and by_id = $2 and at > $3
		order by id desc`
	out, err := readAll[ExportRow](ctx, s.pool, q, a.Club, a.Person, s.now().Add(-ExportFor))
	return out, translate(err)
}

// Export reads one that is asked for; Missing where it is gone.
func (s *Store) Export(ctx context.Context, c game.ClubID, id int64) (ExportRow, error) {
	const q = `select ` + exportColumns + ` from exports where club_id = $1 and id = $2 and at > $3`
	out, err := readOne[ExportRow](ctx, s.pool, q, c, id, s.now().Add(-ExportFor))
	return out, translate(err)
}

// StudentsOf lists the students of an export: the one, or all of the club.
func (s *Store) StudentsOf(ctx context.Context, c game.ClubID, e ExportRow) ([]game.PersonID, error) {
	const q = `select id from people where club_id = $1 and role = 'student' and $2::bigint in (0, id) order by id`
	rows, err := s.pool.Query(ctx, q, c, e.Student)
	if err != nil {
		return nil, translate(err)
	}
	out, err := pgx.CollectRows(rows, pgx.RowTo[game.PersonID])
	return out, translate(err)
}

// pieceSize is how many bytes of an export stand in one row.
const pieceSize = 256 << 10

// ExportWriter keeps an export in pieces. It is done where Close returns no error.
type ExportWriter struct {
	ctx   context.Context //nolint:containedctx // of the one job that writes
	store *Store
	club  game.ClubID
	id    int64
	no    int
	size  int64
	rest  []byte
}

// WriteExport begins an export anew: a job may run twice.
func (s *Store) WriteExport(ctx context.Context, c game.ClubID, id int64) (*ExportWriter, error) {
	if _, err := s.pool.Exec(ctx, `delete from export_pieces where club_id = $1 and export_id = $2`, c, id); err != nil {
		return nil, translate(err)
	}
	return &ExportWriter{ctx: ctx, store: s, club: c, id: id}, nil
}

// Write takes a part of the file.
func (w *ExportWriter) Write(b []byte) (int, error) {
	w.rest = append(w.rest, b...)
	for len(w.rest) >= pieceSize {
		if err := w.keep(w.rest[:pieceSize]); err != nil {
			return 0, err
		}
		w.rest = append(w.rest[:0], w.rest[pieceSize:]...)
	}
	return len(b), nil
}

func (w *ExportWriter) keep(piece []byte) error {
	const q = `insert into export_pieces (club_id, export_id, no, data) values (@club, @id, @no, @data)
		on conflict (club_id, export_id, no) do update set data = excluded.data`
	_, err := w.store.pool.Exec(w.ctx, q, args{"club": w.club, "id": w.id, "no": w.no, "data": piece})
	w.no, w.size = w.no+1, w.size+int64(len(piece))
	return translate(err)
}

// Close keeps the last piece and notes that the export is done.
func (w *ExportWriter) Close() error {
	if len(w.rest) > 0 {
		if err := w.keep(w.rest); err != nil {
			return err
		}
	}
	const q = `update exports set done_at = $3, size = $4 where club_id = $1 and id = $2`
	_, err := w.store.pool.Exec(w.ctx, q, w.club, w.id, w.store.now(), w.size)
	return translate(err)
}

// ExportFailed notes that an export could not be made; it can be asked for again.
func (s *Store) ExportFailed(ctx context.Context, c game.ClubID, id int64) error {
	_, err := s.pool.Exec(ctx, `update exports set failed = true where club_id = $1 and id = $2 and done_at is null`, c, id)
	return translate(err)
}

// FetchExport gives an export to the person who asked for it, who may still have it: the note
// that it was fetched comes first, then open is told that it begins.
func (s *Store) FetchExport(ctx context.Context, a game.Actor, id int64, open func(ExportRow) io.Writer) error {
	e, err := s.Export(ctx, a.Club, id)
	switch {
	case err != nil:
		return err
	case e.By != a.Person || e.Done == nil:
		return missing()
	}
	err = s.tx(ctx, func(tx pgx.Tx) error {
		if err := mayExport(ctx, tx, a, e.Student); err != nil {
			return err
		}
		return audit(ctx, tx, a, "export fetched", e.Student, fmt.Sprintf("export %d", id))
	})
	if err != nil {
		return err
	}
	w := open(e)
	for no := 0; ; no++ {
		var piece []byte
		const q = `select data from export_pieces where club_id = $1 and export_id = $2 and no = $3`
		err := s.pool.QueryRow(ctx, q, a.Club, id, no).Scan(&piece)
		if errors.Is(err, pgx.ErrNoRows) {
			return nil
		}
		if err != nil {
			return translate(err)
		}
		if _, err := w.Write(piece); err != nil {
			return fmt.Errorf("send the export: %w", err)
		}
	}
}

// dropExports deletes the exports that where finds, and notes that they are gone.
func dropExports(ctx context.Context, tx querier, where string, with args) error {
	q := `with gone as (delete from exports e where ` + where + ` returning club_id, student_id, id)
		insert into audit (club_id, action, subject_id, detail)
		select club_id, 'export gone', student_id, 'export ' || id from gone
		returning id`
	rows, err := tx.Query(ctx, q, with)
	if err != nil {
		return err
	}
	rows.Close()
	return rows.Err()
}

// dropExportsOf deletes what somebody has asked for whose access ends.
func dropExportsOf(ctx context.Context, tx querier, c game.ClubID, who game.PersonID) error {
	return dropExports(ctx, tx, `e.club_id = @club and e.by_id = @who`, args{"club": c, "who": who})
}
