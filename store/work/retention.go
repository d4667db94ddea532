package work

import (
	"context"
	"time"

	"drover/store"

	"github.com/riverqueue/river"
)

// How often what is old is forgotten, and how much of a job's time that may take: the rest has
// its turn the next time.
const (
	retentionEvery = time.Hour
	retentionTime  = jobLimit / 2
)

// retentionJob asks for what clubs keep no longer to be deleted.
type retentionJob struct{}

// Kind names the job in the queue.
func (retentionJob) Kind() string { return "retention" }

type retention struct {
	river.WorkerDefaults[retentionJob]
	store *store.Store
}

// Work deletes a little at a time. What another node deletes at the same instant is passed
// over, so it matters neither how often nor where the job is done.
func (w *retention) Work(ctx context.Context, _ *river.Job[retentionJob]) error {
	if err := w.store.ForgetLetters(ctx); err != nil {
		return err
	}
	return bitByBit(ctx, w.store.ForgetOld)
}

// bitByBit does a little again and again until there is no more of it or the time is over.
func bitByBit(ctx context.Context, some func(context.Context) (more bool, err error)) error {
	for until := time.Now().Add(retentionTime); time.Now().Before(until); {
		if more, err := some(ctx); err != nil || !more {
			return err
		}
	}
	return nil
}

// every is a job that one node puts into the queue at intervals, and at once.
func every(pause time.Duration, job river.JobArgs) *river.PeriodicJob {
	return river.NewPeriodicJob(river.PeriodicInterval(pause), func() (river.JobArgs, *river.InsertOpts) { return job, nil },
		&river.PeriodicJobOpts{RunOnStart: true})
}
