// Package board is the game's board: positions, strict FEN, moves, SAN and
// PGN. The rules come from a chess-rules library (corentings/chess/v2), which
// reads lax input; this package stands in front of it. A Position is complete
// when made, so that many goroutines may read it.
package board

import (
	"fmt"
	"strconv"
	"strings"

	"drover/game"

	"github.com/corentings/chess/v2"
)

// Position is a legal position with its legal moves. The zero value is not a
// position; ParseFEN and Play make one.
type Position struct {
	pos   *chess.Position
	men   placement
	moves []Move
}

// Move is a legal move of the position that gave it.
type Move struct {
	From, To  Square
	Promotion Kind // King: no promotion
	Capture   bool
	Check     bool
}

// UCI gives the move in plain coordinates, as in "e2e4" or "e7e8q".
func (m Move) UCI() string {
	s := m.From.String() + m.To.String()
	if m.Promotion != King {
		s += strings.ToLower(string(m.Promotion.Letter()))
	}
	return s
}

// Start is the first position of a game of chess.
func Start() Position {
	p, err := load("rnbqkbnr/pppppppp/8/8/8/8/PPPPPPPP/RNBQKBNR w KQkq - 0 1")
	if err != nil {
		panic(err) // a constant
	}
	return p
}

func load(fen string) (Position, error) {
	var pos chess.Position
	if err := pos.UnmarshalText([]byte(fen)); err != nil {
		return Position{}, game.Wrap(game.Bad, "This FEN cannot be read", err)
	}
	return fromLibrary(&pos), nil
}

// fromLibrary computes everything that the library would compute later: its
// lazy cache is not safe for several readers.
func fromLibrary(pos *chess.Position) Position {
	p := Position{pos: pos}
	men := pos.Board()
	for sq := range p.men {
		piece := men.Piece(chess.Square(sq))
		if piece == chess.NoPiece {
			continue
		}
		color := White
		if piece.Color() == chess.Black {
			color = Black
		}
		p.men[sq] = Man{Kind: Kind(piece.Type() - chess.King), Color: color, There: true}
	}
	legal := pos.ValidMovesUnsafe() // without a copy: nobody changes them
	p.moves = make([]Move, len(legal))
	for i, m := range legal {
		p.moves[i] = fromLibraryMove(m)
	}
	return p
}

func fromLibraryMove(m chess.Move) Move {
	promotion := King
	if m.Promo() != chess.NoPieceType {
		promotion = Kind(m.Promo() - chess.King)
	}
	return Move{
		From: Square(m.S1()), To: Square(m.S2()), Promotion: promotion,
		Capture: m.HasTag(chess.Capture) || m.HasTag(chess.EnPassant), Check: m.HasTag(chess.Check),
	}
}

// FEN writes the position.
func (p Position) FEN() string { return p.pos.String() }

// Turn is the side to move.
func (p Position) Turn() Color {
	if p.pos.Turn() == chess.Black {
		return Black
	}
	return White
}

// HalfMoves is the number of half-moves since the last capture or pawn move.
func (p Position) HalfMoves() int { return p.pos.HalfMoveClock() }

// FullMoves is the number of the move that comes next, as field 6 of the FEN
// counts it.
func (p Position) FullMoves() int {
	fields := strings.Fields(p.FEN())
	n, err := strconv.Atoi(fields[len(fields)-1])
	if err != nil {
		return 1 // ParseFEN refuses what is no number
	}
	return n
}

// At is the man on a square.
func (p Position) At(sq Square) Man { return p.men[sq] }

// King is the square of a side's king.
func (p Position) King(c Color) Square {
	for sq, m := range p.men {
		if m == (Man{King, c, true}) {
			return Square(sq)
		}
	}
	panic("board: a position without a king") // ParseFEN refuses it
}

// Count is the number of men on the board.
func (p Position) Count() int {
	n := 0
	for _, m := range p.men {
		if m.There {
			n++
		}
	}
	return n
}

// Passing is the en passant square where an en passant capture is legal now.
func (p Position) Passing() (Square, bool) {
	for _, m := range p.moves {
		if p.men[m.From].Kind == Pawn && m.Capture && !p.men[m.To].There {
			return m.To, true
		}
	}
	return 0, false
}

// Castling says whether a right to castle is left.
func (p Position) Castling() bool { return p.pos.CastleRights().String() != "-" }

// Moves are the legal moves; the slice is the position's own, do not change it.
func (p Position) Moves() []Move { return p.moves }

// InCheck says whether the side to move stands in check.
func (p Position) InCheck() bool {
	_, ok := p.men.attacker(p.King(p.Turn()), 1-p.Turn())
	return ok
}

// Checkmate says whether the side to move is mated (FIDE Laws 5.1.1).
func (p Position) Checkmate() bool { return len(p.moves) == 0 && p.InCheck() }

