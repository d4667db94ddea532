package game

import (
	"context"
	"fmt"
)

// Queue lets a few callers do something costly at the same time, while a few
// more wait for their turn.
type Queue struct {
	run, wait chan struct{}
	crowd     string // what those are told for whom there is no place
}

// NewQueue makes a queue in which run callers work at once and wait more may
// wait; crowd is the sentence for everybody else.
func NewQueue(run, wait int, crowd string) *Queue {
	return &Queue{run: make(chan struct{}, run), wait: make(chan struct{}, wait), crowd: crowd}
}

// Enter waits for a turn, or until the context ends; leave gives the turn up.
// If too many wait already, the error is of kind Busy at once.
func (q *Queue) Enter(ctx context.Context) (leave func(), err error) {
	leave = func() { <-q.run }
	select {
	case q.run <- struct{}{}:
		return leave, nil
	default:
	}
	select {
	case q.wait <- struct{}{}:
	default:
		return nil, Fail(Busy, q.crowd)
	}
	defer func() { <-q.wait }()
	select {
	case q.run <- struct{}{}:
		return leave, nil
	case <-ctx.Done():
		return nil, fmt.Errorf("wait for a turn: %w", ctx.Err())
	}
}

// Waiting is how many wait.
func (q *Queue) Waiting() int { return len(q.wait) }

// Fill takes all places, as a crowd would, until release; for tests.
func (q *Queue) Fill() (release func()) {
	for range cap(q.run) {
		q.run <- struct{}{}
	}
	for range cap(q.wait) {
		q.wait <- struct{}{}
	}
	return func() {
		for range cap(q.wait) {
			<-q.wait
		}
		for range cap(q.run) {
			<-q.run
		}
	}
}
