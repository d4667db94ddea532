package practice

import "sync/atomic"

// memory is what lies behind a list that only grows. States that come from one another
// share it, so that an act costs the same at the end of a long game as at its
// beginning: the first that adds to a list writes behind its end, and whoever adds
// something else to the same list copies it. What is written is never changed.
type memory[T any] struct {
	all  []T
	used atomic.Int64
}

// grow adds an item to a list of the memory m, nil at first.
func grow[T any](list []T, m *memory[T], item T) ([]T, *memory[T]) {
	n := len(list)
	if m == nil || n == len(m.all) || !m.used.CompareAndSwap(int64(n), int64(n)+1) {
		m = &memory[T]{all: make([]T, max(4, 2*n))}
		m.used.Store(int64(n) + 1)
		copy(m.all, list)
	}
	m.all[n] = item
	return m.all[: n+1 : n+1], m
}
