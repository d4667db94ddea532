package board

import "strings"

// Mirrored is the position with the colours exchanged: what was White's is Black's, seen from
// the other side of the board, and it is the other side's turn. Castling rights are not kept.
func (p Position) Mirrored() (Position, error) {
	part := strings.Fields(p.FEN())
	rows := strings.Split(part[0], "/")
	for i, j := 0, len(rows)-1; i < j; i, j = i+1, j-1 {
		rows[i], rows[j] = rows[j], rows[i]
	}
	men := strings.Map(otherCase, strings.Join(rows, "/"))
	turn := map[string]string{"w": "b", "b": "w"}[part[1]]
	passing := part[3]
	if passing != "-" { // the square behind the pawn that has just made two steps
		passing = passing[:1] + string('1'+'8'-passing[1])
	}
	return ParseFEN(strings.Join([]string{men, turn, "-", passing, part[4], part[5]}, " "))
}

// otherCase turns a man into that of the other colour.
func otherCase(c rune) rune {
	switch {
	case c >= 'a' && c <= 'z':
		return c - 'a' + 'A'
	case c >= 'A' && c <= 'Z':
		return c - 'A' + 'a'
	}
	return c
}
