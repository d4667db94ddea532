package board

// Color is a side: White or Black.
type Color uint8

// The two sides, in the order of FEN.
const (
	White Color = iota
	Black
)

// String gives the side's name in words.
func (c Color) String() string {
	if c == White {
		return "White"
	}
	return "Black"
}

// Kind is a kind of man.
type Kind uint8

// The kinds, in the usual order of an ending's name.
const (
	King Kind = iota
	Queen
	Rook
	Bishop
	Knight
	Pawn
)

// String gives the kind's name in words.
func (k Kind) String() string {
	return [...]string{"king", "queen", "rook", "bishop", "knight", "pawn"}[k]
}

// Letter gives the kind's letter in English notation, 'K' to 'P'.
func (k Kind) Letter() byte { return letters[k] }

// Square is a square of the board: a1 = 0, b1 = 1, ... h8 = 63.
type Square uint8

// String gives the square's name, as in "e4".
func (s Square) String() string { return string([]byte{'a' + byte(s%8), '1' + byte(s/8)}) }

// File is 0 for the a-file to 7.
func (s Square) File() int { return int(s % 8) }

// Rank is 0 for row 1 to 7.
func (s Square) Rank() int { return int(s / 8) }

// ParseSquare reads a square's name.
func ParseSquare(s string) (Square, bool) {
	if len(s) != 2 || s[0] < 'a' || s[0] > 'h' || s[1] < '1' || s[1] > '8' {
		return 0, false
	}
	return Square(s[0]-'a') + 8*Square(s[1]-'1'), true
}

// Man is a man of a colour; There is false for an empty square.
type Man struct {
	Kind  Kind
	Color Color
	There bool
}

// placement is what stands on each square.
type placement [64]Man

func distance(a, b Square) int {
	return max(abs(a.File()-b.File()), abs(a.Rank()-b.Rank()))
}

func abs(n int) int {
	if n < 0 {
		return -n
	}
	return n
}

// attacker finds a man of side by that attacks sq.
func (men placement) attacker(sq Square, by Color) (Square, bool) {
	for from, m := range men {
		if m.There && m.Color == by && men.attacks(Square(from), sq) {
			return Square(from), true
		}
	}
	return 0, false
}

// attacks says whether the man on from attacks to; lines stop at the first man.
func (men placement) attacks(from, to Square) bool {
	df, dr := to.File()-from.File(), to.Rank()-from.Rank()
	straight, slant := df == 0 || dr == 0, abs(df) == abs(dr)
	if from == to {
		return false
	}
	switch m := men[from]; m.Kind {
	case King:
		return distance(from, to) == 1
	case Queen:
		return (straight || slant) && men.clear(from, to)
	case Rook:
		return straight && men.clear(from, to)
	case Bishop:
		return slant && men.clear(from, to)
	case Knight:
		return abs(df*dr) == 2
	default:
		forward := 1
		if m.Color == Black {
			forward = -1
		}
		return abs(df) == 1 && dr == forward
	}
}

// clear says whether all squares between from and to, on one line, are empty.
func (men placement) clear(from, to Square) bool {
	df, dr := sign(to.File()-from.File()), sign(to.Rank()-from.Rank())
	step := df + 8*dr
	for sq := int(from) + step; sq != int(to); sq += step {
		if men[sq].There {
			return false
		}
	}
	return true
}

func sign(n int) int {
	switch {
	case n > 0:
		return 1
	case n < 0:
		return -1
	}
	return 0
}
