package solver

// converter enters in the schedules of a pass what captures and promotions
// bring: each is looked up in the table of the ending that it leads to. A
// defender lost at layer n there makes the attacker win here at layer n+1; an
// attacker that wins there at layer n makes the defender's way out lose here
// at layer n.
type converter struct {
	material
	table func(material) *table // nil if the attacker cannot win there
}

// prepare fills the schedules of every block.
func (c *converter) prepare(p *pass, s *start) {
	p.each(func(b *block) {
		for slot := range b.men {
			taken := s.taken[b.king*b.slots+slot]
			c.attacker(b, int32(slot), b.open[slot]&^taken)
			switch {
			case b.guarded && c.defend == Pawn:
				c.promotes(b, int32(slot))
			case !b.guarded && taken != 0 && len(b.kinds) == 2:
				c.taken(b, int32(slot), taken)
			}
		}
	})
}

// layers collects a byte for each of a set of squares, then lists the squares of
// each byte.
type layers struct {
	of      [64]uint8
	squares set // those with a byte
}

// least keeps the lower of the bytes that are not 0.
func (l *layers) least(squares set, bytes []uint8, base int, board *[64]Square) {
	for ; squares != 0; squares &= squares - 1 {
		q := squares.first() & 63
		if v := bytes[base|int(board[q])]; v-1 < l.of[q]-1 { // 0 wraps to the greatest
			l.of[q] = v
			l.squares |= q.bit()
		}
	}
}

// most keeps the higher byte; a 0 takes the square out for good.
func (l *layers) most(bytes []uint8, base int, board *[64]Square) {
	for rest := l.squares; rest != 0; rest &= rest - 1 {
		q := rest.first() & 63
		v := bytes[base|int(board[q])]
		if v == 0 {
			l.squares &^= q.bit()
		}
		l.of[q] = max(l.of[q], v)
	}
}

// enter adds an entry for each byte v, at layer v-1+delay.
func (l *layers) enter(s *schedule, slot int32, what event, delay int) {
	for squares := l.squares; squares != 0; {
		v := l.of[squares.first()&63]
		var same set
		for rest := squares; rest != 0; rest &= rest - 1 {
			if q := rest.first() & 63; l.of[q] == v {
				same |= q.bit()
			}
		}
		s.add(int(v)-1+delay, due{same, slot, what})
		squares &^= same
	}
}

// attacker enters the attacker's captures and promotions from a slot.
func (c *converter) attacker(b *block, slot int32, squares set) {
	if squares == 0 || !b.guarded && !c.pawns() {
		return
	}
	var best layers
	men := b.men[slot]
	occupied, _ := b.occupied(b.king, men)
	for i, k := range c.attack {
		if k == Pawn && men[i].rank() == 6 && !occupied.has(men[i]+8) {
			c.promote(&best, b.at, men, i, men[i]+8, c.material, squares)
		}
	}
	if b.guarded {
		c.captures(&best, b.at, men, occupied, squares)
	}
	best.enter(&b.due, slot, converted, 1)
	if b.guarded && c.defend == Pawn && c.attack[0] == Pawn {
		c.passing(b, slot, occupied)
	}
}

// captures adds what the attacker wins by taking the defender's man.
func (c *converter) captures(best *layers, king Square, men [2]Square, occupied, squares set) {
	own := Man{c.attack[0], White, men[0]}
	target := men[1]
	if own.attacks(occupied).has(target) {
		if own.Kind == Pawn && target.rank() == 7 {
			c.promote(best, king, men, 0, target, c.undefended(), squares)
		} else {
			c.lost(best, c.undefended(), king, [2]Square{target}, squares)
		}
	}
	if reach[King][king].has(target) {
		c.lost(best, c.undefended(), target, [2]Square{men[0]}, squares)
	}
}

// promote adds the four promotions of the attacker's man i on a square, in the
// material that stands on the board just before the exchange of the man.
func (c *converter) promote(best *layers, king Square, men [2]Square, i int, to Square, m material, squares set) {
	men[i] = to
	for k := Queen; k <= Knight; k++ {
		next, swapped := m.promoted(i, k)
		if swapped {
			c.lost(best, next, king, [2]Square{men[1], men[0]}, squares)
		} else {
			c.lost(best, next, king, men, squares)
		}
	}
}

// lost adds the layers at which the defender is lost in another ending.
func (c *converter) lost(best *layers, m material, king Square, men [2]Square, squares set) {
	if t := c.table(m); t != nil && t.mate != nil {
		base, board := t.word(king, men)
		best.least(squares, t.mate.defend, base, board)
	}
}

// passing enters what the attacker's pawn wins by taking a pawn that has just
// come to this slot by a double step.
func (c *converter) passing(b *block, slot int32, occupied set) {
	men := b.men[slot]
	pawn := men[1]
	if pawn.rank() != 4 || !beside(men[0]).has(pawn) || occupied.has(pawn+8) || occupied.has(pawn+16) {
		return
	}
	var best layers
	c.lost(&best, c.undefended(), b.at, [2]Square{pawn + 8}, b.open[slot])
	best.enter(&b.due, slot, passedWins, 1)
}

// promotes enters when the promotion of the defender's pawn is known to lose,
// whatever it becomes. Where the pawn can also take the attacker's man it has a
// way out for good.
func (c *converter) promotes(b *block, slot int32) {
	men := b.men[slot]
	occupied, _ := b.occupied(b.king, men)
	man := Man{Pawn, Black, men[1]}
	to := queening(man, occupied)
	if to == NoSquare || man.attacks(occupied).has(men[0]) {
		return
	}
	worst := layers{squares: b.guard.out[slot]}
	for k := Queen; k <= Knight; k++ {
		t := c.table(material{c.attack, k})
		if t == nil || t.mate == nil {
			return
		}
		base, board := t.word(b.at, [2]Square{men[0], to})
		worst.most(t.mate.attack, base, board)
	}
	worst.enter(&b.due, slot, outLoses, 0)
}

// taken enters the captures by the defending king that still lose.
func (c *converter) taken(b *block, slot int32, taken set) {
	for i, at := range b.men[slot] {
		if !taken.has(at) {
			continue
		}
		t := c.table(c.without(i))
		if t == nil || t.mate == nil {
			continue
		}
		left := [2]Square{b.men[slot][1-i], NoSquare}
		if v := t.mate.attack[t.find(b.at, left, at)]; v > 0 {
			b.due.add(int(v)-1, due{at.bit(), slot, takenLoses})
		}
	}
}
