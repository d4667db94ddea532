package view

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// Sketch is a position to draw, with 64 units per square.
type Sketch struct {
	FEN     string
	Last    string      // last move, as "g1e2", may be empty
	Check   string      // square of a king in check
	Corners []string    // squares where mate works, if only in some corners
	Ways    []string    // squares of a way out, numbered
	Pen     []string    // squares of his pen, ringed with hurdles
	Gaps    [][2]string // steps by which he gets out, each a broken hurdle
	Next    string      // a move that is to come, as "g1e2", may be empty
	Cover   []Cover     // squares that men cover, each with the man's sign
	Black   bool        // seen from Black's side
	Cut     bool        // draw only the part where the men stand
	Framed  bool        // the wall is drawn by a frame outside
	Small   bool        // squares under 32 px: the king's cross is drawn larger
	Class   string
}

// piece is one thing to draw: attributes already written as text.
type piece struct{ class, id, x, y, w, rx string }

// standing is a man on its square, counted from the upper left corner as drawn.
type standing struct {
	letter   byte
	col, row int
}

var manNames = map[byte]string{'k': "king", 'q': "queen", 'r': "rook", 'b': "bishop", 'n': "knight", 'p': "pawn"}

// parse reads the placement field of a FEN; what does not fit the board is skipped.
func (s Sketch) parse() []standing {
	var men []standing
	placement, _, _ := strings.Cut(s.FEN, " ")
	for row, line := range strings.Split(placement, "/") {
		col := 0
		for i := 0; i < len(line) && col < 8 && row < 8; i++ {
			c := line[i]
			if c >= '1' && c <= '8' {
				col += int(c - '0')
				continue
			}
			if manNames[c|0x20] != "" {
				men = append(men, s.turn(standing{c, col, row}))
			}
			col++
		}
	}
	return men
}

func (s Sketch) turn(m standing) standing {
	if s.Black {
		m.col, m.row = 7-m.col, 7-m.row
	}
	return m
}

// at gives the drawn column and row of a square, and false for anything else.
func (s Sketch) at(square string) (col, row int, ok bool) {
	if len(square) < 2 || square[0] < 'a' || square[0] > 'h' || square[1] < '1' || square[1] > '8' {
		return 0, 0, false
	}
	m := s.turn(standing{0, int(square[0] - 'a'), int('8' - square[1])})
	return m.col, m.row, true
}

// mostCut is the side of the largest cut-out: beyond it nothing is gained over the
// whole board.
const mostCut = 6

// window is the part that is drawn, in squares: the whole board, or the smallest
// square part of at least four that holds every man. Where they stand too far apart
// for one it is the whole board: no man is ever left out.
func (s Sketch) window() (col, row, size int) {
	men := s.parse()
	if !s.Cut || len(men) == 0 {
		return 0, 0, 8
	}
	cols, rows := make([]int, len(men)), make([]int, len(men))
	for i, m := range men {
		cols[i], rows[i] = m.col, m.row
	}
	size = max(4, slices.Max(cols)-slices.Min(cols)+1, slices.Max(rows)-slices.Min(rows)+1)
	if size > mostCut {
		return 0, 0, 8
	}
	return fit(slices.Min(cols), slices.Max(cols), size), fit(slices.Min(rows), slices.Max(rows), size), size
}

// fit places a stretch of size squares over lo..hi, in the middle where there is room.
func fit(lo, hi, size int) int {
	return min(max(0, lo-(size-(hi-lo+1))/2), 8-size)
}

// Whole says that the whole board is drawn although a part of it was asked for.
func (s Sketch) Whole() bool {
	_, _, size := s.window()
	return s.Cut && size == 8
}

func (s Sketch) viewBox() string {
	col, row, size := s.window()
	x, y, w, h := col*64, row*64, size*64, size*64
	if !s.Cut {
		return fmt.Sprintf("%d %d %d %d", x, y, w, h)
	}
	wall := s.wall()
	if col == 0 {
		x, w = x-wall, w+wall
	}
	if row == 0 {
		y, h = y-wall, h+wall
	}
	if col+size == 8 {
		w += wall
	}
	if row+size == 8 {
		h += wall
	}
	return fmt.Sprintf("%d %d %d %d", x, y, w, h)
}

