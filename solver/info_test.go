package solver

import (
	"context"
	"errors"
	"testing"
)

// There are 5 endings of three men and 30 of four, each once.
func TestEndings(t *testing.T) {
	t.Parallel()
	names := map[string]bool{}
	codes := map[int]bool{}
	for _, m := range allEndings() {
		names[m.name()] = true
		for _, w := range m.winners() {
			codes[w.code()] = true
			if got := materialOf(w.name()); got != w {
				t.Errorf("%s is read as %+v", w.name(), got)
			}
		}
	}
	if len(Endings()) != 35 || len(names) != 35 || len(codes) != 43 {
		t.Errorf("%d endings, %d names, %d tables; want 35, 35, 43", len(Endings()), len(names), len(codes))
	}
}

// The distributions of three men over all legal placements are the published
// ones (testdata/three_men_dtm_histogram.tsv).
func TestHistogramPublished(t *testing.T) {
	t.Parallel()
	got := map[string][2]Distribution{}
	for _, name := range []string{"KQK", "KRK", "KPK"} {
		h, err := shared().Histogram(context.Background(), name)
		if err != nil {
			t.Fatal(err)
		}
		got[name] = h
	}
	for _, row := range rows(t, "three_men_dtm_histogram.tsv") {
		d := got[row[0]][color(row[1])]
		n := d.Draw
		switch row[2] {
		case "win":
			n = d.Win[number(t, row[3])]
		case "loss", "mate":
			n = d.Loss[number(t, row[3])]
		}
		if n != number(t, row[4]) {
			t.Errorf("%v: %d", row, n)
		}
	}
}

// Every legal position of every ending is counted once; with like men both sides
// have as many.
func TestHistogramSums(t *testing.T) {
	t.Parallel()
	names := Endings()
	if racing {
		names = []string{"KQK", "KPK", "KPKP"}
	}
	for _, name := range names {
		h, err := shared().Histogram(context.Background(), name)
		if err != nil {
			t.Fatal(err)
		}
		if info, err := shared().Info(name); err != nil || info.Legal != h[0].Legal+h[1].Legal {
			t.Errorf("%s: %d legal positions are told, %d and %d counted (%v)", name, info.Legal, h[0].Legal, h[1].Legal, err)
		}
		for side, d := range h {
			sum := d.Draw
			for _, n := range d.Win {
				sum += n
			}
			for _, n := range d.Loss {
				sum += n
			}
			if sum != d.Legal || d.Legal == 0 {
				t.Errorf("%s, side %d: %d of %d positions counted", name, side, sum, d.Legal)
			}
		}
		if m := materialOf(name); m.defend == m.attack[0] && h[0].Legal != h[1].Legal {
			t.Errorf("%s: %d and %d legal positions with like men", name, h[0].Legal, h[1].Legal)
		}
	}
}

// What is told of an ending before and after its build.
func TestInfo(t *testing.T) {
	t.Parallel()
	tables := NewTables()
	before, err := tables.Info("KQKR")
	if err != nil || before.Ready || before.Bytes != 4*10*64*64*64 {
		t.Errorf("before: %+v, %v", before, err)
	}
	built, err := tables.Build(context.Background(), "KQKR")
	if err != nil || !built.Ready || built.Longest != 35 || built.Took == 0 {
		t.Errorf("built: %+v, %v", built, err)
	}
	if after, err := tables.Info("KQKR"); err != nil || after != built {
		t.Errorf("after: %+v, %v, built %+v", after, err, built)
	}
	if drawn, err := tables.Info("KBK"); err != nil || !drawn.Ready || drawn.Bytes != 0 {
		t.Errorf("a drawn ending: %+v, %v", drawn, err)
	}
	if _, err := tables.Build(context.Background(), "KQKRR"); !errors.Is(err, ErrNoTable) {
		t.Errorf("five men: %v", err)
	}
	if _, err := tables.Info("KRKQ"); !errors.Is(err, ErrNoTable) {
		t.Errorf("the weaker side first: %v", err)
	}
}
