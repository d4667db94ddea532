package main

import (
	"math"
	"os"
	"runtime/debug"
	"testing"

	"github.com/KimMachineGun/automemlimit/memlimit"
)

// TestMemoryLimit: the program leaves memory to Postgres, but never less to itself than
// its tables need.
func TestMemoryLimit(t *testing.T) { //nolint:paralleltest // the limit is the whole program's
	if os.Getenv("GOMEMLIMIT") != "" {
		t.Skip("GOMEMLIMIT is set, and comes first")
	}
	was := debug.SetMemoryLimit(-1)
	defer debug.SetMemoryLimit(was)
	all, err := memlimit.FromSystem()
	if err != nil {
		t.Fatal(err)
	}
	got, err := memlimit.Set(memory(0)...)
	if err != nil || got < besideTables || uint64(got) > max(all*4/10+1, besideTables) {
		t.Errorf("of %d bytes the program takes up to %d (%v)", all, got, err)
	}
	const tables = math.MaxInt64 / 4
	if got, err := memlimit.Set(memory(tables)...); err != nil || got != tables+besideTables {
		t.Errorf("with large tables the limit is %d (%v)", got, err)
	}
}
