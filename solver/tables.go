package solver

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
)

// ErrNoTable is returned, wrapped with the name of the ending, for an ending
// that the package cannot solve yet.
var ErrNoTable = errors.New("there is no table for this ending yet")

// ErrNoRegions is returned, wrapped with the name of the ending, where regions
// and pars are asked for but the ending has no stages.
var ErrNoRegions = errors.New("this ending has no stages: only KQK, KRK, KRRK, KBBK and KBNK have")

// ErrPosition is returned for a position without one king each, with more
// than MaxMen men or with a man off the board.
var ErrPosition = errors.New("this is no position of two kings and up to two other men")

// Outcome is the result of best play by both sides.
type Outcome int8

// The outcomes, for the side to move.
const (
	Loss Outcome = iota - 1
	Draw
	Win
)

// Value is the worth of a position for the side to move. Plies is the number of
// single moves to mate with best play by both: 0 in a draw, and 0 with Loss
// when the side to move is mated.
type Value struct {
	Outcome Outcome
	Plies   int
}

// codes is the number of materials of one side; see side.code.
const codes = 6 * 6

// plans lists the endings with shut-out regions, in the order of their need.
var plans = [][]Kind{{Rook}, {Bishop, Knight}, {Rook, Rook}, {Bishop, Bishop}, {Queen}}

// Tables computes tables on demand and keeps them. It is safe for concurrent
// use.
type Tables struct {
	ready [codes]atomic.Pointer[table]

	mu     sync.Mutex
	builds [codes]chan struct{} // closed when the table is ready
}

// NewTables returns an empty set of tables.
func NewTables() *Tables { return &Tables{} }

// Basic builds the tables of the five basic mates with regions and pars, or
// waits until they are built. It returns the context's cause if that ends
// first; the work goes on and is kept.
func (t *Tables) Basic(ctx context.Context) error {
	var want [][2]Kind
	for _, kinds := range plans {
		var k [2]Kind
		copy(k[:], kinds)
		want = append(want, k)
		t.begin(k)
	}
	for _, k := range want {
		if _, err := t.wait(ctx, k); err != nil {
			return err
		}
	}
	return nil
}

// material returns the men of a code.
func code(kinds [2]Kind) int { return int(kinds[0])*6 + int(kinds[1]) }

// solvable reports whether the engine can solve the men against a lone king.
func solvable(kinds [2]Kind) bool { return kinds[0] != Pawn && kinds[1] != Pawn }

// hopeless reports whether the men cannot mate a lone king at all.
func hopeless(kinds [2]Kind) bool {
	return kinds[1] == King && (kinds[0] == King || kinds[0] == Bishop || kinds[0] == Knight)
}

// begin starts the build of a table unless that has been done, and returns the
// channel that is closed when the table is ready.
func (t *Tables) begin(kinds [2]Kind) chan struct{} {
	t.mu.Lock()
	defer t.mu.Unlock()
	c := code(kinds)
	if t.builds[c] == nil {
		done := make(chan struct{})
		t.builds[c] = done
		go func() {
			defer close(done)
			t.ready[c].Store(build(trim(kinds), t.smaller(kinds), hasPlan(kinds)))
		}()
	}
	return t.builds[c]
}

// wait returns a table, building it if need be.
func (t *Tables) wait(ctx context.Context, kinds [2]Kind) (*table, error) {
	select {
	case <-t.begin(kinds):
		return t.ready[code(kinds)].Load(), nil
	case <-ctx.Done():
		return nil, fmt.Errorf("waiting for a table: %w", context.Cause(ctx))
	}
}

// smaller returns the tables of the endings in which man 0 or man 1 is gone.
func (t *Tables) smaller(kinds [2]Kind) (s [2]*table) {
	if kinds[1] == King {
		return s
	}
	for i := range s {
		left := [2]Kind{kinds[1-i], King}
		if !hopeless(left) {
			<-t.begin(left)
			s[i] = t.ready[code(left)].Load()
		}
	}
	return s
}

func trim(kinds [2]Kind) []Kind {
	if kinds[1] == King {
		return kinds[:1]
	}
	return kinds[:]
}

func hasPlan(kinds [2]Kind) bool {
	for _, p := range plans {
		if p[0] == kinds[0] && (len(p) == 1) == (kinds[1] == King) && (len(p) == 1 || p[1] == kinds[1]) {
			return true
		}
	}
	return false
}