func (s Sketch) tiles() []piece {
	col, row, size := s.window()
	tiles := []piece{{class: "field-of", x: strconv.Itoa(col * 64), y: strconv.Itoa(row * 64), w: strconv.Itoa(size * 64), rx: "0"}}
	for r := row; r < row+size; r++ {
		for c := col; c < col+size; c++ {
			if (r+c)%2 == 1 {
				tiles = append(tiles, piece{class: "stone", x: Num(float64(c)*64 + 1.3), y: Num(float64(r)*64 + 1.3), w: "61.4", rx: "9"})
			}
		}
	}
	return tiles
}

func (s Sketch) men() []piece {
	var men []piece
	for _, m := range s.parse() {
		p := piece{class: "man", id: string(m.letter | 0x20), x: Num(float64(m.col)*64 + 3.5),
			y: Num(float64(m.row)*64 + 3.5)}
		if m.letter >= 'a' {
			p.class = "man dark"
		}
		if _, _, size := s.window(); p.id == "k" && s.Small && size > 4 {
			p.id = "k-s"
		}
		men = append(men, p)
	}
	return men
}

// walls are the sides of the window that are edges of the board, drawn outside its
// squares so that no man is covered.
func (s Sketch) walls() []string {
	col, row, size := s.window()
	x, y, w, half := col*64, row*64, size*64, s.wall()/2
	var d []string
	if row == 0 {
		d = append(d, fmt.Sprintf("M%d %dh%d", x-2*half, y-half, w+4*half))
	}
	if row+size == 8 {
		d = append(d, fmt.Sprintf("M%d %dh%d", x-2*half, y+w+half, w+4*half))
	}
	if col == 0 {
		d = append(d, fmt.Sprintf("M%d %dv%d", x-half, y, w))
	}
	if col+size == 8 {
		d = append(d, fmt.Sprintf("M%d %dv%d", x+w+half, y, w))
	}
	return d
}

// wall is how thick the wall is, so that it has about 3 px on a picture of 150 px.
func (s Sketch) wall() int {
	_, _, size := s.window()
	return 2 * ((size*4 + 5) / 6)
}

func (s Sketch) wallWidth() string { return strconv.Itoa(s.wall()) }

// pair says whether one side still has its bishop and its knight.
func (s Sketch) pair() bool {
	men, _, _ := strings.Cut(s.FEN, " ")
	return strings.Contains(men, "B") && strings.Contains(men, "N") ||
		strings.Contains(men, "b") && strings.Contains(men, "n")
}

// angles are the thick angles in the corners where mate works: in none of them once
// the bishop or the knight has gone.
func (s Sketch) angles() []string {
	var d []string
	if !s.pair() {
		return nil
	}
	for _, square := range s.Corners {
		col, row, ok := s.at(square)
		if !ok {
			continue
		}
		x, armX, y, armY := 5, 48, 5, 48
		if col > 0 {
			x, armX = 507, 464
		}
		if row > 0 {
			y, armY = 507, 464
		}
		d = append(d, fmt.Sprintf("M%d %dV%dH%d", x, armY, y, armX))
	}
	return d
}

func (s Sketch) ends() (ax, ay, bx, by float64, ok bool) {
	if len(s.Last) < 4 {
		return 0, 0, 0, 0, false
	}
	ac, ar, ok1 := s.at(s.Last[:2])
	bc, br, ok2 := s.at(s.Last[2:4])
	mid := func(n int) float64 { return float64(n)*64 + 32 }
	return mid(ac), mid(ar), mid(bc), mid(br), ok1 && ok2
}

