package solver

import "fmt"

// MaxMen is the greatest number of men, kings included, in a position.
const MaxMen = 4

// Position is a placement of men, the side to move and the square on which a
// pawn may be taken in passing (NoSquare if none). The first Count entries of
// Men are used. The zero value is not a legal position.
type Position struct {
	Men       [MaxMen]Man
	Count     int
	Turn      Color
	EnPassant Square
}

func (p *Position) men() []Man { return p.Men[:p.Count] }

// occupied returns the squares with a man of the colour.
func (p *Position) occupied(c Color) (s set) {
	for _, m := range p.men() {
		if m.Color == c {
			s |= m.At.bit()
		}
	}
	return s
}

// king returns the square of a colour's king, NoSquare if it has none.
func (p *Position) king(c Color) Square {
	for _, m := range p.men() {
		if m.Kind == King && m.Color == c {
			return m.At
		}
	}
	return NoSquare
}

// attacked reports whether a man of the colour attacks the square.
func (p *Position) attacked(s Square, by Color) bool {
	occupied := p.occupied(White) | p.occupied(Black)
	for _, m := range p.men() {
		if m.Color == by && m.attacks(occupied).has(s) {
			return true
		}
	}
	return false
}

func (m Man) attacks(occupied set) set {
	if m.Kind == Pawn {
		return pawnReach[m.Color][m.At]
	}
	return attacks(m.Kind, m.At, occupied)
}

// InCheck reports whether the side to move stands in check.
func (p Position) InCheck() bool {
	king := p.king(p.Turn)
	return king != NoSquare && p.attacked(king, p.Turn.Other())
}

// Validate returns nil if the placement is legal, else an error whose text says
// what to change.
func (p Position) Validate() error {
	if p.Count < 2 || p.Count > MaxMen {
		return fmt.Errorf("the board has %d men: two to %d can be solved, both kings among them", p.Count, MaxMen)
	}
	if err := p.validateMen(); err != nil {
		return err
	}
	for c := White; c <= Black; c++ {
		if err := p.validateKing(c); err != nil {
			return err
		}
	}
	if p.attacked(p.king(White), Black) && reach[King][p.king(White)].has(p.king(Black)) {
		return fmt.Errorf("the kings on %v and %v touch: move one away", p.king(White), p.king(Black))
	}
	if p.attacked(p.king(p.Turn.Other()), p.Turn) {
		return fmt.Errorf("%v is in check with %v to move: give the move to %v or lift the check", p.Turn.Other(), p.Turn,
			p.Turn.Other())
	}
	return p.validateEnPassant()
}

func (p *Position) validateMen() error {
	var seen set
	for _, m := range p.men() {
		switch {
		case m.Kind > Pawn || m.Color > Black:
			return fmt.Errorf("there is an unknown man on %v: use kings, queens, rooks, bishops, knights and pawns", m.At)
		case m.At >= NoSquare:
			return fmt.Errorf("the %v %v is off the board: put it on a square from a1 to h8", m.Color, m.Kind)
		case seen.has(m.At):
			return fmt.Errorf("two men stand on %v: move one of them", m.At)
		case m.Kind == Pawn && (m.At.rank() == 0 || m.At.rank() == 7):
			return fmt.Errorf("the pawn on %v stands on the first or last row: put it on rows 2 to 7", m.At)
		}
		seen |= m.At.bit()
	}
	return nil
}

func (p *Position) validateKing(c Color) error {
	kings := 0
	for _, m := range p.men() {
		if m.Kind == King && m.Color == c {
			kings++
		}
	}
	if kings != 1 {
		return fmt.Errorf("%v has %d kings: each side needs exactly one", c, kings)
	}
	return nil
}

// validateEnPassant wants a pawn that can have just gone two squares forward.
func (p *Position) validateEnPassant() error {
	if p.EnPassant == NoSquare {
		return nil
	}
	row, step := 5, 8
	if p.Turn == Black {
		row, step = 2, -8
	}
	if p.EnPassant > NoSquare || p.EnPassant.rank() != row {
		return fmt.Errorf("no pawn can be taken in passing on %v: name the square behind the pawn that moved, or none",
			p.EnPassant)
	}
	origin, pawn := Square(int(p.EnPassant)+step), Square(int(p.EnPassant)-step)
	free := ^(p.occupied(White) | p.occupied(Black))
	if !free.has(origin) || !free.has(p.EnPassant) || !p.hasPawn(pawn, p.Turn.Other()) {
		return fmt.Errorf("no pawn has just passed %v: leave the square for taking in passing out", p.EnPassant)
	}
	return nil
}

func (p *Position) hasPawn(at Square, c Color) bool {
	for _, m := range p.men() {
		if m == (Man{Pawn, c, at}) {
			return true
		}
	}
	return false
}
