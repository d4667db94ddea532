//go:build !race

package live_test

const tracked = 1
