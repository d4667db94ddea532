package cohort

import (
	"math/rand/v2"

	"drover/game/board"
	"drover/game/ending"
	"drover/game/practice"
)

// Kind is a kind of student with at most one weakness planted.
type Kind struct {
	Name    string
	Endings []string       // that it is played in; nil: all
	Habit   practice.Habit // that the weakness shows as; empty: none is planted
	Healthy bool           // nothing is planted at all
	skill   func(rng *rand.Rand) float64
	plant   plant
}

// plant is a planted weakness: the move that it makes in a position, and
// whether it struck at all.
type plant func(v scene, rng *rand.Rand) (board.Move, bool)

// scene is what a weakness looks at: the board's geometry and the moves there
// are, with what they lead to.
type scene struct {
	board.Position
	Geometry
	options []ending.Option
	best    int // plies after the quickest winning move; beyond all where none wins
}

// costly lists the winning moves that are not the quickest.
func (v scene) costly(fit func(o ending.Option) bool) []board.Move {
	var out []board.Move
	for _, o := range v.options {
		if o.Wins() && o.After.Plies > v.best && fit(o) {
			out = append(out, o.Move)
		}
	}
	return out
}

func anyOption(ending.Option) bool { return true }

// pickOne takes one of some moves at random, in a share of the cases.
func pickOne(moves []board.Move, share float64, rng *rand.Rand) (board.Move, bool) {
	if len(moves) == 0 || rng.Float64() >= share {
		return board.Move{}, false
	}
	return moves[rng.IntN(len(moves))], true
}

// fair draws a strength between two shares of best moves.
func fair(from, to float64) func(*rand.Rand) float64 {
	return func(rng *rand.Rand) float64 { return from + (to-from)*rng.Float64() }
}

// lost plays a random move where the board looks a certain way.
func lost(where func(Geometry) bool) plant {
	return func(v scene, rng *rand.Rand) (board.Move, bool) {
		if !where(v.Geometry) {
			return board.Move{}, false
		}
		var all []board.Move
		for _, o := range v.options {
			all = append(all, o.Move)
		}
		return pickOne(all, .5, rng)
	}
}

// hangs gives a man away, now and then, where it can.
func hangs(v scene, rng *rand.Rand) (board.Move, bool) {
	var away []board.Move
	for _, o := range v.options {
		if !o.Wins() && !v.Play(o.Move).Stalemate() {
			away = append(away, o.Move)
		}
	}
	return pickOne(away, .12, rng)
}

// stalemates wherever it sees one.
func stalemates(v scene, rng *rand.Rand) (board.Move, bool) {
	var stale []board.Move
	for _, o := range v.options {
		if !o.Wins() && v.Play(o.Move).Stalemate() {
			stale = append(stale, o.Move)
		}
	}
	return pickOne(stale, .5, rng)
}

// checks for the sake of checking.
func checks(v scene, rng *rand.Rand) (board.Move, bool) {
	return pickOne(v.costly(func(o ending.Option) bool { return o.Move.Check }), .6, rng)
}

// stays leaves the king at home.
func stays(v scene, rng *rand.Rand) (board.Move, bool) {
	return pickOne(v.costly(func(o ending.Option) bool { return v.At(o.Move.From).Kind != board.King }), .75, rng)
}

// shuffles: always a winning move of cost 1.
func shuffles(v scene, rng *rand.Rand) (board.Move, bool) {
	return pickOne(v.costly(func(o ending.Option) bool { return o.After.Plies-v.best == 2 }), 1, rng)
}

// unfinished drives the king to the rim and then plays on without finishing.
func unfinished(v scene, rng *rand.Rand) (board.Move, bool) {
	if v.Rim != 0 || v.Near > 3 {
		return board.Move{}, false
	}
	return pickOne(v.costly(anyOption), .6, rng)
}

// Kinds lists the kinds of student.
func Kinds() []Kind {
	return []Kind{
		{Name: "healthy, strong", Healthy: true, skill: fair(.85, .95)},
		{Name: "healthy, fair", Healthy: true, skill: fair(.65, .8)},
		{Name: "healthy, beginner", Healthy: true, skill: fair(.4, .55)},
		{Name: "lost in the open", skill: fair(.7, .9), plant: lost(func(g Geometry) bool { return g.Rim >= 2 })},
		{Name: "lost before the edge", skill: fair(.7, .9), plant: lost(func(g Geometry) bool { return g.Rim == 1 })},
		{Name: "lost on the edge", Endings: []string{"KQK", "KRK", "KBBK"}, skill: fair(.7, .9), plant: lost(func(g Geometry) bool { return g.Rim == 0 })},
		{Name: "lost at the wrong corner", Endings: []string{"KBNK"}, Habit: practice.WrongCorner, skill: fair(.7, .9),
			plant: lost(func(g Geometry) bool { return g.Wrong && g.Rim <= 1 && g.Corner > 3 })},
		{Name: "lost at the right corner", Endings: []string{"KBNK"}, skill: fair(.7, .9), plant: lost(func(g Geometry) bool { return !g.Wrong && g.Corner <= 1 })},
		{Name: "loses men", Habit: practice.Hanging, skill: fair(.7, .9), plant: hangs},
		{Name: "useless checks", Habit: practice.Checks, skill: fair(.7, .9), plant: checks},
		{Name: "king at home", Habit: practice.KingHome, skill: fair(.7, .9), plant: stays},
		{Name: "shuffler", Habit: practice.Shuffling, skill: fair(.7, .9), plant: shuffles},
		{Name: "never finishes", skill: fair(.7, .9), plant: unfinished},
		{Name: "stalemates", Endings: []string{"KQK"}, Habit: practice.Stalemates, skill: fair(.7, .9), plant: stalemates},
	}
}

// PlayedIn says whether a kind is played in an ending.
func (k Kind) PlayedIn(code string) bool {
	for _, e := range k.Endings {
		if e == code {
			return true
		}
	}
	return k.Endings == nil
}

// student draws one student of the kind.
func (k Kind) student(rng *rand.Rand) Student {
	return Student{Name: k.Name, Skill: k.skill(rng), plant: k.plant}
}
