package work

import (
	"archive/zip"
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"drover/game"
	"drover/game/export"
	"drover/store"

	"github.com/riverqueue/river"
)

// exportLimit is the longest that an export of a whole club may take to be made.
const exportLimit = 5 * time.Minute

// exporter makes an export: a zip with a folder for each student.
type exporter struct {
	river.WorkerDefaults[store.ExportJob]
	store *store.Store
}

// Timeout gives a whole club its time.
func (w *exporter) Timeout(*river.Job[store.ExportJob]) time.Duration { return exportLimit }

// Work makes the export; one that is gone meanwhile is not made.
func (w *exporter) Work(ctx context.Context, job *river.Job[store.ExportJob]) error {
	e, err := w.store.Export(ctx, job.Args.Club, job.Args.Export)
	if game.KindOf(err) == game.Missing || err == nil && e.Done != nil {
		return nil
	}
	if err == nil {
		err = w.write(ctx, job.Args.Club, e)
	}
	if err != nil && job.Attempt >= job.MaxAttempts {
		return errors.Join(err, w.store.ExportFailed(ctx, job.Args.Club, job.Args.Export))
	}
	return err
}

// NextRetry tries again soon: somebody waits.
func (w *exporter) NextRetry(*river.Job[store.ExportJob]) time.Time { return time.Now().Add(cardRetry) }

func (w *exporter) write(ctx context.Context, c game.ClubID, e store.ExportRow) error {
	students, err := w.store.StudentsOf(ctx, c, e)
	if err != nil {
		return err
	}
	out, err := w.store.WriteExport(ctx, c, e.ID)
	if err != nil {
		return err
	}
	z := zip.NewWriter(out)
	if err := put(z, "schema.json", func(to io.Writer) error { _, err := to.Write(export.Schema); return err }); err != nil {
		return err
	}
	for _, student := range students {
		doc, err := w.store.DocumentOf(ctx, c, student, e.By)
		if game.KindOf(err) == game.Missing {
			continue // erased meanwhile
		}
		if err != nil {
			return err
		}
		folder := fmt.Sprintf("%d/", doc.Student.Number)
		if e.Student != 0 {
			folder = ""
		}
		for _, f := range []struct {
			name  string
			write func(io.Writer) error
		}{{"index.html", doc.WriteHTML}, {"data.json", doc.WriteJSON}, {"games.pgn", doc.WritePGN}} {
			if err := put(z, folder+f.name, f.write); err != nil {
				return err
			}
		}
	}
	if err := z.Close(); err != nil {
		return fmt.Errorf("end the zip: %w", err)
	}
	return out.Close()
}

// put adds a file to a zip.
func put(z *zip.Writer, name string, write func(io.Writer) error) error {
	f, err := z.Create(name)
	if err != nil {
		return fmt.Errorf("add %s: %w", name, err)
	}
	return write(f)
}
