package store

import (
	"context"
	"fmt"

	"drover/game"

	"github.com/jackc/pgx/v5"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
)

// JobSchema is the schema of the job queue's own tables.
const JobSchema = "river"

// OverviewJob asks for a student's overview to be worked out anew. Like every job it
// holds ids alone.
type OverviewJob struct {
	Club    game.ClubID   `json:"club"`
	Student game.PersonID `json:"student"`
}

// Kind names the job in the queue.
func (OverviewJob) Kind() string { return "overview" }

// CardQueue is where cards wait to be made, since each costs a password hash and an
// overview is not to wait for a class.
const CardQueue = "cards"

// CardJob asks for one card of a sheet.
type CardJob struct {
	Club    game.ClubID   `json:"club"`
	Sheet   game.SheetID  `json:"sheet"`
	Student game.PersonID `json:"student"`
}

// Kind names the job in the queue.
func (CardJob) Kind() string { return "card" }

// InsertOpts names the queue.
func (CardJob) InsertOpts() river.InsertOpts { return river.InsertOpts{Queue: CardQueue} }

// jobs puts jobs into the queue; package work carries them out.
type jobs struct{ client *river.Client[pgx.Tx] }

func newJobs() (jobs, error) {
	client, err := river.NewClient(riverpgxv5.New(nil), &river.Config{Schema: JobSchema})
	if err != nil {
		return jobs{}, fmt.Errorf("job queue: %w", err)
	}
	return jobs{client}, nil
}

// put adds a job that is there if the transaction is committed.
func (j jobs) put(ctx context.Context, tx pgx.Tx, job river.JobArgs) error {
	if _, err := j.client.InsertTx(ctx, tx, job, nil); err != nil {
		return fmt.Errorf("put a job of kind %s: %w", job.Kind(), err)
	}
	return nil
}
