package solver

import (
	"context"
	"errors"
	"fmt"
)

// ErrNoFront is returned, wrapped with the name of the ending, where Front is
// asked of another ending than king and pawn against king.
var ErrNoFront = errors.New("only king and pawn against king has the stage of getting in front")

// deadDepth is how many moves ahead Dead looks for a way round forced captures.
// Every dead position with more men than bare kings and a light man is settled
// in fewer; the tests hold that against the definition.
const deadDepth = 6

// Dead reports whether the position is dead (FIDE Laws 5.2.2): neither side can
// give mate by any series of legal moves. It is not for positions that have
// ended: stalemate and mate are not called dead.
func (p Position) Dead() bool {
	var buf [64]Move
	return len(p.Moves(buf[:0])) > 0 && p.barren(deadDepth)
}

// barren reports that no series of moves leads to mate: the men cannot, or every
// move leads to a barren position.
func (p Position) barren(depth int) bool {
	if p.cannotMate() {
		return true
	}
	var buf [64]Move
	moves := p.Moves(buf[:0])
	if len(moves) == 0 {
		return !p.InCheck()
	}
	if depth == 0 {
		return false
	}
	for _, m := range moves {
		if !p.Play(m).barren(depth - 1) {
			return false
		}
	}
	return true
}

// cannotMate reports that the men alone rule mate out: bare kings, one light man,
// or bishops on squares of one colour.
func (p *Position) cannotMate() bool {
	var men, bishops, dark int
	for _, m := range p.men() {
		switch m.Kind {
		case King:
		case Bishop:
			bishops++
			dark += (m.At.file() + m.At.rank() + 1) & 1
		case Knight:
			men++
		default:
			return false
		}
	}
	return men+bishops <= 1 || men == 0 && (dark == 0 || dark == bishops)
}

// Front reports whether the pawn wins whoever moves: the king of its side has got
// in front, the first stage of king and pawn against king. The right to move
// is passed only where that leaves a legal position. Errors are those of Probe
// and ErrNoFront for another ending.
func (t *Tables) Front(ctx context.Context, p Position) (bool, error) {
	if p.Name() != "KPK" {
		return false, fmt.Errorf("%s: %w", p.Name(), ErrNoFront)
	}
	won, err := t.wins(ctx, p)
	p.Turn = p.Turn.Other()
	if !won || err != nil || p.Validate() != nil {
		return won, err
	}
	return t.wins(ctx, p)
}

// wins reports whether the side that the name puts first wins.
func (t *Tables) wins(ctx context.Context, p Position) (bool, error) {
	v, err := t.Probe(ctx, p)
	if p.Turn == p.Attacker() {
		return v.Outcome == Win, err
	}
	return v.Outcome == Loss, err
}
