package solver

import (
	"context"
	"fmt"
)

// place is a position as a table sees it: the attacker White.
type place struct {
	table     *table // nil for a draw by lack of men
	index     int    // of the position's byte
	lone      Square // the defending king, board not turned
	attacking bool   // the attacker is to move
}

// find returns the table of a position, building it if need be, and the place
// in it. The men must be those of a legal position (see Position.Check); an
// illegal placement is found as a draw.
func (t *Tables) find(ctx context.Context, p *Position) (f place, err error) {
	s, ok := p.sides()
	if !ok {
		return f, ErrPosition
	}
	attacker := attackerOf(&s)
	a, d := &s[attacker], &s[attacker.Other()]
	if d.count > 0 || !solvable(a.kinds) {
		return f, fmt.Errorf("%s: %w", p.Name(), ErrNoTable)
	}
	f.attacking = p.Turn == attacker
	f.lone = d.king
	if hopeless(a.kinds) {
		return f, nil
	}
	if f.table = t.ready[a.code()].Load(); f.table == nil {
		if f.table, err = t.wait(ctx, a.kinds); err != nil {
			return f, err
		}
	}
	if attacker == Black {
		for i := range a.count {
			a.at[i] ^= 56
		}
		f.index = f.table.find(a.king^56, a.at, d.king^56)
	} else {
		f.index = f.table.find(a.king, a.at, d.king)
	}
	return f, nil
}

// Probe returns the value of a position, which must be legal
// (Position.Check). The first probe of an ending waits for its table; the
// error is then that of the context, ErrNoTable or ErrPosition.
func (t *Tables) Probe(ctx context.Context, p Position) (Value, error) {
	f, err := t.find(ctx, &p)
	if err != nil || f.table == nil {
		return Value{}, err
	}
	if f.attacking {
		if v := f.table.mate.attack[f.index]; v > 0 {
			return Value{Win, 2*int(v) - 3}, nil
		}
		return Value{}, nil
	}
	if v := f.table.mate.defend[f.index]; v > 0 {
		return Value{Loss, 2*int(v) - 2}, nil
	}
	return Value{}, nil
}

// Held reports for the regions 1 to 3 whether the position lies in H(F): the
// attacker can force mate so that the lone king never again stands on F and no
// man of the attacker is taken. Errors are those of Probe and ErrNoRegions.
func (t *Tables) Held(ctx context.Context, p Position) (held [3]bool, err error) {
	f, err := t.staged(ctx, &p)
	if err != nil {
		return held, err
	}
	for r := range held {
		held[r] = f.held(r + 1)
	}
	return held, nil
}

// Par returns the fewest moves of the attacker that force the position into
// H of the region (1 to 3) without the loss of a man; mate counts as reached. It
// is 0 when the region is held, and ok is false when it cannot be forced.
func (t *Tables) Par(ctx context.Context, p Position, region int) (moves int, ok bool, err error) {
	if region < 1 || region > regions {
		return 0, false, fmt.Errorf("there is no region %d: ask for 1, 2 or 3", region)
	}
	f, err := t.staged(ctx, &p)
	if err != nil {
		return 0, false, err
	}
	moves, ok = f.par(region)
	return moves, ok, nil
}

// staged finds a position of an ending that has regions.
func (t *Tables) staged(ctx context.Context, p *Position) (f place, err error) {
	f, err = t.find(ctx, p)
	if err == nil && (f.table == nil || f.table.par[0] == nil) {
		err = fmt.Errorf("%s: %w", p.Name(), ErrNoRegions)
	}
	return f, err
}

// par returns the moves to a region; ok is false if it cannot be forced.
func (f *place) par(region int) (moves int, ok bool) {
	v := f.table.par[region-1]
	bytes := v.defend
	if f.attacking {
		bytes = v.attack
	}
	return int(bytes[f.index]) - 1, bytes[f.index] > 0
}

// held reports whether a region is held: its par is 0 and the lone king does
// not stand on its squares. (With the defender to move the par is also 0 where
// he stands there and has to leave for good.)
func (f *place) held(region int) bool {
	par, ok := f.par(region)
	return ok && par == 0 && !regionSquares[region].has(f.lone)
}
