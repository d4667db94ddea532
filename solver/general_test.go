package solver

// general is the slow, obvious solver for every material: the specification of
// what the fast one adds for pawns and for a man of the defender. One thread,
// the unreduced index of 64 squares a man, one position at a time. What
// captures and promotions lead to is looked up in other endings, which are
// compared themselves.
type general struct {
	men     []Man // White attacks; White's king first, Black's king last
	lone    int   // the place of Black's king
	guard   int   // the place of Black's other man, 0 if none
	value   func(Position) Value
	attack  []uint8     // layer + 1 with White to move, 0 = not won, barred = illegal
	defend  []uint8     // layer + 1 with Black to move, 0 = not lost
	replies []uint8     // replies not known to lose; barred = can never be lost
	next    []int       // newly lost
	drops   [][]int     // positions one of whose replies turns out to lose, by layer
	wins    [][]int     // positions that White wins by a capture or promotion, by layer
	passing map[int]int // positions after a double step that White wins by taking in passing: at which layer
	doubles [][][2]int  // the positions before and after such a step, by layer
}

func newGeneral(m material, value func(Position) Value) *general {
	g := &general{men: []Man{{Kind: King}}, value: value, passing: map[int]int{}}
	for _, k := range m.attack {
		if k != King {
			g.men = append(g.men, Man{Kind: k})
		}
	}
	if m.defend != King {
		g.guard = len(g.men)
		g.men = append(g.men, Man{Kind: m.defend, Color: Black})
	}
	g.lone = len(g.men)
	g.men = append(g.men, Man{Kind: King, Color: Black})
	n := 1 << (6 * len(g.men))
	g.attack, g.defend, g.replies = make([]uint8, n), make([]uint8, n), make([]uint8, n)
	return g
}

func (g *general) spot(i int) (s spot) {
	for m := g.lone; m >= 0; m-- {
		s[m] = Square(i & 63)
		i >>= 6
	}
	return s
}

// moved returns the index after man m has gone from a square to another.
func (g *general) moved(i, m int, from, to Square) int {
	return i + (int(to)-int(from))<<(6*(g.lone-m))
}

func (g *general) occupied(s *spot) (o set) {
	for m := range g.men {
		o |= s[m].bit()
	}
	return o
}

func (g *general) position(s *spot, turn Color) Position {
	p := Position{Count: len(g.men), Turn: turn, EnPassant: NoSquare}
	for m, man := range g.men {
		p.Men[m] = Man{man.Kind, man.Color, s[m]}
	}
	return p
}

// comes returns the squares that a man comes to, the first one met on each line
// included; for a pawn those that it attacks.
func (m Man) comes(from Square, occupied set) (to set) {
	if m.Kind == Pawn {
		up := 1
		if m.Color == Black {
			up = -1
		}
		for _, side := range []int{-1, 1} {
			if f, r := from.file()+side, from.rank()+up; f >= 0 && f < 8 && r >= 0 && r < 8 {
				to |= Square(r*8 + f).bit()
			}
		}
		return to
	}
	for _, ray := range plainRays[m.Kind][from] {
		for _, q := range ray {
			to |= q.bit()
			if occupied.has(q) {
				break
			}
		}
	}
	return to
}

// walks returns the squares straight before a pawn, or behind it if back.
func (m Man) walks(from Square, occupied set, back bool) (to set) {
	step, start := 8, 1
	if m.Color == Black {
		step, start = -8, 6
	}
	if back {
		step = -step
	}
	one, two := int(from)+step, int(from)+2*step
	if one < 0 || one > 63 || occupied.has(Square(one)) {
		return 0
	}
	to = Square(one).bit()
	double := from.rank() == start
	if back {
		double = two >= 0 && two < 64 && Square(two).rank() == start
		if !mayStand(Pawn, Square(one)) {
			return 0
		}
	}
	if double && !occupied.has(Square(two)) {
		to |= Square(two).bit()
	}
	return to
}

