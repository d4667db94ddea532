//go:build !race

package solver

const racing = false
