package solver

import (
	"bufio"
	"context"
	"os"
	"strings"
	"testing"
)

// The distances of rook against king, lone king to move: all rows of the UCI
// Machine Learning Repository's "Chess (King-Rook vs. King)", M. Bain and
// A. van Hoff 1994, CC BY 4.0 (testdata/uci_krkopt.data).
func TestKRKEveryRow(t *testing.T) {
	t.Parallel()
	file, err := os.Open("testdata/uci_krkopt.data")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	words := strings.Fields("zero one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen")
	depth := map[string]int{}
	for i, w := range words {
		depth[w] = i
	}
	n := 0
	for in := bufio.NewScanner(file); in.Scan(); n++ {
		f := strings.Split(in.Text(), ",")
		p := Position{Count: 3, Turn: Black, EnPassant: NoSquare}
		p.Men[0] = Man{King, White, square(f[0] + f[1])}
		p.Men[1] = Man{Rook, White, square(f[2] + f[3])}
		p.Men[2] = Man{King, Black, square(f[4] + f[5])}
		want := Value{}
		if f[6] != "draw" {
			want = Value{Loss, 2 * depth[f[6]]}
		}
		if got := probe(t, p); got != want {
			t.Errorf("row %d, %s: %+v, published %s", n+1, p.text(), got, f[6])
		}
	}
	if n != 28056 {
		t.Errorf("%d rows read, published 28,056", n)
	}
}

// The longest wins of endings without pawns against the lone king, from the
// test data of the python-chess library, which credits K. Kryukov's page of
// longest checkmates (testdata/published_longest_dtm.tsv). The given position
// has the value, and no position of the ending has a longer one.
func TestPublishedLongestMates(t *testing.T) {
	t.Parallel()
	seen := 0
	for _, row := range rows(t, "published_longest_dtm.tsv") {
		if number(t, row[1]) > MaxMen || !strings.HasSuffix(row[0], " v K") || strings.Contains(row[0], "P") {
			continue
		}
		seen++
		want := number(t, row[2])
		p := fen(t, row[4])
		if got := probe(t, p); got != (Value{Win, 2*want - 1}) {
			t.Errorf("%s: %+v, published mate in %d", row[4], got, want)
		}
		f, err := shared().find(context.Background(), &p)
		if err != nil {
			t.Fatal(err)
		}
		if got := longest(f.table.mate.attack); got != want {
			t.Errorf("%s: longest mate in %d, published %d", row[0], got, want)
		}
	}
	if seen != 12 {
		t.Errorf("%d endings checked, 12 are published", seen)
	}
}

func longest(bytes []uint8) (layer int) {
	for _, b := range bytes {
		layer = max(layer, int(b)-1)
	}
	return layer
}

// The counts of testdata/regions.tsv come from an independent plain solver over
// the unreduced index.
func TestRegions(t *testing.T) {
	t.Parallel()
	for _, row := range rows(t, "regions.tsv") {
		name, r := row[0], number(t, row[4])
		t.Run(name+row[4], func(t *testing.T) {
			t.Parallel()
			table, err := shared().wait(context.Background(), kindsOf(name))
			if err != nil {
				t.Fatal(err)
			}
			start := newStart(table.layout)
			inside := newPass(start)
			inside.forbid(regionSquares[r])
			inside.run()
			var legal, won, held int
			for at := range start.open {
				w := start.weight(at)
				legal += w * start.legal(at).count()
				for lone := range 64 {
					if table.mate.attack[at<<6|lone] > 0 {
						won += w
					}
					if table.par[r-1].attack[at<<6|lone] == 1 {
						held += w
					}
				}
			}
			for i, got := range []int{legal, won, longest(table.mate.attack)} {
				if want := number(t, row[1+i]); got != want {
					t.Errorf("legal, won, longest (%d): %d, want %d", i, got, want)
				}
			}
			for i, got := range []int{held, inside.last, longest(table.par[r-1].attack)} {
				if want := number(t, row[5+i]); got != want {
					t.Errorf("held, longest mate inside, longest par (%d): %d, want %d", i, got, want)
				}
			}
		})
	}
}
