//go:build race

package live_test

// tracked is how many times more a program allocates under the race detector, at most.
const tracked = 3
