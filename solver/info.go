package solver

import (
	"context"
	"time"
)

// Info is what is known of an ending's tables.
type Info struct {
	Ending  string
	Ready   bool          // its tables are there, or it needs none
	Staged  bool          // it has regions and pars
	Bytes   int64         // memory of the tables, or what they take at most before they are built
	Longest int           // the longest win in moves, the first-named side to move and winning; 0 before the build
	Legal   int           // legal positions with either side to move, counted as in Distribution; 0 before the build
	Took    time.Duration // time to build its own tables, without those that they lead to
}

// Info tells what is known of an ending named as [Endings] does; the error is
// ErrNoTable.
func (t *Tables) Info(ending string) (Info, error) {
	m, err := named(ending)
	if err != nil {
		return Info{}, err
	}
	info := newInfo(m)
	for _, w := range m.winners() {
		have := t.slots[w.code()].table.Load()
		if have == nil {
			info.Ready = false
			info.Bytes += size(w)
			continue
		}
		info.add(have, w == m)
	}
	return info, nil
}

// newInfo is what is known of an ending that needs no table.
func newInfo(m material) Info {
	info := Info{Ending: m.name(), Ready: true, Staged: hasPlan(m)}
	if m.hopeless() {
		info.Legal = newStart(newLayout(m), 1).positions()
	}
	return info
}

func (i *Info) add(have *table, first bool) {
	i.Bytes += have.bytes()
	i.Took += have.took
	if first {
		i.Longest, i.Legal = have.longest, have.legal
	}
}

// size is the memory of a table before it is built.
func size(m material) int64 {
	n := int64(newLayout(m).placements()) * 64 * 2
	if hasPlan(m) {
		n *= 1 + regions
	}
	return n
}

// working is the memory in bytes that a build takes besides its table, for each
// placement: the words of a pass and of its start, and the lists of captures.
const working = 160

// Need is the memory in bytes that building the endings takes at most, with all
// that they lead to, besides what is kept already and the program itself.
func (t *Tables) Need(endings ...string) (bytes int64, err error) {
	var largest int64
	seen := map[material]bool{}
	var visit func(material)
	visit = func(m material) {
		if seen[m] || t.slots[m.code()].table.Load() != nil {
			return
		}
		seen[m] = true
		bytes += size(m)
		largest = max(largest, int64(newLayout(m).placements())*working)
		for _, lead := range m.leads() {
			visit(lead)
		}
	}
	for _, ending := range endings {
		m, err := named(ending)
		if err != nil {
			return 0, err
		}
		for _, w := range m.winners() {
			visit(w)
		}
	}
	return min(bytes, t.limit) + largest, nil
}

// Build builds the tables of an ending, or waits until they are built. The
// error is ErrNoTable or the context's cause; the work then goes on.
func (t *Tables) Build(ctx context.Context, ending string) (Info, error) {
	m, err := named(ending)
	if err != nil {
		return Info{}, err
	}
	info := newInfo(m)
	for _, w := range m.winners() {
		have := t.slots[w.code()].table.Load()
		if have == nil {
			if have, err = t.wait(ctx, w); err != nil {
				return Info{}, err
			}
		}
		info.add(have, w == m)
	}
	return info, nil
}

// Kept is the memory in bytes of the tables that are kept.
func (t *Tables) Kept() int64 {
	t.mu.Lock()
	defer t.mu.Unlock()
	return t.kept
}

// Distribution counts the legal positions of an ending with one side to move,
// over all placements on 64 squares, like men not told apart, without a square
// for taking in passing. Win and Loss are for the side to move: plies to mate ->
// positions.
type Distribution struct {
	Legal, Draw int
	Win, Loss   map[int]int
}

// Histogram counts an ending's positions, first with the first-named side to
// move, then with the other. Errors are those of Build.
func (t *Tables) Histogram(ctx context.Context, ending string) (count [2]Distribution, err error) {
	m, err := named(ending)
	if err != nil {
		return count, err
	}
	h := histogram{layout: newLayout(m)}
	if h.first, err = t.table(ctx, m); err != nil {
		return count, err
	}
	if m.defend != King {
		if h.second, err = t.table(ctx, m.reversed()); err != nil {
			return count, err
		}
	}
	for i := range count {
		h.Distribution = Distribution{Win: map[int]int{}, Loss: map[int]int{}}
		h.all(i == 0)
		count[i] = h.Distribution
	}
	return count, nil
}

// histogram counts positions of which the first-named side is White.
type histogram struct {
	Distribution
	*layout
	first, second *table // the wins of either side, nil if it has none
}

func (h *histogram) all(whiteToMove bool) {
	for at := range h.placements() {
		king, men := h.squares(at)
		legal := h.legalDefend(king, men)
		if whiteToMove {
			legal = h.legalAttack(king, men)
		}
		weight := h.weight(king)
		for ; legal != 0; legal &= legal - 1 {
			h.add(weight, h.value(at<<6, king, men, legal.first(), whiteToMove))
		}
	}
}

func (h *histogram) add(weight int, v Value) {
	h.Legal += weight
	switch v.Outcome {
	case Win:
		h.Win[v.Plies] += weight
	case Loss:
		h.Loss[v.Plies] += weight
	default:
		h.Draw += weight
	}
}

// value looks a position up in both tables; base is the first one's index of the
// placement.
func (h *histogram) value(base, king int, men [2]Square, lone Square, whiteToMove bool) Value {
	if h.first != nil {
		if v := h.first.mate.value(base|int(lone), whiteToMove); v.Outcome != Draw {
			return v
		}
	}
	if h.second == nil {
		return Value{}
	}
	at := h.second.find(lone^56, [2]Square{men[1] ^ 56, men[0] ^ 56}, h.kings[king]^56)
	return h.second.mate.value(at, !whiteToMove)
}
