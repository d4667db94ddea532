package solver

var (
	rookSteps   = [][2]int{{1, 0}, {-1, 0}, {0, 1}, {0, -1}}
	bishopSteps = [][2]int{{1, 1}, {1, -1}, {-1, 1}, {-1, -1}}
	knightSteps = [][2]int{{1, 2}, {2, 1}, {2, -1}, {1, -2}, {-1, -2}, {-2, -1}, {-2, 1}, {-1, 2}}
)

// reach holds the squares that a man attacks on an empty board; pawns are
// looked up in pawnReach.
var reach = makeReach()

// pawnReach holds the two squares that a pawn of each colour attacks.
var pawnReach = makePawnReach()

// behind holds the squares that a man on the second square hides from a
// line-moving man on the first: those further along the line. It is empty if
// the two are not on a line.
var behind = makeBehind()

// between holds the squares strictly between two squares of a line.
var between = makeBetween()

func makeReach() (table [Pawn][64]set) {
	for s := range Square(64) {
		table[King][s] = s.bit().dilate()
		table[Rook][s] = walk(s, rookSteps, 8)
		table[Bishop][s] = walk(s, bishopSteps, 8)
		table[Queen][s] = table[Rook][s] | table[Bishop][s]
		table[Knight][s] = walk(s, knightSteps, 1)
	}
	return table
}

func makePawnReach() (table [2][64]set) {
	for s := range Square(64) {
		table[White][s] = walk(s, [][2]int{{1, 1}, {-1, 1}}, 1)
		table[Black][s] = walk(s, [][2]int{{1, -1}, {-1, -1}}, 1)
	}
	return table
}

// walk returns the squares met from s by up to so many steps in each direction.
func walk(s Square, steps [][2]int, most int) (met set) {
	for _, d := range steps {
		f, r := s.file()+d[0], s.rank()+d[1]
		for n := 0; n < most && f >= 0 && f < 8 && r >= 0 && r < 8; n++ {
			met |= 1 << (r*8 + f)
			f, r = f+d[0], r+d[1]
		}
	}
	return met
}

func makeBehind() (table [64][64]set) {
	for s := range Square(64) {
		for _, d := range append(rookSteps, bishopSteps...) {
			ray := walk(s, [][2]int{d}, 8)
			for rest := ray; rest != 0; rest &= rest - 1 {
				to := rest.first()
				table[s][to] = ray & walk(to, [][2]int{d}, 8)
			}
		}
	}
	return table
}

func makeBetween() (table [64][64]set) {
	for a := range Square(64) {
		for b := range Square(64) {
			for rest := reach[Queen][a]; rest != 0; rest &= rest - 1 {
				if behind[a][rest.first()].has(b) {
					table[a][b] |= rest.first().bit()
				}
			}
		}
	}
	return table
}

// attacks returns the squares that a man (no pawn) on s attacks when the
// squares of occupied have men on them; it includes the first man on each line.
func attacks(k Kind, s Square, occupied set) set {
	seen := reach[k][s]
	if k == King || k == Knight {
		return seen
	}
	for rest := seen & occupied; rest != 0; rest &= rest - 1 {
		seen &^= behind[s][rest.first()]
	}
	return seen
}
