package solver

// Moves appends the legal moves to buf and returns it. It allocates only when
// buf has no room; 64 entries are enough for four men.
func (p Position) Moves(buf []Move) []Move {
	own, other := p.occupied(p.Turn), p.occupied(p.Turn.Other())
	for _, m := range p.men() {
		switch {
		case m.Color != p.Turn:
		case m.Kind == Pawn:
			buf = p.pawnMoves(buf, m, own|other, other)
		default:
			for to := attacks(m.Kind, m.At, own|other) &^ own; to != 0; to &= to - 1 {
				buf = p.add(buf, Move{From: m.At, To: to.first(), Capture: other.has(to.first())})
			}
		}
	}
	return buf
}

// add appends the move if it leaves the own king out of check.
func (p *Position) add(buf []Move, m Move) []Move {
	after := p.Play(m)
	if after.attacked(after.king(p.Turn), after.Turn) {
		return buf
	}
	return append(buf, m)
}

func (p *Position) pawnMoves(buf []Move, m Man, occupied, other set) []Move {
	takes := other
	if p.EnPassant < NoSquare {
		takes |= p.EnPassant.bit()
	}
	for to := pawnReach[m.Color][m.At] & takes; to != 0; to &= to - 1 {
		buf = p.addPawn(buf, Move{From: m.At, To: to.first(), Capture: true})
	}
	for to := pawnSteps(m, occupied); to != 0; to &= to - 1 {
		buf = p.addPawn(buf, Move{From: m.At, To: to.first()})
	}
	return buf
}

// pawnSteps returns the squares straight ahead that a pawn can go to.
func pawnSteps(m Man, occupied set) set {
	if m.Color == White {
		one := m.At.bit() << 8 &^ occupied
		return one | (one&0xff0000)<<8&^occupied
	}
	one := m.At.bit() >> 8 &^ occupied
	return one | (one&0xff0000000000)>>8&^occupied
}

// addPawn adds one move, or four if the pawn promotes.
func (p *Position) addPawn(buf []Move, m Move) []Move {
	if m.To.rank() != 0 && m.To.rank() != 7 {
		return p.add(buf, m)
	}
	for k := Queen; k <= Knight; k++ {
		m.Promotion = k
		buf = p.add(buf, m)
	}
	return buf
}

// Play returns the position after a legal move. Men keep their order, a taken
// man is closed up. The square for taking in passing is set only if a pawn
// of the other side stands ready to do so.
func (p Position) Play(m Move) Position {
	next := Position{Turn: p.Turn.Other(), EnPassant: NoSquare}
	taken := p.taken(m)
	for _, man := range p.men() {
		if man.At == taken && man.Color != p.Turn {
			continue
		}
		if man.At == m.From {
			man.At = m.To
			next.EnPassant = p.passed(man.Kind, m)
			if m.Promotion != King {
				man.Kind = m.Promotion
			}
		}
		next.Men[next.Count] = man
		next.Count++
	}
	return next
}

// taken returns the square of the man that a move takes, NoSquare if none.
func (p *Position) taken(m Move) Square {
	switch {
	case !m.Capture:
		return NoSquare
	case m.To == p.EnPassant && p.hasPawn(m.From, p.Turn):
		return m.From&^7 | m.To&7
	}
	return m.To
}

// passed returns the square behind a pawn that goes two squares beside a pawn
// of the other side, else NoSquare.
func (p *Position) passed(k Kind, m Move) Square {
	if k != Pawn || max(m.From, m.To)-min(m.From, m.To) != 16 {
		return NoSquare
	}
	middle := (m.From + m.To) / 2
	beside := (m.To.bit()&^fileA)>>1 | (m.To.bit()&^fileH)<<1
	for ; beside != 0; beside &= beside - 1 {
		if p.hasPawn(beside.first(), p.Turn.Other()) {
			return middle
		}
	}
	return NoSquare
}
