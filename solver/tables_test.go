package solver

import (
	"context"
	"errors"
	"strings"
	"sync"
	"testing"
)

// tableOf returns the shared table of an ending such as "KBNK".
func tableOf(t testing.TB, name string) *table {
	t.Helper()
	table, err := shared().wait(context.Background(), materialOf(name))
	if err != nil {
		t.Fatal(err)
	}
	return table
}

// Many callers of one ending get one build.
func TestBuildsOnce(t *testing.T) {
	t.Parallel()
	tables := NewTables()
	var wg sync.WaitGroup
	got := make([]*table, 16)
	for i := range got {
		wg.Go(func() { got[i], _ = tables.wait(context.Background(), materialOf("KQK")) })
	}
	wg.Wait()
	for _, g := range got {
		if g == nil || g != got[0] {
			t.Fatalf("callers got different tables: %v", got)
		}
	}
}

// A caller may give up; the build goes on and is kept.
func TestWaitEnds(t *testing.T) {
	t.Parallel()
	tables := NewTables()
	reason := errors.New("gone home")
	ctx, cancel := context.WithCancelCause(context.Background())
	cancel(reason)
	p := fen(t, "8/8/8/3k4/8/8/8/1B1NK3 w - - 0 1")
	if _, err := tables.Probe(ctx, p); !errors.Is(err, reason) {
		t.Errorf("probe after the context's end: %v", err)
	}
	if v, err := tables.Probe(context.Background(), p); err != nil || v.Outcome != Win {
		t.Errorf("probe later: %+v, %v", v, err)
	}
	if err := NewTables().Basic(ctx); !errors.Is(err, reason) {
		t.Errorf("building the basic mates after the context's end: %v", err)
	}
}

// What cannot be answered is said, with the ending's name.
func TestErrors(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	_, err := shared().Probe(ctx, Position{})
	if !errors.Is(err, ErrPosition) {
		t.Errorf("an empty board: %v", err)
	}
	pawn := Position{Count: 3, EnPassant: NoSquare, Men: [MaxMen]Man{{King, White, 4}, {King, Black, 60}, {Pawn, White, 0}}}
	if _, err = shared().Probe(ctx, pawn); !errors.Is(err, ErrPosition) {
		t.Errorf("a pawn on the first row: %v", err)
	}
	_, err = shared().Held(ctx, fen(t, "8/8/4k3/8/4Q3/8/4R3/4K3 b - - 0 1"))
	if !errors.Is(err, ErrNoRegions) || !strings.Contains(err.Error(), "KQRK") {
		t.Errorf("an ending without regions: %v", err)
	}
	if _, _, err = shared().Par(ctx, fen(t, "8/8/4k3/8/8/8/4R3/4K3 b - - 0 1"), 4); err == nil {
		t.Error("region 4 is answered")
	}
	bad := Position{Count: 3, EnPassant: NoSquare, Men: [MaxMen]Man{{King, White, 4}, {King, Black, 60}, {Rook, White, 77}}}
	if _, err = shared().Probe(ctx, bad); !errors.Is(err, ErrPosition) {
		t.Errorf("a man off the board: %v", err)
	}
}

// Lone kings and a lone light man are drawn without a table.
func TestDrawnWithoutTable(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"8/8/4k3/8/8/8/8/4K3 w - - 0 1", "8/8/4k3/8/8/2b5/8/4K3 w - - 0 1", "8/8/4k3/8/8/2N5/8/4K3 b - - 0 1"} {
		tables := NewTables()
		if v, err := tables.Probe(context.Background(), fen(t, text)); err != nil || v != (Value{}) {
			t.Errorf("%s: %+v, %v", text, v, err)
		}
	}
}

// A probe and the moves of a position allocate nothing.
func TestNoAllocation(t *testing.T) {
	tables := shared()
	p := fen(t, "8/8/3k4/8/8/3K4/8/2B2N2 w - - 0 1")
	buf := make([]Move, 0, 64)
	ctx := context.Background()
	if n := testing.AllocsPerRun(100, func() {
		for _, m := range p.Moves(buf) {
			if _, err := tables.Probe(ctx, p.Play(m)); err != nil {
				t.Error(err)
			}
		}
		if _, err := tables.Held(ctx, p); err != nil {
			t.Error(err)
		}
	}); n != 0 {
		t.Errorf("%v allocations", n)
	}
}
