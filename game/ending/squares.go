package ending

import "drover/game/board"

// steps is the number of king moves between two squares.
func steps(a, b board.Square) int {
	df, dr := a.File()-b.File(), a.Rank()-b.Rank()
	return max(df, -df, dr, -dr)
}

// corners are the four corner squares.
var corners = []board.Square{0, 7, 56, 63}

// wrongCorners are the corners in which the attacker cannot force mate, or all
// four where they are alike.
func wrongCorners(p board.Position, attacker board.Color) []board.Square {
	right := Corners(p, attacker)
	if len(right) == 0 {
		return corners
	}
	var wrong []board.Square
	for _, c := range corners {
		if c.String() != right[0] && c.String() != right[1] {
			wrong = append(wrong, c)
		}
	}
	return wrong
}

// Corners lists the corners in which the attacker can force mate, where it is
// only some: those of a lone bishop's colour.
func Corners(p board.Position, attacker board.Color) []string {
	bishop, knight := -1, false
	for sq := board.Square(0); sq < 64; sq++ {
		m := p.At(sq)
		if !m.There || m.Color != attacker || m.Kind == board.King {
			continue
		}
		switch {
		case m.Kind == board.Bishop && bishop < 0:
			bishop = (sq.File() + sq.Rank()) % 2
		case m.Kind == board.Knight:
			knight = true
		default:
			return []string{}
		}
	}
	if bishop < 0 || !knight {
		return []string{}
	}
	if bishop == 0 {
		return []string{"a1", "h8"}
	}
	return []string{"a8", "h1"}
}
