package view

import (
	"fmt"
	"math"
	"slices"
)

// hurdle is one hurdle of a drawing, in a box of its own whose middle is 0 0.
type hurdle struct {
	turn        string // how the box is placed and turned
	back, rails []string
	posts       []string // left ends of posts
}

// washes are the squares of his pen and of the gaps.
func (s Sketch) washes() []piece {
	squares := slices.Clone(s.Pen)
	for _, gap := range s.Gaps {
		squares = append(squares, gap[1])
	}
	var out []piece
	for _, square := range squares {
		if col, row, ok := s.at(square); ok {
			out = append(out, piece{x: Num(float64(col) * 64), y: Num(float64(row) * 64), w: "64"})
		}
	}
	return out
}

// hurdles stand on each side of his pen that is no edge of the board; a broken one lies
// across each gap.
func (s Sketch) hurdles() []hurdle {
	inside := map[[2]int]bool{}
	for _, square := range s.Pen {
		col, row, ok := s.at(square)
		inside[[2]int{col, row}] = ok
	}
	var out []hurdle
	for _, square := range s.Pen {
		col, row, ok := s.at(square)
		for _, d := range [][2]int{{0, 1}, {0, -1}, {1, 0}, {-1, 0}} {
			c, r := col+d[0], row+d[1]
			if ok && c >= 0 && c <= 7 && r >= 0 && r <= 7 && !inside[[2]int{c, r}] {
				out = append(out, whole(float64(col+c)*32+32, float64(row+r)*32+32, d[0] != 0))
			}
		}
	}
	for _, gap := range s.Gaps {
		if h, ok := s.broken(gap); ok {
			out = append(out, h)
		}
	}
	return out
}

// whole is a hurdle between two squares: two rails, a bar and a post at each end.
func whole(x, y float64, upright bool) hurdle {
	turn := 0
	if upright {
		turn = 90
	}
	return hurdle{turn: fmt.Sprintf("translate(%g %g) rotate(%d)", x, y, turn), back: []string{"M-32 0H32"},
		rails: []string{"M-32 -4H32M-32 4H32M0 -9V9"}, posts: []string{"-38", "26"}}
}

// broken is a gap: a hurdle across his way with its middle gone.
func (s Sketch) broken(gap [2]string) (hurdle, bool) {
	fromCol, fromRow, ok := s.at(gap[0])
	col, row, there := s.at(gap[1])
	turn := math.Round(math.Atan2(float64(row-fromRow), float64(col-fromCol))*180/math.Pi + 90)
	return hurdle{turn: fmt.Sprintf("translate(%d %d) rotate(%g)", col*64+32, row*64+32, turn),
		back:  []string{"M-27 0H-9", "M27 0H9"},
		rails: []string{"M-27 -4H-9M-27 4H-9M-9 -11V11", "M27 -4H9M27 4H9M9 -11V11"}}, ok && there
}

// rings frame the man that is to move and the square it goes to.
func (s Sketch) rings() []piece {
	var out []piece
	if len(s.Next) < 4 {
		return nil
	}
	for _, square := range []string{s.Next[:2], s.Next[2:4]} {
		if col, row, ok := s.at(square); ok {
			out = append(out, piece{x: Num(float64(col)*64 + 4), y: Num(float64(row)*64 + 4), w: "56", rx: "9"})
		}
	}
	return out
}

// way is the dotted track of the move that is to come, clear of the man that makes it.
func (s Sketch) way() []piece {
	ax, ay, bx, by, ok := Sketch{Last: s.Next, Black: s.Black}.ends()
	if !ok {
		return nil
	}
	var out []piece
	for _, dot := range (Sketch{Last: s.Next, Black: s.Black}).track() {
		if clear(dot, ax, ay) && clear(dot, bx, by) {
			out = append(out, dot)
		}
	}
	return out
}

// clear says whether a dot lies outside the square whose middle is at x, y.
func clear(dot piece, x, y float64) bool {
	var dx, dy float64
	_, _ = fmt.Sscan(dot.x, &dx) // Num has written both
	_, _ = fmt.Sscan(dot.y, &dy)
	return math.Max(math.Abs(dx-x), math.Abs(dy-y)) > 30
}
