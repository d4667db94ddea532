package solver

// Color is the colour of a man.
type Color uint8

// The two colours.
const (
	White Color = iota
	Black
)

// Other returns the other colour.
func (c Color) Other() Color { return c ^ 1 }

// String returns "White" or "Black".
func (c Color) String() string {
	if c == White {
		return "White"
	}
	return "Black"
}

// Kind is the kind of a man.
type Kind uint8

// The kinds of men, in the order in which an ending is named.
const (
	King Kind = iota
	Queen
	Rook
	Bishop
	Knight
	Pawn
)

const kindLetters = "KQRBNP"

var kindNames = [...]string{"king", "queen", "rook", "bishop", "knight", "pawn"}

// String returns the English name, such as "queen".
func (k Kind) String() string {
	if int(k) < len(kindNames) {
		return kindNames[k]
	}
	return "unknown man"
}

// Square is a square of the board: a1 = 0, b1 = 1, ... h8 = 63.
type Square uint8

// NoSquare stands for the absence of a square.
const NoSquare Square = 64

// String returns the name, such as "e4", or "-" for no square.
func (s Square) String() string {
	if s >= NoSquare {
		return "-"
	}
	return string([]byte{'a' + byte(s.file()), '1' + byte(s.rank())})
}

func (s Square) file() int { return int(s & 7) }
func (s Square) rank() int { return int(s >> 3) }
func (s Square) bit() set  { return 1 << (s & 63) }

// Man is a man on its square.
type Man struct {
	Kind  Kind
	Color Color
	At    Square
}

// Move is a move. Promotion is King, the zero value, if there is none.
type Move struct {
	From, To  Square
	Promotion Kind
	Capture   bool
}

// String returns the move as UCI text: "e2e4", "e7e8q".
func (m Move) String() string {
	s := m.From.String() + m.To.String()
	if m.Promotion != King {
		s += string(kindLetters[m.Promotion] + 'a' - 'A')
	}
	return s
}
