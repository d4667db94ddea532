package main

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"time"

	"drover/deploy/measurement/load"
)

// every is how often a child moves.
const every = 3 * time.Second

// acks measures how long children wait, alone and while coaches read the stage view.
func acks(ctx context.Context, w *world) error {
	if err := w.start(ctx); err != nil {
		return err
	}
	plays, err := w.seats(ctx, 0, w.games, 1)
	if err != nil {
		return err
	}
	defer leave(plays)
	limit := time.Duration(w.seconds) * time.Second
	if err := w.wait(ctx, plays, limit, 50*time.Millisecond, ""); err != nil {
		return err
	}
	busy, err := w.coaches(ctx)
	if err != nil {
		return err
	}
	err = w.wait(ctx, plays, limit, 100*time.Millisecond, ", while six coaches reload the stage view")
	loads, failed := busy.stop()
	w.table.add("the stage view, loaded by six coaches meanwhile", "%d times, half within %.0f ms, 99 %% within %.0f ms",
		len(loads), ms(load.Quantile(loads, 0.5)), ms(load.Quantile(loads, 0.99)))
	return errors.Join(err, failed)
}

// wait measures the acknowledgements of paced games.
func (w *world) wait(ctx context.Context, plays []*load.Play, limit, goal time.Duration, also string) error {
	var r *load.Report
	m, err := w.spent(func() error {
		r = load.Pace(ctx, plays, every, limit)
		return errors.Join(r.Err, ctx.Err())
	})
	if err != nil {
		return err
	}
	what := "acknowledgement with %d games, a move in each every 3 s for %.0f s%s"
	w.table.judge(r.Ack(0.99) < goal, fmt.Sprintf("99 %% < %.0f ms", ms(goal)),
		fmt.Sprintf(what, len(plays), limit.Seconds(), also),
		"half within %.1f ms, 99 %% within %.1f ms (%d moves, 99 %% of them sent no more than %.1f ms late; %s)",
		ms(r.Ack(0.5)), ms(r.Ack(0.99)), len(r.Acks), ms(r.Late), m)
	return nil
}

// readers are six coaches who load the stage view, each again as soon as it has come.
type readers struct {
	cancel context.CancelFunc
	people sync.WaitGroup

	mu     sync.Mutex
	loads  []time.Duration
	failed error
}

// coaches lets them begin.
func (w *world) coaches(ctx context.Context) (*readers, error) {
	ctx, cancel := context.WithCancel(ctx)
	r := &readers{cancel: cancel}
	for _, link := range w.club.coaches {
		coach, err := w.site.SignIn(ctx, string(link))
		if err != nil {
			cancel()
			return nil, err //nolint:wrapcheck // it says what did not work
		}
		r.people.Go(func() {
			for ctx.Err() == nil {
				began := time.Now()
				_, err := w.site.Get(ctx, coach, "/stages", true)
				r.note(ctx, time.Since(began), err)
			}
		})
	}
	return r, nil
}

func (r *readers) note(ctx context.Context, took time.Duration, err error) {
	r.mu.Lock()
	defer r.mu.Unlock()
	switch {
	case ctx.Err() != nil: // it was cut short
	case err != nil:
		r.failed = err
		r.cancel()
	default:
		r.loads = append(r.loads, took)
	}
}

// stop ends it, and gives how long each load took.
func (r *readers) stop() ([]time.Duration, error) {
	r.cancel()
	r.people.Wait()
	return load.Sorted(r.loads), r.failed
}
