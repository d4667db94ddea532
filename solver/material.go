package solver

import "fmt"

// material is what stands on the board besides the kings, seen from the side
// whose wins a table holds. King, the zero kind, stands for no man. The
// attacker's men are in name order.
type material struct {
	attack [2]Kind
	defend Kind
}

// materials is the number of codes; see material.code.
const materials = 6 * 6 * 6

func (m material) code() int {
	return (int(m.attack[0])*6+int(m.attack[1]))*6 + int(m.defend)
}

// kinds lists the men in the order of the index.
func (m material) kinds() (k []Kind) {
	for _, kind := range []Kind{m.attack[0], m.attack[1], m.defend} {
		if kind != King {
			k = append(k, kind)
		}
	}
	return k
}

func (m material) pawns() bool {
	return m.attack[0] == Pawn || m.attack[1] == Pawn || m.defend == Pawn
}

// hopeless reports whether the attacker cannot mate at all.
func (m material) hopeless() bool {
	light := m.attack[0] == King || m.attack[0] == Bishop || m.attack[0] == Knight
	return light && m.attack[1] == King && (m.defend == King || m.attack[0] == King)
}

// name returns the name with the attacker first, such as "KRKQ" for the wins of
// the rook's side.
func (m material) name() string {
	b := []byte{'K'}
	for _, k := range m.kinds() {
		if k == m.defend && m.defend != King && len(b) > 1 {
			b = append(b, 'K')
		}
		b = append(b, kindLetters[k])
	}
	if m.defend == King {
		b = append(b, 'K')
	}
	return string(b)
}

// reversed exchanges the roles of attacker and defender, of whom neither may have
// two men.
func (m material) reversed() material {
	return material{attack: [2]Kind{m.defend}, defend: m.attack[0]}
}

// winners lists the material as each side sees it that can win: one table each.
func (m material) winners() (list []material) {
	if !m.hopeless() {
		list = append(list, m)
	}
	if m.defend != King && m.defend != m.attack[0] {
		list = append(list, m.reversed())
	}
	return list
}

// without returns the material when the attacker's man i is gone.
func (m material) without(i int) material {
	return material{attack: [2]Kind{m.attack[1-i]}, defend: m.defend}
}

// undefended returns the material when the defender's man is gone.
func (m material) undefended() material { return material{attack: m.attack} }

// promoted returns the material when the attacker's pawn i has become a k, and
// whether the two men then change places in the index.
func (m material) promoted(i int, k Kind) (p material, swapped bool) {
	p = m
	p.attack[i] = k
	if p.attack[1] != King && p.attack[0] > p.attack[1] {
		p.attack[0], p.attack[1] = p.attack[1], p.attack[0]
		return p, true
	}
	return p, false
}

// leads lists the materials that one capture or promotion reaches and in which
// the attacker can still win.
func (m material) leads() (list []material) {
	add := func(next material) {
		if !next.hopeless() {
			list = append(list, next)
		}
	}
	if m.defend != King {
		add(m.undefended())
	} else if m.attack[1] != King {
		add(m.without(0))
		add(m.without(1))
	}
	for k := Queen; k <= Knight; k++ {
		for i, own := range m.attack {
			if own == Pawn {
				next, _ := m.promoted(i, k)
				add(next)
				add(next.undefended())
			}
		}
		if m.defend == Pawn {
			add(material{m.attack, k})
		}
	}
	return list
}

// named returns the material of an ending's own name, the stronger side first.
func named(name string) (material, error) {
	for _, m := range allEndings() {
		if m.name() == name {
			return m, nil
		}
	}
	return material{}, fmt.Errorf("%s: %w", name, ErrNoTable)
}

// allEndings lists every ending of three and four men under its own name:
// fewer men first, then those without pawns.
func allEndings() (list []material) {
	for a := Queen; a <= Pawn; a++ {
		list = append(list, material{attack: [2]Kind{a}})
	}
	for _, pawns := range []bool{false, true} {
		for a := Queen; a <= Pawn; a++ {
			for b := a; b <= Pawn; b++ {
				if (b == Pawn) == pawns {
					list = append(list, material{attack: [2]Kind{a, b}}, material{attack: [2]Kind{a}, defend: b})
				}
			}
		}
	}
	return list
}

// Endings returns the names of all endings of three and four men, each with the
// stronger side first.
func Endings() (names []string) {
	for _, m := range allEndings() {
		names = append(names, m.name())
	}
	return names
}
