package game

import (
	"context"
	"fmt"
)

// Queue lets a few do something costly at once; a few more wait for their turn.
type Queue struct {
	run, wait chan struct{}
	crowd     string // what those are told for whom there is no place
}

// NewQueue makes a queue in which so many run at once and so many more wait; crowd is
// the sentence for everybody else.
func NewQueue(run, wait int, crowd string) *Queue {
	return &Queue{run: make(chan struct{}, run), wait: make(chan struct{}, wait), crowd: crowd}
}

// Enter waits for a turn, for as long as somebody waits for the answer; leave ends
// it. Where too many wait already the answer is of kind Busy at once.
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