// bar marks the illegal positions of one placement.
func (g *general) bar(i int) {
	s := g.spot(i)
	occupied := g.occupied(&s)
	bad := occupied.count() < len(g.men) || g.men[0].comes(s[0], 0).has(s[g.lone])
	for m, man := range g.men {
		bad = bad || !mayStand(man.Kind, s[m])
	}
	if bad {
		g.attack[i], g.replies[i] = barred, barred
		return
	}
	for m, man := range g.men {
		reaches := man.comes(s[m], occupied)
		if man.Color == White && reaches.has(s[g.lone]) {
			g.attack[i] = barred
		}
		if man.Color == Black && reaches.has(s[0]) {
			g.replies[i] = barred
		}
	}
}

// note enters an index in a list by layer.
func note[T any](list *[][]T, layer int, v T) {
	for len(*list) <= layer {
		*list = append(*list, nil)
	}
	(*list)[layer] = append((*list)[layer], v)
}

// prepare counts the replies of a position, and finds what a capture or a
// promotion wins.
func (g *general) prepare(i int) {
	s := g.spot(i)
	occupied := g.occupied(&s)
	if g.replies[i] != barred {
		g.countReplies(i, &s, occupied)
	}
	if g.attack[i] != barred {
		for m := range g.men[:g.lone] {
			if m != g.guard || m == 0 {
				g.conversions(i, m, &s, occupied)
			}
		}
	}
}

func (g *general) countReplies(i int, s *spot, occupied set) {
	for m := range g.men {
		if g.men[m].Color == White {
			continue
		}
		to := g.men[m].comes(s[m], occupied)
		if g.men[m].Kind == Pawn {
			to = to&g.white(s) | g.men[m].walks(s[m], occupied, false)
		}
		for ; to != 0; to &= to - 1 {
			g.reply(i, m, s, occupied, to.first())
		}
	}
	if g.replies[i] > 0 {
		return
	}
	g.replies[i] = barred
	if g.position(s, Black).InCheck() {
		g.defend[i] = 1
		g.next = append(g.next, i)
	}
}

// white returns the squares of White's men other than its king.
func (g *general) white(s *spot) (o set) {
	for m, man := range g.men[1:] {
		if man.Color == White {
			o |= s[m+1].bit()
		}
	}
	return o
}

// reply counts one reply if it is legal, and notes when it turns out to lose.
func (g *general) reply(i, m int, s *spot, occupied set, to Square) {
	if occupied.has(to) && !g.white(s).has(to) {
		return
	}
	last := g.men[m].Kind == Pawn && to.rank() == 0
	if !occupied.has(to) && !last {
		if j := g.moved(i, m, s[m], to); g.attack[j] != barred {
			g.replies[i]++
			g.double(i, j, s, m, to)
		}
		return
	}
	for _, k := range become(last) {
		after := g.position(s, Black).Play(Move{s[m], to, k, occupied.has(to)})
		if after.Validate() != nil {
			continue
		}
		g.replies[i]++
		if v := g.value(after); v.Outcome == Win {
			note(&g.drops, (v.Plies+1)/2, i)
		}
	}
}

// become lists what a pawn can become on the last row; elsewhere a man stays
// what it is.
func become(last bool) []Kind {
	if last {
		return []Kind{Queen, Rook, Bishop, Knight}
	}
	return []Kind{King}
}

// double notes the double step of Black's pawn beside White's.
func (g *general) double(i, j int, s *spot, m int, to Square) {
	if g.men[m].Kind != Pawn || s[m]-to != 16 {
		return
	}
	after := g.position(s, Black).Play(Move{From: s[m], To: to})
	if after.EnPassant == NoSquare {
		return
	}
	taken := after.Play(Move{From: s[1], To: after.EnPassant, Capture: true})
	if v := g.value(taken); v.Outcome == Loss {
		g.passing[j] = v.Plies/2 + 1
		note(&g.doubles, v.Plies/2+1, [2]int{i, j})
	}
}

