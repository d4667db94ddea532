package solver

import (
	"bufio"
	"context"
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
	words := strings.Fields("zero one two three four five six seven eight nine ten " +
		"eleven twelve thirteen fourteen fifteen sixteen")
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

// The longest wins of every ending of up to four men, from the test data of the
// python-chess library, which credits K. Kryukov's page of longest checkmates
// (testdata/published_longest_dtm.tsv). The given position has the value, and no
// position of the ending has a longer one. The rows with a negative number are
// picked positions in which the side to move loses, two of them with a capture in
// passing.
func TestPublishedLongestMates(t *testing.T) {
	t.Parallel()
	seen := 0
	for _, row := range rows(t, "published_longest_dtm.tsv") {
		if number(t, row[1]) > MaxMen {
			continue
		}
		seen++
		n := number(t, row[2])
		want := Value{Win, 2*n - 1}
		if n < 0 {
			want = Value{Loss, -2 * n}
		}
		if got := probe(t, fen(t, row[4])); got != want {
			t.Errorf("%s: %+v, published %+v", row[4], got, want)
		}
		if name := strings.ReplaceAll(row[0], " v ", ""); n > 0 {
			if got := longest(tableOf(t, name).mate.attack); got != n {
				t.Errorf("%s: longest mate in %d, published %d", name, got, n)
			}
		}
	}
	if seen != 43 {
		t.Errorf("%d rows checked, 43 are published", seen)
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
			table, err := shared().wait(context.Background(), materialOf(name))
			if err != nil {
				t.Fatal(err)
			}
			start := newStart(table.layout, 1)
			inside := newPass(start, nil)
			inside.forbid(regionSquares[r])
			inside.run()
			var legal, won, held int
			for at := range start.open {
				w := start.count(at)
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

// Famous positions, stalemates and mates of all endings
// (testdata/known_positions.tsv, the source of each in its row).
func TestKnownPositions(t *testing.T) {
	t.Parallel()
	seen := 0
	for _, row := range rows(t, "known_positions.tsv") {
		p := fen(t, row[1])
		v := probe(t, p)
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
	if seen != 37 {
		t.Errorf("%d positions of the file were checked, it has 37", seen)
	}
}

// Distributions of distances over all legal placements, read from the Gaviota
// tables (testdata/three_men_dtm_histogram.tsv).
func TestThreeManHistograms(t *testing.T) {
	t.Parallel()
	want := map[string]map[Color]map[Value]int{}
	for _, row := range rows(t, "three_men_dtm_histogram.tsv") {
		if want[row[0]] == nil {
			want[row[0]] = map[Color]map[Value]int{White: {}, Black: {}}
		}
		outcome := map[string]Outcome{"win": Win, "draw": Draw, "loss": Loss, "mate": Loss}[row[2]]
		want[row[0]][color(row[1])][Value{outcome, number(t, row[3])}] = number(t, row[4])
	}
	for _, k := range []Kind{Queen, Rook, Pawn} {
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
					if p.Validate() == nil {
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
