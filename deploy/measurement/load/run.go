package load

import (
	"context"
	"errors"
	"slices"
	"sync"
	"time"
)

// Report is what a run came to.
type Report struct {
	Took    time.Duration
	Acks    []time.Duration // how long each acknowledgement took, sorted
	Refused int             // commands that the server did not carry out
	Late    time.Duration   // 99 % of the moves of a paced run were sent no later than this after their time
	Err     error           // the first failure or refusal; the game that met it was given up

	late []time.Duration
}

// PerSecond is the rate of acknowledged moves.
func (r *Report) PerSecond() float64 { return float64(len(r.Acks)) / r.Took.Seconds() }

// Ack is the time within which a share of the moves was acknowledged.
func (r *Report) Ack(share float64) time.Duration { return Quantile(r.Acks, share) }

// Sorted puts times in order.
func Sorted(all []time.Duration) []time.Duration {
	slices.Sort(all)
	return all
}

// Quantile is the time within which a share of sorted times lies; 0 if there are none.
func Quantile(sorted []time.Duration, share float64) time.Duration {
	if len(sorted) == 0 {
		return 0
	}
	return sorted[min(int(share*float64(len(sorted))), len(sorted)-1)]
}

// log is what the lanes of a run write to.
type log struct {
	mu sync.Mutex
	Report
}

func (l *log) acked(took time.Duration) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.Acks = append(l.Acks, took)
}

func (l *log) sentLate(by time.Duration) {
	l.mu.Lock()
	defer l.mu.Unlock()
	l.late = append(l.late, by)
}

func (l *log) failed(err error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if errors.As(err, &Refused{}) {
		l.Refused++
	}
	if l.Err == nil {
		l.Err = err
	}
}

// report closes the log.
func (l *log) report(began time.Time) *Report {
	l.Took = time.Since(began)
	Sorted(l.Acks)
	l.Late = Quantile(Sorted(l.late), 0.99)
	return &l.Report
}

// Rush plays games as fast as they go, so many at once. Of each game it makes so many
// moves, or all that are left where most is 0, and leaves the board when none is left; it
// ends when no game is left, or after a time that is not 0.
func Rush(ctx context.Context, plays []*Play, lanes, most int, limit time.Duration) *Report {
	if limit > 0 {
		var cancel context.CancelFunc
		ctx, cancel = context.WithTimeout(ctx, limit)
		defer cancel()
	}
	var l log
	began := time.Now()
	each(lanes, plays, func(p *Play) {
		n := p.Left()
		if most > 0 {
			n = min(n, most)
		}
		for ; n > 0 && ctx.Err() == nil; n-- {
			sent := time.Now()
			if err := p.Move(); err != nil {
				l.failed(err)
				return
			}
			l.acked(time.Since(sent))
		}
		if p.Left() == 0 {
			p.Close() // an open board costs the server a little
		}
	})
	return l.report(began)
}

// Pace makes a move in each game each so often, for a time. The games' moves are spread
// evenly. A move that comes due while the one before it waits for its acknowledgement
// counts its time from when it was due.
func Pace(ctx context.Context, plays []*Play, every, limit time.Duration) *Report {
	var l log
	var lanes sync.WaitGroup
	began := time.Now()
	for i, p := range plays {
		first := began.Add(every * time.Duration(i) / time.Duration(len(plays)))
		lanes.Go(func() { p.pace(ctx, &l, first, began.Add(limit), every) })
	}
	lanes.Wait()
	return l.report(began)
}

func (p *Play) pace(ctx context.Context, l *log, due, end time.Time, every time.Duration) {
	timer := time.NewTimer(time.Until(due))
	defer timer.Stop()
	for ; due.Before(end) && p.Left() > 0; due = due.Add(every) {
		since := due
		if wait := time.Until(due); wait > 0 {
			timer.Reset(wait)
			select {
			case <-timer.C:
			case <-ctx.Done():
				return
			}
			since = time.Now()
			l.sentLate(since.Sub(due))
		}
		if err := p.Move(); err != nil {
			l.failed(err)
			return
		}
		l.acked(time.Since(since))
	}
}

// each does something with every item, so many at once.
func each[T any](lanes int, items []T, do func(T)) {
	queue := make(chan T)
	var workers sync.WaitGroup
	for range min(lanes, len(items)) {
		workers.Go(func() {
			for item := range queue {
				do(item)
			}
		})
	}
	for _, item := range items {
		queue <- item
	}
	close(queue)
	workers.Wait()
}