// conversions notes when a capture or a promotion of a man of White wins.
func (g *general) conversions(i, m int, s *spot, occupied set) {
	var to set
	if g.guard > 0 {
		to = g.men[m].comes(s[m], occupied) & s[g.guard].bit()
	}
	if g.men[m].Kind == Pawn {
		to |= g.men[m].walks(s[m], occupied, false) & rowEight
	}
	for ; to != 0; to &= to - 1 {
		q := to.first()
		for _, k := range become(g.men[m].Kind == Pawn && q.rank() == 7) {
			after := g.position(s, White).Play(Move{s[m], q, k, occupied.has(q)})
			if after.Validate() != nil {
				continue
			}
			if v := g.value(after); v.Outcome == Loss {
				note(&g.wins, v.Plies/2+1, i)
			}
		}
	}
}

// solve runs to the end.
func (g *general) solve() *general {
	for i := range g.attack {
		g.bar(i)
	}
	for i := range g.attack {
		g.prepare(i)
	}
	for layer := 1; len(g.next) > 0 || layer < max(len(g.wins), len(g.drops), len(g.doubles)); layer++ {
		lost := g.next
		g.next = nil
		var won []int
		for _, i := range lost {
			won = g.undo(i, layer, won)
		}
		if layer < len(g.wins) {
			for _, i := range g.wins[layer] {
				won = g.win(i, layer, won)
			}
		}
		g.settle(won, layer)
	}
	return g
}

func (g *general) win(i, layer int, won []int) []int {
	if g.attack[i] != 0 {
		return won
	}
	g.attack[i] = uint8(layer + 1)
	return append(won, i)
}

// undo undoes every move of White to a position that is lost for Black. A double
// step beside Black's pawn does not win: it is taken in passing.
func (g *general) undo(i, layer int, won []int) []int {
	s := g.spot(i)
	occupied := g.occupied(&s)
	for m, man := range g.men {
		if man.Color == Black {
			continue
		}
		for from := g.undone(m, &s, occupied); from != 0; from &= from - 1 {
			a := from.first()
			if man.Kind == Pawn && s[m]-a == 16 && g.takable(&s, s[m]) {
				continue
			}
			won = g.win(g.moved(i, m, s[m], a), layer, won)
		}
	}
	return won
}

// takable reports whether a pawn of Black stands beside the square.
func (g *general) takable(s *spot, at Square) bool {
	if g.guard == 0 || g.men[g.guard].Kind != Pawn {
		return false
	}
	q := s[g.guard]
	return q.rank() == at.rank() && (q == at-1 || q == at+1)
}

// undone returns the squares from which a man can have come without a capture.
func (g *general) undone(m int, s *spot, occupied set) set {
	if g.men[m].Kind == Pawn {
		return g.men[m].walks(s[m], occupied, true)
	}
	return g.men[m].comes(s[m], occupied) &^ occupied
}

// settle carries what is newly won, and the replies that lose by now, to Black's
// positions.
func (g *general) settle(won []int, layer int) {
	for _, i := range won {
		g.before(i, layer)
	}
	if layer < len(g.drops) {
		for _, i := range g.drops[layer] {
			g.drop(i, layer)
		}
	}
	if layer < len(g.doubles) {
		for _, d := range g.doubles[layer] {
			if g.attack[d[1]] == 0 { // else it was dropped when that was won
				g.drop(d[0], layer)
			}
		}
	}
}

// before drops the move to i from the positions that have it.
func (g *general) before(i, layer int) {
	s := g.spot(i)
	occupied := g.occupied(&s)
	for m, man := range g.men {
		if man.Color == White {
			continue
		}
		for from := g.undone(m, &s, occupied); from != 0; from &= from - 1 {
			a := from.first()
			if at, ok := g.passing[i]; ok && man.Kind == Pawn && a-s[m] == 16 && at < layer {
				continue
			}
			g.drop(g.moved(i, m, s[m], a), layer)
		}
	}
}

func (g *general) drop(i, layer int) {
	if g.replies[i] == barred {
		return
	}
	if g.replies[i]--; g.replies[i] == 0 {
		g.defend[i] = uint8(layer + 1)
		g.next = append(g.next, i)
	}
}
