// Package work carries out the jobs that package store puts into the queue: what
// follows from a change and need not be done before its answer. A job is done at
// least once, so each works from the rows as they stand, and neither their order nor
// their number matters.
package work

import (
	"context"
	"fmt"
	"log/slog"
	"sync/atomic"
	"time"

	"drover/store"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
)

// How the queue is worked off. A job that a killed node had begun is taken up again
// well within a minute.
const (
	atOnce       = 2
	connections  = 3
	jobLimit     = 5 * time.Second
	rescueAfter  = 15 * time.Second
	keptFor      = 24 * time.Hour // what is done; what failed for good is kept as long, for whoever reads the log
	refreshEvery = 10 * time.Minute
	mostRefresh  = 1000
	cardRetry    = 2 * time.Second
)

// Crew works off the queue on one node.
type Crew struct {
	client   *river.Client[pgx.Tx]
	pool     *pgxpool.Pool
	stopping *atomic.Bool
}

// Start begins to work over connections of its own to the database at url. Failures
// go to the log. With a post it sends mail, too.
func Start(ctx context.Context, url string, s *store.Store, log *slog.Logger, post ...Post) (*Crew, error) {
	cfg, err := pgxpool.ParseConfig(url)
	if err != nil {
		return nil, fmt.Errorf("database address: %w", err)
	}
	cfg.MaxConns = connections
	pool, err := pgxpool.NewWithConfig(ctx, cfg)
	if err != nil {
		return nil, fmt.Errorf("connect: %w", err)
	}
	stopping := &atomic.Bool{}
	with := settings(s, slog.New(quiet{log.Handler(), stopping}))
	for _, p := range post {
		if p.On() {
			sendMail(with, s, p)
		}
	}
	client, err := river.NewClient(riverpgxv5.New(pool), with)
	if err == nil {
		err = client.Start(context.WithoutCancel(ctx))
	}
	if err != nil {
		pool.Close()
		return nil, fmt.Errorf("work off jobs: %w", err)
	}
	return &Crew{client, pool, stopping}, nil
}

func settings(s *store.Store, log *slog.Logger) *river.Config {
	workers := river.NewWorkers()
	river.AddWorker(workers, &overview{store: s})
	river.AddWorker(workers, &refresh{store: s})
	river.AddWorker(workers, &card{store: s})
	river.AddWorker(workers, &retention{store: s})
	river.AddWorker(workers, &exporter{store: s})
	river.AddWorker(workers, &erasure{store: s})
	return &river.Config{
		Schema: store.JobSchema, Workers: workers, Logger: log,
		Queues:     map[string]river.QueueConfig{river.QueueDefault: {MaxWorkers: atOnce}, store.CardQueue: {MaxWorkers: 1}},
		JobTimeout: jobLimit, RescueStuckJobsAfter: rescueAfter,
		CompletedJobRetentionPeriod: keptFor, CancelledJobRetentionPeriod: keptFor, DiscardedJobRetentionPeriod: keptFor,
		ReindexerSchedule: river.NeverSchedule(), // the indexes are the owner's
		PeriodicJobs: []*river.PeriodicJob{every(refreshEvery, refreshJob{}), every(retentionEvery, retentionJob{}),
			every(eraseEvery, erasureJob{})},
	}
}

// sendMail adds the queue of mail.
func sendMail(with *river.Config, s *store.Store, p Post) {
	river.AddWorker(with.Workers, &mailRound{store: s})
	river.AddWorker(with.Workers, &letter{store: s, post: p, log: with.Logger})
	with.Queues[store.MailQueue] = river.QueueConfig{MaxWorkers: atOnce}
	with.PeriodicJobs = append(with.PeriodicJobs, every(roundEvery, mailRoundJob{}))
}

// Stop lets the jobs that are under way end, until the context ends.
func (c *Crew) Stop(ctx context.Context) error {
	c.stopping.Store(true)
	err := c.client.Stop(ctx)
	closed := make(chan struct{})
	go func() { defer close(closed); c.pool.Close() }()
	select {
	case <-closed:
	case <-ctx.Done(): // a connection that does not come back
	}
	if err != nil {
		return fmt.Errorf("stop working off jobs: %w", err)
	}
	return nil
}

// overview works out what the stage view says of a student.
type overview struct {
	river.WorkerDefaults[store.OverviewJob]
	store *store.Store
}

// Work does the job and notes in the same transaction that it is done.
func (w *overview) Work(ctx context.Context, job *river.Job[store.OverviewJob]) error {
	return w.store.RefreshOverview(ctx, job.Args.Club, job.Args.Student, func(tx pgx.Tx) error {
		_, err := river.JobCompleteTx[*riverpgxv5.Driver](ctx, tx, job)
		return err
	})
}

// refreshJob asks for the overviews that have grown old, or were never worked out.
type refreshJob struct{}

// Kind names the job in the queue.
func (refreshJob) Kind() string { return "refresh" }

type refresh struct {
	river.WorkerDefaults[refreshJob]
	store *store.Store
}

// Work puts a job for each old overview into the queue.
func (w *refresh) Work(ctx context.Context, _ *river.Job[refreshJob]) error {
	old, err := w.store.OldOverviews(ctx, mostRefresh)
	if err != nil || len(old) == 0 {
		return err
	}
	jobs := make([]river.InsertManyParams, len(old))
	for i, o := range old {
		jobs[i] = river.InsertManyParams{Args: o}
	}
	if _, err := river.ClientFromContext[pgx.Tx](ctx).InsertMany(ctx, jobs); err != nil {
		return fmt.Errorf("put jobs for old overviews: %w", err)
	}
	return nil
}

// card makes one card of a sheet.
type card struct {
	river.WorkerDefaults[store.CardJob]
	store *store.Store
}

// Work does the job and notes in the same transaction that it is done.
func (w *card) Work(ctx context.Context, job *river.Job[store.CardJob]) error {
	return w.store.MakeSheetCard(ctx, job.Args.Club, job.Args.Sheet, job.Args.Student, func(tx pgx.Tx) error {
		_, err := river.JobCompleteTx[*riverpgxv5.Driver](ctx, tx, job)
		return err
	})
}

// NextRetry tries again soon: a coach waits beside the printer.
func (w *card) NextRetry(*river.Job[store.CardJob]) time.Time { return time.Now().Add(cardRetry) }

// quiet passes on warnings and errors alone, and nothing while the crew stops: what is
// cut short then is done again.
type quiet struct {
	slog.Handler
	stopping *atomic.Bool
}

// Enabled says which records are passed on.
func (q quiet) Enabled(ctx context.Context, level slog.Level) bool {
	return level >= slog.LevelWarn && !q.stopping.Load() && q.Handler.Enabled(ctx, level)
}
