package view

import (
	"math"
	"net/http"
	"net/http/httptest"
	"strconv"
	"strings"
	"testing"

	"drover/static"
)

func TestSketchWindow(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name           string
		sketch         Sketch
		col, row, size int
	}{
		{"whole", Sketch{FEN: "8/8/8/4k3/8/8/8/R3K3 w - - 0 1"}, 0, 0, 8},
		{"four at least", Sketch{FEN: "k7/8/K7/8/8/8/8/8 w - - 0 1", Cut: true}, 0, 0, 4},
		{"lower right", Sketch{FEN: "8/8/8/8/8/8/6K1/7k w - - 0 1", Cut: true}, 4, 4, 4},
		{"in the middle", Sketch{FEN: "8/8/8/3k4/4K3/8/8/8 w - - 0 1", Cut: true}, 2, 2, 4},
		{"from the other side", Sketch{FEN: "k7/8/K7/8/8/8/8/8 w - - 0 1", Cut: true, Black: true}, 4, 4, 4},
		{"far apart", Sketch{FEN: "K7/8/8/8/8/8/5R2/7k w - - 0 1", Cut: true}, 0, 0, 8},
		{"no men", Sketch{FEN: "8/8/8/8/8/8/8/8", Cut: true}, 0, 0, 8},
	} {
		if col, row, size := c.sketch.window(); col != c.col || row != c.row || size != c.size {
			t.Errorf("%s: %d %d %d, want %d %d %d", c.name, col, row, size, c.col, c.row, c.size)
		}
	}
}

func TestSketchWallsOnlyAtTrueEdges(t *testing.T) {
	t.Parallel()
	if n := len(Sketch{FEN: "8/8/8/8/8/8/8/8"}.walls()); n != 4 {
		t.Errorf("whole board: %d walls", n)
	}
	if n := len(Sketch{FEN: "8/8/8/3k4/4K3/8/8/8 w - - 0 1", Cut: true}.walls()); n != 0 {
		t.Errorf("middle: %d walls", n)
	}
	if got := strings.Join(Sketch{FEN: "k7/8/K7/8/8/8/8/8 w - - 0 1", Cut: true}.walls(), " "); got != "M-6 -3h268 M-3 0v256" {
		t.Errorf("upper left: %s", got)
	}
}

func TestSketchNamesItsMen(t *testing.T) {
	t.Parallel()
	const want = "Board: black king e5, white rook a1, white king e1"
	for _, black := range []bool{false, true} {
		if got := (Sketch{FEN: "8/8/8/4k3/8/8/8/R3K3 w - - 0 1", Black: black}).label(); got != want {
			t.Errorf("black %v: %q", black, got)
		}
	}
}

func TestSketchSurvivesBadInput(t *testing.T) {
	t.Parallel()
	for _, fen := range []string{"", "x", "9/9", "kkkkkkkkkkkkkkk/8/8", strings.Repeat("/k", 40)} {
		s := Sketch{FEN: fen, Last: "z9z9", Check: "q", Corners: []string{"", "i9"}, Ways: []string{"?"}, Cut: true}
		for _, p := range s.men() {
			if p.x == "" || p.y == "" {
				t.Errorf("%q: man without a place", fen)
			}
		}
		if s.ticks() != "" || s.hatch() != "" || len(s.track()) != 0 || len(s.discs()) != 0 || len(s.angles()) != 0 {
			t.Errorf("%q: squares off the board are drawn", fen)
		}
	}
}

func TestSketchTrackStopsBeforeTheTicks(t *testing.T) {
	t.Parallel()
	for _, move := range []string{"a1a8", "a1h8", "g1e2", "e5e4"} {
		s := Sketch{Last: move}
		dots := s.track()
		if len(dots) < 2 {
			t.Errorf("%s: %d dots", move, len(dots))
		}
		if s.ticks() == "" {
			t.Errorf("%s: no ticks", move)
		}
		for _, d := range dots {
			if x, y := off(d.x), off(d.y); x < 6 && y < 6 {
				t.Errorf("%s: a dot stands in the middle of a square", move)
			}
		}
		if strings.Count(s.hooves(), "M") != 4 {
			t.Errorf("%s: no two cloven prints: %s", move, s.hooves())
		}
	}
}

func TestSmallKingOnlyOnWholeSmallBoards(t *testing.T) {
	t.Parallel()
	small := Sketch{FEN: "8/8/8/4k3/8/8/8/R3K3 w - - 0 1", Small: true}
	if got := small.men()[0].id; got != "k-s" {
		t.Errorf("king %q", got)
	}
	small.Small = false
	if got := small.men()[0].id; got != "k" {
		t.Errorf("king %q", got)
	}
}

