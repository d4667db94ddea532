package solver

import (
	"context"
	"math/rand/v2"
	"runtime"
	"strconv"
	"testing"
	"time"
)

// Corpus of the benchmarks: whole tables, and 4,096 random legal positions of
// an ending with either side to move. Figures of one machine stand in
// DEVELOPERS.md.

// BenchmarkBasic builds the five basic mates with regions and pars from
// nothing.
func BenchmarkBasic(b *testing.B) {
	for b.Loop() {
		if err := NewTables().Basic(context.Background()); err != nil {
			b.Fatal(err)
		}
	}
}

// BenchmarkKBNK solves the distances of bishop and knight, both sides to move,
// alone, with one and two workers; BenchmarkKBNKPlain does the same with the specification.
func BenchmarkKBNK(b *testing.B) {
	for _, workers := range []int{1, 2} {
		m, none := materialOf("KBNK"), func(material) *table { return nil }
		b.Run(strconv.Itoa(workers), func(b *testing.B) {
			for b.Loop() {
				if p := mates(m, newStart(newLayout(m), workers), none, workers); p.last != 33 {
					b.Fatal(p.last)
				}
			}
		})
	}
}

func BenchmarkKBNKPlain(b *testing.B) {
	for b.Loop() {
		if p := newPlain(Bishop, Knight).solve(); p.last != 33 {
			b.Fatal(p.last)
		}
	}
}

// BenchmarkKBNKFaster times both in turn and reports how many times the fast
// solver, with one worker and with all, is faster than the specification.
func BenchmarkKBNKFaster(b *testing.B) {
	m, none := materialOf("KBNK"), func(material) *table { return nil }
	var slow, one, all time.Duration
	for b.Loop() {
		begun := time.Now()
		newPlain(Bishop, Knight).solve()
		slow += time.Since(begun)
		begun = time.Now()
		mates(m, newStart(newLayout(m), 1), none, 1)
		one += time.Since(begun)
		begun = time.Now()
		workers := runtime.GOMAXPROCS(0)
		mates(m, newStart(newLayout(m), workers), none, workers)
		all += time.Since(begun)
	}
	b.ReportMetric(float64(slow)/float64(one), "times-one-worker")
	b.ReportMetric(float64(slow)/float64(all), "times-all-workers")
}

// BenchmarkEvery builds every table of three and four men from nothing.
func BenchmarkEvery(b *testing.B) {
	for b.Loop() {
		tables := NewTables()
		for _, name := range Endings() {
			if _, err := tables.Build(context.Background(), name); err != nil {
				b.Fatal(err)
			}
		}
	}
}

func corpus(name string) []Position {
	r := rand.New(rand.NewPCG(2, 8))
	list := make([]Position, 4096)
	for i := range list {
		list[i] = random(r, name)
	}
	return list
}

func BenchmarkProbe(b *testing.B) {
	for _, name := range append([]string{"KQKR", "KPKP", "KPK", "KRPK"}, stagedEndings...) {
		b.Run(name, func(b *testing.B) {
			tables, list, ctx := shared(), corpus(name), context.Background()
			probe(b, list[0])
			for i := 0; b.Loop(); i++ {
				if _, err := tables.Probe(ctx, list[i&4095]); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkJudge probes the position after every legal move of a position.
func BenchmarkJudge(b *testing.B) {
	for _, name := range []string{"KBNK", "KQKR", "KPKP"} {
		b.Run(name, func(b *testing.B) {
			tables, list, ctx := shared(), corpus(name), context.Background()
			buf := make([]Move, 0, 64)
			judge := func(p Position) {
				for _, m := range p.Moves(buf) {
					if _, err := tables.Probe(ctx, p.Play(m)); err != nil {
						b.Fatal(err)
					}
				}
			}
			for _, p := range list {
				judge(p)
			}
			for i := 0; b.Loop(); i++ {
				judge(list[i&4095])
			}
		})
	}
}
