package solver

import (
	"bufio"
	"context"
	"errors"
	"os"
	"reflect"
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
	defer func() { _ = file.Close() }()
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
			inside := newPass(start, nil)
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

// Famous positions, stalemates and mates of the endings that are there
// (testdata/known_positions.tsv, the source of each in its row).
func TestKnownPositions(t *testing.T) {
	t.Parallel()
	seen := 0
	for _, row := range rows(t, "known_positions.tsv") {
		p := fen(t, row[1])
		v, err := shared().Probe(context.Background(), p)
		if errors.Is(err, ErrNoTable) {
			continue
		} else if err != nil {
			t.Fatal(err)
		}
		seen++
		moves := len(p.Moves(nil))
		var ok bool
		switch row[2] {
		case "stalemate":
			ok = v == Value{} && moves == 0 && !p.InCheck()
		case "checkmate":
			ok = v == Value{Outcome: Loss} && moves == 0 && p.InCheck()
		case "win":
			ok = v.Outcome == Win
		case "loss":
			ok = v.Outcome == Loss
		case "draw":
			ok = v == Value{}
		}
		if !ok {
			t.Errorf("%s: %+v with %d moves; claimed %s by %s", row[1], v, moves, row[2], row[4])
		}
	}
	if seen < 16 {
		t.Errorf("only %d positions of the file were checked", seen)
	}
}

// Distributions of distances over all legal placements, read from the Gaviota
// tables (testdata/gaviota_3man_dtm_histogram.tsv).
func TestThreeManHistograms(t *testing.T) {
	t.Parallel()
	want := map[string]map[Color]map[Value]int{}
	for _, row := range rows(t, "gaviota_3man_dtm_histogram.tsv") {
		if want[row[0]] == nil {
			want[row[0]] = map[Color]map[Value]int{White: {}, Black: {}}
		}
		outcome := map[string]Outcome{"win": Win, "draw": Draw, "loss": Loss, "mate": Loss}[row[2]]
		want[row[0]][color(row[1])][Value{outcome, number(t, row[3])}] = number(t, row[4])
	}
	for _, k := range []Kind{Queen, Rook} {
		t.Run(k.String(), func(t *testing.T) {
			t.Parallel()
			got := map[Color]map[Value]int{White: {}, Black: {}}
			everyThreeMen(k, func(p Position) { got[p.Turn][probe(t, p)]++ })
			name := "K" + kindLetters[k:k+1] + "K"
			if !reflect.DeepEqual(got, want[name]) {
				t.Errorf("%s: %v, published %v", name, got, want[name])
			}
		})
	}
}

func color(letter string) Color {
	if letter == "b" {
		return Black
	}
	return White
}

// everyThreeMen calls f for each legal position of White's king and man
// against the king, either side to move.
func everyThreeMen(k Kind, f func(Position)) {
	for i := range Square(64) {
		for j := range Square(64) {
			for l := range Square(64) {
				p := Position{Count: 3, EnPassant: NoSquare}
				p.Men = [MaxMen]Man{{King, White, i}, {k, White, j}, {King, Black, l}}
				for p.Turn = range Color(2) {
					if p.Check() == nil {
						f(p)
					}
				}
			}
		}
	}
}

// Rook against king: positions by plies to mate, not counting those that a
// symmetry of the board makes equal (OEIS A358339, testdata/oeis_krk_8x8.tsv).
func TestKRKUpToSymmetry(t *testing.T) {
	t.Parallel()
	got := map[int]int{}
	everyThreeMen(Rook, func(p Position) {
		if v := probe(t, p); v.Outcome != Draw && least(p) {
			got[v.Plies]++
		}
	})
	for _, row := range rows(t, "oeis_krk_8x8.tsv") {
		if plies, want := number(t, row[0]), number(t, row[1]); got[plies] != want {
			t.Errorf("%d plies: %d positions, published %d", plies, got[plies], want)
		}
	}
}

// least reports whether no turn of the board gives a position whose squares come
// first.
func least(p Position) bool {
	key := func(t turn) (k int) {
		for _, m := range p.men() {
			k = k<<6 | int(turned[t][m.At])
		}
		return k
	}
	for t := range turn(turns) {
		if key(t) < key(0) {
			return false
		}
	}
	return true
}
