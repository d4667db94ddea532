package load

import (
	"context"
	"errors"
	"sync"
	"sync/atomic"
)

// atOnce is how many sign-ins and boards are opened at a time.
const atOnce = 16

// Seat is a person at a board.
type Seat struct {
	Person Person
	Game   Game
}

// SignInAll signs in with many links.
func (s *Site) SignInAll(ctx context.Context, tokens []string) ([]Person, error) {
	people := make([]Person, len(tokens))
	failed := make([]error, len(tokens))
	index := make([]int, len(tokens))
	for i := range index {
		index[i] = i
	}
	each(atOnce, index, func(i int) { people[i], failed[i] = s.SignIn(ctx, tokens[i]) })
	return people, errors.Join(failed...)
}

// JoinAll opens many boards; if one does not open, none stays open.
func (s *Site) JoinAll(ctx context.Context, seats []Seat) ([]*Play, error) {
	plays := make([]*Play, len(seats))
	failed := make([]error, len(seats))
	index := make([]int, len(seats))
	for i := range index {
		index[i] = i
	}
	each(atOnce, index, func(i int) { plays[i], failed[i] = s.Join(ctx, seats[i].Person, seats[i].Game) })
	if err := errors.Join(failed...); err != nil {
		for _, p := range plays {
			if p != nil {
				p.Close()
			}
		}
		return nil, err
	}
	return plays, nil
}

// Idle are open boards on which nobody moves.
type Idle struct {
	plays   []*Play
	readers sync.WaitGroup
	lost    atomic.Int64
	closing atomic.Bool
}

// Rest keeps boards open without a move: pings are answered, and nothing else happens.
func Rest(plays []*Play) *Idle {
	idle := &Idle{plays: plays}
	for _, p := range plays {
		idle.readers.Go(func() {
			for p.rest() == nil {
			}
			if !idle.closing.Load() {
				idle.lost.Add(1)
			}
		})
	}
	return idle
}

// Lost is how many boards the server has closed.
func (i *Idle) Lost() int { return int(i.lost.Load()) }

// Close leaves all boards.
func (i *Idle) Close() {
	i.closing.Store(true)
	for _, p := range i.plays {
		p.Close()
	}
	i.readers.Wait()
}
