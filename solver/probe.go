package solver

import (
	"context"
	"fmt"
)

// place is a position as a table of its attacker sees it.
type place struct {
	table     *table // nil if the attacker can never win
	index     int    // of the position's byte
	lone      Square // the defending king, board not turned
	attacking bool   // the attacker is to move
}

// flips holds for each colour of the attacker what makes it White: squares xor 56
// mirror the ranks.
var flips = [2]Square{White: 0, Black: 56}

// find returns the place of a position among the wins of one colour.
func (t *Tables) find(ctx context.Context, s *[2]side, attacker Color) (f place, err error) {
	a, d := &s[attacker], &s[attacker.Other()]
	if a.count+d.count > MaxMen-2 {
		return f, ErrPosition
	}
	f.lone = d.king
	if f.table, err = t.table(ctx, material{a.kinds, d.kinds[0]}); f.table == nil {
		return f, err
	}
	men, flip := a.at, flips[attacker&1]
	if d.count > 0 {
		men[1] = d.at[0]
	}
	f.index = f.table.find(a.king^flip, [2]Square{men[0] ^ flip, men[1] ^ flip}, d.king^flip)
	return f, nil
}

// table returns the wins of a side against another, nil if it has none.
func (t *Tables) table(ctx context.Context, m material) (*table, error) {
	shelf := &t.slots[m.code()]
	have := shelf.table.Load()
	if have == nil {
		return t.missing(ctx, m)
	}
	if now := t.now.Load(); shelf.used.Load() != now {
		shelf.used.Store(now)
	}
	return have.winning(), nil
}

// missing waits for a table that is not there.
func (t *Tables) missing(ctx context.Context, m material) (*table, error) {
	have, err := t.wait(ctx, m)
	if err != nil {
		return nil, err
	}
	return have.winning(), nil
}

// winning returns the table, nil if nothing is won in it.
func (t *table) winning() *table {
	if t.mate == nil {
		return nil
	}
	return t
}

// Probe returns the value of a position, which must be legal
// (Position.Validate). The first probe of an ending waits for its tables; the
// error is then that of the context, or ErrPosition.
func (t *Tables) Probe(ctx context.Context, p Position) (Value, error) {
	s, ok := p.sides()
	if !ok {
		return Value{}, ErrPosition
	}
	v, err := t.value(ctx, &s, p.Turn)
	if p.EnPassant < NoSquare && err == nil && p.mayPass() {
		return t.passing(ctx, &p, v)
	}
	return v, err
}

// mayPass reports whether a pawn of the side to move stands ready to take in
// passing.
func (p *Position) mayPass() bool {
	ready := pawnReach[p.Turn.Other()&1][p.EnPassant]
	for _, m := range p.men() {
		if m.Kind == Pawn && m.Color == p.Turn && ready.has(m.At) {
			return true
		}
	}
	return false
}

// value looks a position up in the wins of the side to move, then in those of
// the other.
func (t *Tables) value(ctx context.Context, s *[2]side, turn Color) (v Value, err error) {
	for _, winner := range [2]Color{turn, turn.Other()} {
		if s[winner].count == 0 {
			continue
		}
		f, err := t.find(ctx, s, winner)
		if err != nil {
			return v, err
		}
		if f.table == nil {
			continue
		}
		if v = f.table.mate.value(f.index, winner == turn); v.Outcome != Draw {
			return v, nil
		}
	}
	return v, nil
}

// value reads the value for the side to move, attacker or defender.
func (v *values) value(index int, attacking bool) Value {
	if attacking {
		if n := v.attack[index]; n > 0 {
			return Value{Win, 2*int(n) - 3}
		}
	} else if n := v.defend[index]; n > 0 {
		return Value{Loss, 2*int(n) - 2}
	}
	return Value{}
}

// passing returns the value of a position in which a pawn may be able to take
// in passing; v is its value if it may not. If that is a stalemate the capture
// is forced.
func (t *Tables) passing(ctx context.Context, p *Position, v Value) (Value, error) {
	var buf [64]Move
	moves := p.Moves(buf[:0])
	forced := true
	taken := Value{}
	found := false
	for _, m := range moves {
		if m.To != p.EnPassant || !m.Capture || !p.hasPawn(m.From, p.Turn) {
			forced = false
			continue
		}
		after, err := t.Probe(ctx, p.Play(m))
		if err != nil {
			return Value{}, err
		}
		if w := after.before(); !found || w.better(taken) {
			taken, found = w, true
		}
	}
	if found && (forced || taken.better(v)) {
		return taken, nil
	}
	return v, nil
}

// before returns the value for the other side one move earlier.
func (v Value) before() Value {
	if v.Outcome == Draw {
		return v
	}
	return Value{-v.Outcome, v.Plies + 1}
}

// better reports whether the side to move prefers v to w: a quicker win, a
// slower loss.
func (v Value) better(w Value) bool {
	switch {
	case v.Outcome != w.Outcome:
		return v.Outcome > w.Outcome
	case v.Outcome == Win:
		return v.Plies < w.Plies
	}
	return v.Plies > w.Plies
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
	s, ok := p.sides()
	if !ok {
		return f, ErrPosition
	}
	attacker := attackerOf(&s)
	if !hasPlan(material{s[attacker].kinds, s[attacker.Other()].kinds[0]}) {
		return f, fmt.Errorf("%s: %w", p.Name(), ErrNoRegions)
	}
	f, err = t.find(ctx, &s, attacker)
	f.attacking = p.Turn == attacker
	return f, err
}

func hasPlan(m material) bool {
	for i := range plans {
		if plans[i] == m {
			return true
		}
	}
	return false
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
