package solver

import (
	"context"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
)

// ErrNoTable is returned, wrapped with the name asked for, for a name that is no
// ending of three or four men. A Position holds no more, so it always has tables.
var ErrNoTable = errors.New("there is no table for this ending: " +
	"name one of three or four men, the stronger side first, such as KQKR")

// ErrNoRegions is returned, wrapped with the name of the ending, where regions
// and pars are asked for but the ending has none.
var ErrNoRegions = errors.New("this ending has no shut-out regions: only KQK, KRK, KRRK, KBBK and KBNK have")

// ErrPosition is returned for a position without one king each, with more
// than MaxMen men, with a man off the board or a pawn on the first or last row.
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

// plans lists the endings with shut-out regions, in the order of their need.
var plans = []material{
	{attack: [2]Kind{Rook}}, {attack: [2]Kind{Bishop, Knight}}, {attack: [2]Kind{Rook, Rook}},
	{attack: [2]Kind{Bishop, Bishop}}, {attack: [2]Kind{Queen}},
}

// DefaultLimit is the memory in bytes up to which tables are kept unless
// [Limit] says otherwise.
const DefaultLimit = 256 << 20

// Tables computes tables on demand and keeps them up to a limit of memory. One
// request is worked on at a time, with all cores. It is safe for concurrent use.
type Tables struct {
	limit int64
	slots [materials]shelf
	now   atomic.Uint32 // counts builds, to tell what was used lately

	lane chan struct{} // holds the request that builds

	mu       sync.Mutex
	jobs     map[material]*job
	kept     int64 // bytes of the tables on the shelves
	progress Progress
}

// Progress says how far the request that is being worked on has got: so many
// tables built of those that it needed. Ending, named with the winner first, is
// the one under way; it is empty when nothing is.
type Progress struct {
	Ending        string
	Built, Wanted int
}

// shelf is the place of one table.
type shelf struct {
	table atomic.Pointer[table]
	used  atomic.Uint32 // the count of builds when it was last used
}

// job is a request to build a table; table is set when done is closed.
type job struct {
	done  chan struct{}
	table *table
}

// Option changes how Tables works.
type Option func(*Tables)

// Limit sets the memory in bytes up to which tables are kept. Above it the
// tables that have not been used for longest are dropped, and built again when
// they are needed; those with stages stay. A build needs some memory besides.
func Limit(bytes int64) Option { return func(t *Tables) { t.limit = bytes } }

// NewTables returns an empty set of tables.
func NewTables(options ...Option) *Tables {
	t := &Tables{limit: DefaultLimit, lane: make(chan struct{}, 1), jobs: map[material]*job{}}
	for _, o := range options {
		o(t)
	}
	for _, m := range []material{{}, {attack: [2]Kind{Bishop}}, {attack: [2]Kind{Knight}}} {
		t.slots[m.code()].table.Store(&table{}) // nothing to win
	}
	return t
}

// Basic builds the tables of the five basic mates with regions and pars, or
// waits until they are built. It returns the context's cause if that ends
// first; the work goes on and is kept.
func (t *Tables) Basic(ctx context.Context) error {
	if t.hasBasic() {
		return nil
	}
	done := make(chan struct{})
	go func() {
		defer close(done)
		t.buildBasic()
	}()
	select {
	case <-done:
		return nil
	case <-ctx.Done():
		return fmt.Errorf("waiting for the basic mates: %w", context.Cause(ctx))
	}
}

func (t *Tables) hasBasic() bool {
	for _, m := range plans {
		if t.slots[m.code()].table.Load() == nil {
			return false
		}
	}
	return true
}

// buildBasic is one request for all five, worked on side by side.
func (t *Tables) buildBasic() {
	t.lane <- struct{}{}
	defer func() { <-t.lane }()
	t.report(Progress{Wanted: len(plans)})
	defer t.report(Progress{})
	t.ensure(plans[0]) // rook against king, to which others lead
	var work sync.WaitGroup
	for _, m := range plans[1:] {
		work.Go(func() { t.ensure(m) })
	}
	work.Wait()
}

// begin asks for a table unless that has been done.
func (t *Tables) begin(m material) *job {
	t.mu.Lock()
	defer t.mu.Unlock()
	if j := t.jobs[m]; j != nil {
		return j
	}
	j := &job{done: make(chan struct{})}
	t.jobs[m] = j
	go func() {
		t.lane <- struct{}{}
		t.want(m)
		j.table = t.ensure(m)
		t.report(Progress{})
		<-t.lane
		t.mu.Lock()
		delete(t.jobs, m)
		t.mu.Unlock()
		close(j.done)
	}()
	return j
}

// wait returns a table, building it if need be.
func (t *Tables) wait(ctx context.Context, m material) (*table, error) {
	j := t.begin(m)
	select {
	case <-j.done:
		return j.table, nil
	case <-ctx.Done():
		return nil, fmt.Errorf("waiting for the table of %s: %w", m.name(), context.Cause(ctx))
	}
}

// ensure returns a table, building it and what it leads to if need be.
func (t *Tables) ensure(m material) *table {
	shelf := &t.slots[m.code()]
	if have := shelf.table.Load(); have != nil {
		shelf.used.Store(t.now.Load())
		return have
	}
	next := map[material]*table{}
	for _, lead := range m.leads() {
		if next[lead] == nil {
			next[lead] = t.ensure(lead)
		}
	}
	t.under(m)
	made := build(m, func(lead material) *table { return next[lead] }, hasPlan(m))
	t.put(m, made)
	return made
}

// want counts the tables that a request needs and that are not there.
func (t *Tables) want(m material) {
	missing := map[material]bool{}
	var visit func(material)
	visit = func(m material) {
		if missing[m] || t.slots[m.code()].table.Load() != nil {
			return
		}
		missing[m] = true
		for _, lead := range m.leads() {
			visit(lead)
		}
	}
	visit(m)
	t.report(Progress{Wanted: len(missing)})
}

func (t *Tables) report(p Progress) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.progress = p
}

// under notes which table is being built.
func (t *Tables) under(m material) {
	t.mu.Lock()
	defer t.mu.Unlock()
	t.progress.Ending = m.name()
}

// Progress reports on the request that is being worked on.
func (t *Tables) Progress() Progress {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.progress
}

// put keeps a table and drops others above the limit.
func (t *Tables) put(m material, made *table) {
	t.mu.Lock()
	defer t.mu.Unlock()
	shelf := &t.slots[m.code()]
	shelf.used.Store(t.now.Add(1))
	shelf.table.Store(made)
	t.kept += made.bytes()
	t.progress.Built++
	for t.kept > t.limit && t.dropOldest(shelf) {
	}
}

// dropOldest drops the table unused for longest; false if there is none but
// the given one and those with stages.
func (t *Tables) dropOldest(but *shelf) bool {
	var oldest *shelf
	for i := range t.slots {
		s := &t.slots[i]
		have := s.table.Load()
		if s == but || have == nil || have.par[0] != nil || have.bytes() == 0 {
			continue
		}
		if oldest == nil || s.used.Load() < oldest.used.Load() {
			oldest = s
		}
	}
	if oldest == nil {
		return false
	}
	t.kept -= oldest.table.Swap(nil).bytes()
	return true
}