// TestNoManIsLeftOut: whatever the placement, a cut-out holds every man.
func TestNoManIsLeftOut(t *testing.T) {
	t.Parallel()
	for i := range 64 {
		for j := range 64 {
			s := Sketch{FEN: placed(i, 'K', j, 'k'), Cut: true}
			col, row, size := s.window()
			for _, m := range s.parse() {
				if m.col < col || m.col >= col+size || m.row < row || m.row >= row+size {
					t.Fatalf("%s is cut to %d squares from column %d, row %d", s.FEN, size, col, row)
				}
			}
		}
	}
}

// placed is the placement of two men, the later one where both are on one square.
func placed(i int, a byte, j int, b byte) string {
	var squares [64]byte
	squares[i], squares[j] = a, b
	var rows []string
	for r := range 8 {
		var row strings.Builder
		for c := range 8 {
			if man := squares[8*r+c]; man != 0 {
				row.WriteByte(man)
			} else {
				row.WriteByte('1')
			}
		}
		rows = append(rows, row.String())
	}
	return strings.Join(rows, "/")
}

// off is how far a place is from the middle of its square.
func off(place string) float64 {
	v, err := strconv.ParseFloat(place, 64)
	if err != nil {
		return 0
	}
	return math.Abs(math.Mod(v, 64) - 32)
}

// TestSketchHurdles: hurdles stand on each side of his pen but not on the edge of the
// board, and a broken one on each gap, from both sides of the board.
func TestSketchHurdles(t *testing.T) {
	t.Parallel()
	for _, black := range []bool{false, true} {
		s := Sketch{FEN: "k7/8/8/8/8/8/8/8", Pen: []string{"a8", "b8"}, Gaps: [][2]string{{"b8", "c7"}}, Black: black}
		if n := len(s.hurdles()); n != 4 { // below a8 and b8, right of b8, and the gap
			t.Errorf("black %t: %d hurdles", black, n)
		}
		if n := len(s.washes()); n != 3 {
			t.Errorf("black %t: %d squares are washed", black, n)
		}
	}
	if got := (Sketch{Pen: []string{"a8"}}).hurdles()[0].turn; got != "translate(32 64) rotate(0)" {
		t.Errorf("below a8 stands a hurdle at %s", got)
	}
}

// TestSketchNext: the move to come has a frame at each end and no dot under a man.
func TestSketchNext(t *testing.T) {
	t.Parallel()
	s := Sketch{FEN: "8/8/8/8/8/8/8/R7", Next: "a1a4"}
	if len(s.rings()) != 2 || len(s.way()) == 0 || len((Sketch{}).rings()) > 0 || len((Sketch{}).way()) > 0 {
		t.Errorf("%v, %v", s.rings(), s.way())
	}
	for _, dot := range s.way() {
		if dot.y > "480" || dot.y < "288" && len(dot.y) >= 3 {
			t.Errorf("a dot at %s lies on an end", dot.y)
		}
	}
}

// TestSketchCover: a sign stands on each covered square, with the square's place as it is
// drawn; under a man only the king's wedges are, and where two men meet the first is. The
// signs are those that the board's module draws.
func TestSketchCover(t *testing.T) {
	t.Parallel()
	s := Sketch{FEN: "8/8/8/8/8/8/1R6/K7 w - - 0 1", Cover: []Cover{
		{"king", []string{"b2", "a2", "z9"}}, {"rook", []string{"a2", "b3", "b2"}}, {"bishop", []string{"b3", "c3"}}}}
	var got []string
	for _, c := range s.covers() {
		got = append(got, c.class+" "+c.at)
	}
	want := "cover-king translate(64 384), cover-king translate(0 384), cover-sign rook translate(0 384), " +
		"cover-sign rook translate(64 320), cover-sign bishop translate(128 320)"
	if text := strings.Join(got, ", "); text != want {
		t.Errorf("drawn is %s", text)
	}
	s.Black = true
	if at := s.covers()[0].at; at != "translate(384 64)" {
		t.Errorf("turned, b2 is at %s", at)
	}
	w := httptest.NewRecorder()
	static.Handler().ServeHTTP(w, httptest.NewRequestWithContext(t.Context(), http.MethodGet, static.Path("js/help.js"), nil))
	for man, d := range coverSigns {
		if !strings.Contains(w.Body.String(), man+": '"+d+"'") {
			t.Errorf("the module draws another sign of the %s", man)
		}
	}
}