// Stalemate says whether the side to move has no move and stands in no check
// (FIDE Laws 5.2.1).
func (p Position) Stalemate() bool { return len(p.moves) == 0 && !p.InCheck() }

// Dead says whether neither side can mate by any series of legal moves
// because too little is left (FIDE Laws 5.2.2): lone kings, one minor piece,
// or bishops that all run on one colour.
func (p Position) Dead() bool {
	minors, shades := 0, [2]int{}
	for sq, m := range p.men {
		switch {
		case !m.There || m.Kind == King:
		case m.Kind == Bishop:
			minors++
			shades[(Square(sq).File()+Square(sq).Rank())%2]++
		case m.Kind == Knight:
			minors++
		default:
			return false
		}
	}
	return minors <= 1 || shades[0] == minors || shades[1] == minors
}

// Covers says whether side c attacks sq, with the king of the other side
// taken off the board so that lines go through it.
func (p Position) Covers(c Color, sq Square) bool {
	men := p.men
	men[p.King(1-c)] = Man{}
	_, ok := men.attacker(sq, c)
	return ok
}

// Cover is the set of squares that side c attacks, as Covers tells them one by
// one.
func (p Position) Cover(c Color) (covered [64]bool) {
	men := p.men
	men[p.King(1-c)] = Man{}
	for from, m := range men {
		if !m.There || m.Color != c {
			continue
		}
		for to := range covered {
			covered[to] = covered[to] || men.attacks(Square(from), Square(to))
		}
	}
	return covered
}

// Play makes a legal move of this position.
func (p Position) Play(m Move) Position { return fromLibrary(p.pos.Update(p.library(m))) }

// library is a move as the library has it. The library's moves are large, and a
// position has them already.
func (p Position) library(m Move) *chess.Move {
	legal := p.pos.ValidMovesUnsafe()
	for i := range legal {
		if own := fromLibraryMove(legal[i]); own.From == m.From && own.To == m.To && own.Promotion == m.Promotion {
			return &legal[i]
		}
	}
	panic(fmt.Sprintf("%s is no move of %s", m.UCI(), p.FEN()))
}

// Find reads a move in coordinates ("e2e4") or SAN and finds it among the
// legal ones. Nothing else is accepted.
func (p Position) Find(text string) (Move, error) {
	want := strings.TrimRight(strings.TrimSpace(text), "+#!?")
	for _, m := range p.moves {
		if m.UCI() == want {
			return m, nil
		}
	}
	for _, m := range p.moves { // SAN costs far more to write, and a replay of a log needs none
		if strings.TrimRight(p.SAN(m), "+#") == want {
			return m, nil
		}
	}
	return Move{}, game.Fail(game.Bad, fmt.Sprintf("%q is not a legal move here. Choose another.", clip(text)))
}

func clip(s string) string {
	if r := []rune(s); len(r) > 12 {
		return string(r[:12]) + "..."
	}
	return s
}

// SAN writes a legal move in standard algebraic notation.
func (p Position) SAN(m Move) string { return chess.AlgebraicNotation{}.Encode(p.pos, p.library(m)) }

// Key tells positions apart as FIDE Laws 9.2.3 does: same men on the same
// squares, same side to move, same rights to castle and to capture en passant.
func (p Position) Key() string {
	f := strings.Fields(p.FEN())
	passing := "-"
	if sq, ok := p.Passing(); ok {
		passing = sq.String()
	}
	return strings.Join([]string{f[0], f[1], f[2], passing}, " ")
}

// Same says whether two positions have the same key; it writes none.
func (p Position) Same(q Position) bool {
	if p.men != q.men || p.Turn() != q.Turn() || p.pos.CastleRights() != q.pos.CastleRights() {
		return false
	}
	a, passes := p.Passing()
	b, passed := q.Passing()
	return a == b && passes == passed
}

// Pass lets the turn go to the other side without a move, which the rules of
// chess do not know: for questions such as 'what would he like to play?'. ok is
// false where the side to move stands in check.
func (p Position) Pass() (next Position, ok bool) {
	if p.InCheck() {
		return Position{}, false
	}
	f := strings.Fields(p.FEN())
	f[1], f[3] = map[string]string{"w": "b", "b": "w"}[f[1]], "-"
	next, err := load(strings.Join(f, " "))
	return next, err == nil
}

// CoveredFrom lists the squares that the man on a square attacks, with the king
// of the other side taken off the board so that lines go through it.
func (p Position) CoveredFrom(from Square) []Square {
	men := p.men
	men[p.King(1-men[from].Color)] = Man{}
	var squares []Square
	for sq := Square(0); sq < 64; sq++ {
		if men.attacks(from, sq) {
			squares = append(squares, sq)
		}
	}
	return squares
}