// track is the dotted way of the last move, without a dot in the middle of a square.
func (s Sketch) track() []piece {
	ax, ay, bx, by, ok := s.ends()
	if !ok {
		return nil
	}
	length := math.Hypot(bx-ax, by-ay)
	rim := 30 * length / max(math.Abs(bx-ax), math.Abs(by-ay)) // where the ticks begin
	square := length / math.Round(max(math.Abs(bx-ax), math.Abs(by-ay))/64)
	var dots []piece
	for d := 0.3 * square; d < length-rim+1; d += square {
		for at := d; at < min(d+0.5*square, length-rim+1); at += 0.2 * square {
			dots = append(dots, piece{x: Num(ax + (bx-ax)*at/length), y: Num(ay + (by-ay)*at/length), w: "3.4"})
		}
	}
	return dots
}

// hooves are two cloven prints in step where the last move began, beside the middle
// of the square.
func (s Sketch) hooves() string {
	ax, ay, bx, by, ok := s.ends()
	if !ok {
		return ""
	}
	length := math.Hypot(bx-ax, by-ay)
	ux, uy := (bx-ax)/length, (by-ay)/length
	var d strings.Builder
	for _, print := range [][2]float64{{9, -7}, {-9, 3}} {
		for _, half := range []float64{-1, 1} { // each leans in towards the toe
			heel, toe, along := print[0]+4.2*half, print[0]+2*half, print[1]
			fmt.Fprintf(&d, "M%.1f %.1fL%.1f %.1f", ax-uy*heel+ux*along, ay+ux*heel+uy*along,
				ax-uy*toe+ux*(along+7), ay+ux*toe+uy*(along+7))
		}
	}
	return d.String()
}

// ticks are the corners round the square the last move went to.
func (s Sketch) ticks() string {
	_, _, x, y, ok := s.ends()
	if !ok {
		return ""
	}
	l, r, t, b := x-27, x+27, y-27, y+27
	return fmt.Sprintf("M%g %gv-9q0-4 4-4h9M%g %gh9q4 0 4 4v9M%g %gv9q0 4-4 4h-9M%g %gh-9q-4 0-4-4v-9",
		l, t+13, r-13, t, r, b-13, l+13, b)
}

// hatch is the frame of slanted strokes round a king in check.
func (s Sketch) hatch() string {
	col, row, ok := s.at(s.Check)
	if !ok {
		return ""
	}
	x, y := float64(col*64), float64(row*64)
	var d strings.Builder
	for i := range 6 {
		at := float64(i)*10.4 + 3
		fmt.Fprintf(&d, "M%g %gl9-9M%g %gl9-9", x+at, y+11, x+at, y+62)
		if i > 0 && i < 5 {
			fmt.Fprintf(&d, "M%g %gl9-9M%g %gl9-9", x+2, y+at+9, x+53, y+at+9)
		}
	}
	return d.String()
}

func (s Sketch) discs() []piece {
	var discs []piece
	for i, square := range s.Ways {
		if col, row, ok := s.at(square); ok {
			discs = append(discs, piece{id: strconv.Itoa(i + 1), x: strconv.Itoa(col*64 + 32), y: strconv.Itoa(row*64 + 32),
				rx: strconv.Itoa(row*64 + 41)})
		}
	}
	return discs
}

// label names every man to somebody who cannot see the picture.
func (s Sketch) label() string {
	var words []string
	for _, m := range s.parse() {
		back := s.turn(m)
		colour := "white"
		if m.letter >= 'a' {
			colour = "black"
		}
		words = append(words, fmt.Sprintf("%s %s %c%d", colour, manNames[m.letter|0x20], 'a'+back.col, 8-back.row))
	}
	return "Board: " + strings.Join(words, ", ")
}

// Num writes a length of a drawing.
func Num(f float64) string { return strconv.FormatFloat(f, 'f', -1, 64) }

// turned splits letters or digits of a gutter, in reverse order for Black's side.
func turned(signs string, black bool) []string {
	list := strings.Split(signs, "")
	if black {
		slices.Reverse(list)
	}
	return list
}
