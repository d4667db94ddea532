package solver

// side is what one colour has: its king and its other men in name order.
type side struct {
	king  Square
	count uint8
	kinds [MaxMen - 2]Kind
	at    [MaxMen - 2]Square
}

// add puts a man other than the king in its place in name order. It reports
// false if there is no room.
func (s *side) add(m Man) bool {
	if int(s.count) == len(s.kinds) {
		return false
	}
	i := s.count
	for ; i > 0 && s.kinds[i-1] > m.Kind; i-- {
		s.kinds[i], s.at[i] = s.kinds[i-1], s.at[i-1]
	}
	s.kinds[i], s.at[i] = m.Kind, m.At
	s.count++
	return true
}

// code numbers the material of a side other than the king: 0 for none. A
// king's zero in kinds stands for no man.
func (s *side) code() int { return int(s.kinds[0])*6 + int(s.kinds[1]) }

// stronger reports whether the name of an ending puts s before o: the side
// with more men, then the one with the stronger men.
func (s *side) stronger(o *side) bool {
	if s.count != o.count {
		return s.count > o.count
	}
	return s.code() < o.code()
}

// sides splits a position by colour; ok is false if it has not one king each
// more men than a table can hold, or a man where it cannot stand.
func (p *Position) sides() (s [2]side, ok bool) {
	s[White].king, s[Black].king = NoSquare, NoSquare
	if p.Count > MaxMen {
		return s, false
	}
	for i := range p.Count {
		m := p.Men[i]
		switch {
		case m.Color > Black || m.Kind > Pawn || m.At >= NoSquare || !mayStand(m.Kind, m.At):
			return s, false
		case m.Kind != King:
			if !s[m.Color].add(m) {
				return s, false
			}
		case s[m.Color].king != NoSquare:
			return s, false
		default:
			s[m.Color].king = m.At
		}
	}
	return s, s[White].king != NoSquare && s[Black].king != NoSquare
}

// attackerOf returns the colour that the name of an ending puts first.
func attackerOf(s *[2]side) Color {
	if s[Black].stronger(&s[White]) {
		return Black
	}
	return White
}

// Attacker returns the colour that the name of the ending puts first: the
// side with more men, then with the stronger men, then White.
func (p Position) Attacker() Color {
	s, _ := p.sides()
	return attackerOf(&s)
}

// Name returns the name of the ending, such as "KBNK" or "KQKR": the men of
// the side that Attacker returns, then those of the other, each in the order
// king, queen, rook, bishop, knight, pawn. It is "" if the men are not those of a
// legal position of up to four men.
func (p Position) Name() string {
	s, ok := p.sides()
	if !ok {
		return ""
	}
	a := attackerOf(&s)
	return s[a].name() + s[a.Other()].name()
}

func (s *side) name() string {
	b := []byte{kindLetters[King]}
	for _, k := range s.kinds[:s.count] {
		b = append(b, kindLetters[k])
	}
	return string(b)
}
