package board

import (
	"fmt"
	"strconv"
	"strings"

	"drover/game"
)

// The fields of a FEN (PGN standard, S. J. Edwards 1994, section 16.1).
const (
	FieldPlacement  = "placement"
	FieldSideToMove = "side to move"
	FieldCastling   = "castling"
	FieldEnPassant  = "en passant"
	FieldHalfMoves  = "half-move clock"
	FieldMoveNumber = "move number"
)

// fieldNames are the fields in order.
var fieldNames = [6]string{FieldPlacement, FieldSideToMove, FieldCastling, FieldEnPassant, FieldHalfMoves,
	FieldMoveNumber}

// ParseFEN reads a Forsyth-Edwards record of six fields strictly: what it
// returns is a position that can stand on a board. The error's sentence names
// the field, and the row or square, that is wrong.
func ParseFEN(s string) (Position, error) {
	fields := strings.Fields(s)
	if len(fields) != len(fieldNames) {
		return Position{}, game.Fail(game.Bad, fmt.Sprintf("a FEN has six fields (%s), this one has %d",
			strings.Join(fieldNames[:], ", "), len(fields)))
	}
	men, err := readPlacement(fields[0])
	if err != nil {
		return Position{}, err
	}
	turn, err := readTurn(fields[1])
	if err != nil {
		return Position{}, err
	}
	if err := validateMen(men, turn); err != nil {
		return Position{}, err
	}
	if err := validateRights(men, turn, fields[2], fields[3]); err != nil {
		return Position{}, err
	}
	for i := 4; i < 6; i++ {
		if err := validateCount(fields[i], fieldNames[i], i-4); err != nil {
			return Position{}, err
		}
	}
	return load(strings.Join(fields, " "))
}

// FieldError says what is wrong with one field of a FEN.
type FieldError struct {
	Field string // one of the fields of a FEN
	What  string // inside a sentence
}

// Error names the field; what is wrong stands in the sentence that BadField gives.
func (e *FieldError) Error() string { return "FEN, field " + e.Field }

// BadField refuses a FEN for what one of its fields has, in a sentence that names the
// field.
func BadField(field, format string, args ...any) error {
	what := fmt.Sprintf(format, args...)
	return game.Wrap(game.Bad, field+": "+what, &FieldError{field, what})
}

const letters = "KQRBNP"

// readPlacement reads field 1 into 64 squares, row 8 first as FEN has it.
func readPlacement(field string) (men placement, err error) {
	rows := strings.Split(field, "/")
	if len(rows) != 8 {
		return men, BadField(FieldPlacement, "eight rows are needed, there are %d", len(rows))
	}
	for i, row := range rows {
		if err := readRow(&men, row, 7-i); err != nil {
			return men, err
		}
	}
	return men, nil
}

func readRow(men *placement, row string, rank int) error {
	file := 0
	digit := false
	for _, c := range row {
		at := strings.IndexRune(letters, toUpper(c))
		switch {
		case c >= '1' && c <= '8' && !digit:
			file += int(c - '0')
			digit = true
			continue
		case c >= '1' && c <= '8':
			return BadField(FieldPlacement, "row %d has two numbers side by side", rank+1)
		case at < 0:
			return BadField(FieldPlacement, "row %d has %q, which is no man and no number from 1 to 8", rank+1, c)
		case file < 8:
			men[rank*8+file] = Man{Kind: Kind(at), Color: colorOf(c), There: true}
		}
		file++
		digit = false
	}
	if file != 8 {
		return BadField(FieldPlacement, "row %d has %s squares, it needs eight", rank+1, game.Number(file))
	}
	return nil
}

func toUpper(c rune) rune {
	if c >= 'a' && c <= 'z' {
		return c - 'a' + 'A'
	}
	return c
}

func colorOf(c rune) Color {
	if c >= 'a' {
		return Black
	}
	return White
}

func readTurn(field string) (Color, error) {
	switch field {
	case "w":
		return White, nil
	case "b":
		return Black, nil
	}
	return White, BadField(FieldSideToMove, "w or b is needed, not %q", field)
}

// validateMen holds the placement against FIDE Laws 1.4.1, 2.2 and 3.7: one king
// each, kings apart, no pawn on an end row, and nobody left in check.
func validateMen(men placement, turn Color) error {
	var kings [2][]Square
	for sq, m := range men {
		switch {
		case !m.There:
		case m.Kind == King:
			kings[m.Color] = append(kings[m.Color], Square(sq))
		case m.Kind == Pawn && (sq < 8 || sq >= 56):
			return BadField(FieldPlacement, "a pawn cannot stand on %s", Square(sq))
		}
	}
	for c, k := range kings {
		if len(k) != 1 {
			return BadField(FieldPlacement, "%s needs one king, there are %s", Color(c), game.Number(len(k)))
		}
	}
	if distance(kings[0][0], kings[1][0]) == 1 {
		return BadField(FieldPlacement, "the two kings stand side by side, on %s and %s", kings[0][0], kings[1][0])
	}
	if by, ok := men.attacker(kings[1-turn][0], turn); ok {
		return BadField(FieldSideToMove, "%s is to move, but the other king on %s already stands in check from %s", turn,
			kings[1-turn][0], by)
	}
	return nil
}

// validateRights holds castling and en passant against the men on the board.
func validateRights(men placement, turn Color, castling, passing string) error {
	if castling != "-" {
		if err := validateCastling(men, castling); err != nil {
			return err
		}
	}
	if passing == "-" {
		return nil
	}
	sq, ok := ParseSquare(passing)
	rank, step := 5, Square(8)
	if turn == Black {
		rank = 2
	}
	if !ok || sq.Rank() != rank {
		return BadField(FieldEnPassant, "%q is not a square on row %d", passing, rank+1)
	}
	pawn, origin := sq-step, sq+step
	if turn == Black {
		pawn, origin = sq+step, sq-step
	}
	if men[sq].There || men[origin].There || men[pawn] != (Man{Kind: Pawn, Color: 1 - turn, There: true}) {
		return BadField(FieldEnPassant, "no pawn has just gone two squares past %s", sq)
	}
	return nil
}

func validateCastling(men placement, castling string) error {
	const order = "KQkq"
	last := -1
	for _, c := range castling {
		i := strings.IndexRune(order, c)
		if i < 0 || i <= last {
			return BadField(FieldCastling, "%q is not - or letters of KQkq in that order", castling)
		}
		last = i
		row := Square(56 * (i / 2))
		rook := row + Square(7*(1-i%2))
		color := Color(i / 2)
		if men[row+4] != (Man{King, color, true}) || men[rook] != (Man{Rook, color, true}) {
			return BadField(FieldCastling, "%q needs king and rook at home", string(c))
		}
	}
	return nil
}

func validateCount(field, name string, least int) error {
	n, err := strconv.Atoi(field)
	if err != nil || n < least || n > 9999 || strconv.Itoa(n) != field {
		return BadField(name, "a number from %d is needed, not %q", least, field)
	}
	return nil
}
