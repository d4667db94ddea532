//go:build race

package solver

// racing is whether the race detector is on, which makes everything ten times
// slower.
const racing = true
