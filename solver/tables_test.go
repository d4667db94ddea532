package solver

import (
	"context"
	"errors"
	"math/rand/v2"
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
	pawn := Position{Count: 3, EnPassant: NoSquare, Men: [MaxMen]Man{{King, White, 4}, {King, Black, 60},
		{Pawn, White, 0}}}
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
	bad := Position{Count: 3, EnPassant: NoSquare, Men: [MaxMen]Man{{King, White, 4}, {King, Black, 60},
		{Rook, White, 77}}}
	if _, err = shared().Probe(ctx, bad); !errors.Is(err, ErrPosition) {
		t.Errorf("a man off the board: %v", err)
	}
}

// Lone kings and a lone light man are drawn without a table.
func TestDrawnWithoutTable(t *testing.T) {
	t.Parallel()
	for _, text := range []string{"8/8/4k3/8/8/8/8/4K3 w - - 0 1", "8/8/4k3/8/8/2b5/8/4K3 w - - 0 1",
		"8/8/4k3/8/8/2N5/8/4K3 b - - 0 1"} {
		tables := NewTables()
		if v, err := tables.Probe(context.Background(), fen(t, text)); err != nil || v != (Value{}) {
			t.Errorf("%s: %+v, %v", text, v, err)
		}
	}
}

// A probe and the moves of a position allocate nothing.
func TestNoAllocation(t *testing.T) {
	tables := shared()
	ctx := context.Background()
	buf := make([]Move, 0, 64)
	for _, text := range []string{
		"8/8/3k4/8/8/3K4/8/2B2N2 w - - 0 1", "8/8/8/8/2r5/8/2k5/K6Q w - - 0 1", "7K/k7/8/Pp6/8/8/8/8 w - b6 0 1",
		"8/5k2/2PK4/5r2/8/8/8/8 w - - 0 1",
	} {
		p := fen(t, text)
		staged := hasPlan(materialOf(p.Name()))
		judge := func() {
			_, _ = tables.Probe(ctx, p)
			for _, m := range p.Moves(buf) {
				if _, err := tables.Probe(ctx, p.Play(m)); err != nil {
					t.Error(err)
				}
			}
			if staged {
				_, _ = tables.Held(ctx, p)
			}
			p.Dead()
		}
		judge()
		if n := testing.AllocsPerRun(100, judge); n != 0 {
			t.Errorf("%s: %v allocations", text, n)
		}
	}
}

// Above the limit tables are dropped, the least used first, and built again on
// demand; those with stages stay.
func TestLimit(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	const one = 2 * 10 * 64 * 64 * 64 // the bytes of a table of two unlike men
	tables := NewTables(Limit(3 * one))
	krk := fen(t, "8/8/4k3/8/8/8/4R3/4K3 b - - 0 1")
	want, err := tables.Probe(ctx, krk)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"KQKR", "KRKN", "KRKB", "KQKR"} {
		if _, err := tables.Build(ctx, name); err != nil {
			t.Fatal(err)
		}
		if info, err := tables.Info(name); err != nil || !info.Ready {
			t.Errorf("%s is dropped at once: %+v, %v", name, info, err)
		}
		if kept := tables.Kept(); kept > 3*one {
			t.Errorf("%d bytes are kept after %s, the limit is %d", kept, name, 3*one)
		}
	}
	if info, err := tables.Info("KRKN"); err != nil || info.Ready {
		t.Errorf("KRKN was used longest ago, but is there: %+v, %v", info, err)
	}
	if info, err := tables.Info("KRK"); err != nil || !info.Ready {
		t.Errorf("KRK has stages, but is not there: %+v, %v", info, err)
	}
	if v, err := tables.Probe(ctx, krk); err != nil || v != want {
		t.Errorf("%+v, %v; before %+v", v, err, want)
	}
	if v, err := tables.Probe(ctx, fen(t, "8/2R5/8/8/7k/3K4/8/4n3 w - - 0 1")); err != nil || v != (Value{Win, 79}) {
		t.Errorf("a dropped table built again: %+v, %v", v, err)
	}
}

// Callers of many endings at once, with a limit that drops tables under their
// feet, all get right answers.
func TestLimitUnderLoad(t *testing.T) {
	t.Parallel()
	tables := NewTables(Limit(1 << 20))
	var wg sync.WaitGroup
	for i := range 8 {
		wg.Go(func() {
			r := rand.New(rand.NewPCG(uint64(i), 3))
			for range 5 {
				p := random(r, []string{"KBKN", "KNKN", "KRKR", "KBKB"}[r.IntN(4)])
				if got, err := tables.Probe(context.Background(), p); err != nil || got != probe(t, p) {
					t.Errorf("%s: %+v, %v, want %+v", p.text(), got, err, probe(t, p))
				}
			}
		})
	}
	wg.Wait()
}

// Basic does not wait for another build when its tables are there.
func TestBasicDoesNotQueue(t *testing.T) {
	t.Parallel()
	tables := NewTables()
	if err := tables.Basic(context.Background()); err != nil {
		t.Fatal(err)
	}
	tables.lane <- struct{}{} // another build is under way
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	if err := tables.Basic(ctx); err != nil {
		t.Errorf("the basic mates are there: %v", err)
	}
	if _, err := tables.Build(ctx, "KQKR"); !errors.Is(err, context.Canceled) {
		t.Errorf("a build behind another: %v", err)
	}
	<-tables.lane
	if _, err := tables.Build(context.Background(), "KQKR"); err != nil {
		t.Error(err)
	}
}

// A build tells how far it is, and nothing is told when none is under way.
func TestProgress(t *testing.T) {
	t.Parallel()
	tables := NewTables()
	tables.want(materialOf("KPK"))
	if got := tables.Progress(); got != (Progress{Wanted: 3}) {
		t.Errorf("KPK needs itself, KQK and KRK: %+v", got)
	}
	tables.under(materialOf("KQK"))
	tables.ensure(materialOf("KQK"))
	if got := tables.Progress(); got != (Progress{"KQK", 1, 3}) {
		t.Errorf("after the first table: %+v", got)
	}
	if _, err := tables.Build(context.Background(), "KPK"); err != nil {
		t.Fatal(err)
	}
	if got := tables.Progress(); got != (Progress{}) {
		t.Errorf("after the build: %+v", got)
	}
}
