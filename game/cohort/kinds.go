package cohort

import (
	"math/rand/v2"
	"slices"

	"drover/game/board"
	"drover/game/ending"
	"drover/game/practice"
)

// Kind is a kind of student, with the weaknesses planted in it.
type Kind struct {
	Name    string
	Endings []string       // that it is played in; nil: all
	Habit   practice.Habit // that the weakness shows as; empty: none is planted, or two are
	Healthy bool           // nothing is planted that a coach would call a weakness
	Mild    bool           // healthy, but a little uneven: to name its stage is neither right nor wrong
	skill   [2]float64     // the share of best moves lies between these
	plants  []plant
	clock   bool // whether the games are played by the clock
}

// plant is a planted weakness.
type plant struct {
	habit       practice.Habit // that it shows as; empty: it is bound to a place
	often       [2]float64     // the share of the cases in which it strikes lies between these
	weak        func(often float64) Weakness
	from, until int // the games in which it is there, from 0; until 0: to the end
}

// at says whether the weakness is there in a game.
func (p plant) at(game int) bool { return game >= p.from && (p.until == 0 || game < p.until) }

// At says whether a weakness that a coach would call one is planted in a game.
func (k Kind) At(game int) bool {
	return !k.Healthy && slices.ContainsFunc(k.plants, func(p plant) bool { return p.at(game) })
}

// costly lists the winning moves that are not the quickest.
func (v Scene) costly(fit func(o ending.Option) bool) []board.Move {
	return v.moves(func(o ending.Option) bool { return o.Wins() && o.After.Plies > v.best && fit(o) })
}

// lost plays a random move where the board looks a certain way.
func lost(where func(Geometry) bool) func(often float64) Weakness {
	return func(often float64) Weakness { return Lost(where, often) }
}

// hangs gives a man away where it can.
func hangs(often float64) Weakness {
	return func(v Scene, rng *rand.Rand) (board.Move, bool) {
		return pickOne(v.moves(func(o ending.Option) bool { return !o.Wins() && !v.Play(o.Move).Stalemate() }), often, rng)
	}
}

// stalemates where it can.
func stalemates(often float64) Weakness {
	return func(v Scene, rng *rand.Rand) (board.Move, bool) {
		return pickOne(v.moves(func(o ending.Option) bool { return !o.Wins() && v.Play(o.Move).Stalemate() }), often, rng)
	}
}

// checks for the sake of checking.
func checks(often float64) Weakness {
	return func(v Scene, rng *rand.Rand) (board.Move, bool) {
		return pickOne(v.costly(func(o ending.Option) bool { return o.Move.Check }), often, rng)
	}
}

// stays leaves the king at home and moves another man.
func stays(often float64) Weakness {
	return func(v Scene, rng *rand.Rand) (board.Move, bool) {
		return pickOne(v.costly(func(o ending.Option) bool { return v.At(o.Move.From).Kind != board.King }), often, rng)
	}
}

// shuffles: a winning move of cost 1.
func shuffles(often float64) Weakness {
	return func(v Scene, rng *rand.Rand) (board.Move, bool) {
		return pickOne(v.costly(func(o ending.Option) bool { return o.After.Plies-v.best == 2 }), often, rng)
	}
}

// unfinished has driven the king where mate is near, and then plays on without
// finishing.
func unfinished(where func(Geometry) bool) func(often float64) Weakness {
	return func(often float64) Weakness {
		return func(v Scene, rng *rand.Rand) (board.Move, bool) {
			if !where(v.Geometry) {
				return board.Move{}, false
			}
			return pickOne(v.costly(func(ending.Option) bool { return true }), often, rng)
		}
	}
}

// wavers is a little less exact where the board looks a certain way: nobody is
// equally good at everything.
func wavers(where func(Geometry) bool) func(often float64) Weakness {
	return func(often float64) Weakness {
		return func(v Scene, rng *rand.Rand) (board.Move, bool) {
			if !where(v.Geometry) || rng.Float64() >= often {
				return board.Move{}, false
			}
			return draw(v.Options, v.best, false, rng), true
		}
	}
}

// hurries plays anything once little time is left.
func hurries(often float64) Weakness {
	return func(v Scene, rng *rand.Rand) (board.Move, bool) {
		if !v.hurry {
			return board.Move{}, false
		}
		return pickOne(v.moves(func(ending.Option) bool { return true }), often, rng)
	}
}

// Striking is the weakness of a student who has a habit, in a share of the cases (0 to
// 1); of a habit that is bound to a place or to time there is none.
func Striking(habit practice.Habit, often float64) Weakness {
	of := map[practice.Habit]func(float64) Weakness{
		practice.Hanging: hangs, practice.Stalemates: stalemates, practice.Checks: checks, practice.KingHome: stays,
		practice.Shuffling: shuffles,
	}
	if strike := of[habit]; strike != nil {
		return strike(often)
	}
	return nil
}

// Where the lone king stands, in the words of a coach.
func inCentre(g Geometry) bool      { return g.Rim == 3 }
func inTheOpen(g Geometry) bool     { return g.Rim >= 2 }
func beforeEdge(g Geometry) bool    { return g.Rim == 1 }
func onEdge(g Geometry) bool        { return g.Rim == 0 }
func atWrongCorner(g Geometry) bool { return g.Wrong && g.Rim <= 1 && g.Corner > 3 }
func atRightCorner(g Geometry) bool { return !g.Wrong && g.Corner <= 1 }
func closeToMate(g Geometry) bool   { return g.Rim == 0 && g.Near <= 3 }
func inTheCorner(g Geometry) bool   { return closeToMate(g) && atRightCorner(g) }

// Shares: a weak student is fair elsewhere, and where the weakness lies half to
// three quarters of the moves are its own - what a coach sees within a few games
// (common practice). Habits that take many moves to show are rarer: a man is
// lost in one of three to seven positions where that can happen. A king stays at
// home, and a shuffler shuffles, nearly always: that is what the words mean.
var (
	strong, fairly, beginner, novice = [2]float64{.85, .95}, [2]float64{.65, .8}, [2]float64{.4, .55}, [2]float64{.2, .3}
	elsewhere                        = [2]float64{.7, .9}

	mostly, nearly, always = [2]float64{.5, .75}, [2]float64{.85, 1}, [2]float64{1, 1}
	atTimes, mildly        = [2]float64{.15, .3}, [2]float64{.1, .2}
)

// kinds is data. The weaknesses were set down before the rule was measured on
// them, and no number here was chosen by what the rule finds.
var kinds = []Kind{
	{Name: "healthy, strong", Healthy: true, skill: strong},
	{Name: "healthy, fair", Healthy: true, skill: fairly},
	{Name: "healthy, beginner", Healthy: true, skill: beginner},
	{Name: "weak everywhere", Healthy: true, skill: novice},
	{Name: "healthy, uneven", Healthy: true, Mild: true, skill: elsewhere,
		plants: []plant{{often: mildly, weak: wavers(onEdge)}}},
	{Name: "lost in the centre", Endings: []string{"KRK", "KBBK", "KBNK"}, skill: elsewhere,
		plants: []plant{{often: mostly, weak: lost(inCentre)}}},
	{Name: "lost in the open", Endings: []string{"KQK", "KRRK", "KBNK"}, skill: elsewhere,
		plants: []plant{{often: mostly, weak: lost(inTheOpen)}}},
	{Name: "lost before the edge", skill: elsewhere, plants: []plant{{often: mostly, weak: lost(beforeEdge)}}},
	{Name: "lost on the edge", Endings: []string{"KQK", "KRK", "KRRK", "KBBK"}, skill: elsewhere,
		plants: []plant{{often: mostly, weak: lost(onEdge)}}},
	{Name: "lost at the wrong corner", Endings: []string{"KBNK"}, Habit: practice.WrongCorner, skill: elsewhere,
		plants: []plant{{habit: practice.WrongCorner, often: mostly, weak: lost(atWrongCorner)}}},
	{Name: "lost at the right corner", Endings: []string{"KBNK"}, skill: elsewhere,
		plants: []plant{{often: mostly, weak: lost(atRightCorner)}}},
	{Name: "never finishes", Endings: []string{"KQK", "KRK", "KRRK", "KBBK"}, skill: elsewhere,
		plants: []plant{{often: mostly, weak: unfinished(closeToMate)}}},
	{Name: "never finishes in the corner", Endings: []string{"KBNK"}, skill: elsewhere,
		plants: []plant{{often: mostly, weak: unfinished(inTheCorner)}}},
	{Name: "loses men", Endings: []string{"KQK", "KRK", "KBBK", "KBNK"}, Habit: practice.Hanging, skill: elsewhere,
		plants: []plant{{habit: practice.Hanging, often: atTimes, weak: hangs}}},
	{Name: "useless checks", Habit: practice.Checks, skill: elsewhere,
		plants: []plant{{habit: practice.Checks, often: mostly, weak: checks}}},
	{Name: "king at home", Habit: practice.KingHome, skill: elsewhere,
		plants: []plant{{habit: practice.KingHome, often: nearly, weak: stays}}},
	{Name: "shuffler", Habit: practice.Shuffling, skill: elsewhere,
		plants: []plant{{habit: practice.Shuffling, often: always, weak: shuffles}}},
	{Name: "stalemates", Endings: []string{"KQK"}, Habit: practice.Stalemates, skill: elsewhere,
		plants: []plant{{habit: practice.Stalemates, often: mostly, weak: stalemates}}},
	{Name: "checks, and lost before the edge", skill: elsewhere, plants: []plant{
		{habit: practice.Checks, often: mostly, weak: checks}, {often: mostly, weak: lost(beforeEdge)}}},
	{Name: "king at home, and never finishes", Endings: []string{"KQK", "KRK", "KRRK", "KBBK"}, skill: elsewhere,
		plants: []plant{{habit: practice.KingHome, often: mostly, weak: stays},
			{often: mostly, weak: unfinished(closeToMate)}}},
	{Name: "lost in a hurry", Endings: []string{"KRK", "KBBK", "KBNK"}, Habit: practice.Hurry, skill: strong, clock: true,
		plants: []plant{{habit: practice.Hurry, often: mostly, weak: hurries}}},
	{Name: "improves after ten games", skill: elsewhere,
		plants: []plant{{often: mostly, weak: lost(beforeEdge), until: 10}}},
	{Name: "loses the checks after ten games", skill: elsewhere,
		plants: []plant{{habit: practice.Checks, often: mostly, weak: checks, until: 10}}},
	{Name: "forgets over four weeks", skill: elsewhere,
		plants: []plant{{often: mostly, weak: lost(beforeEdge), from: 10}}},
}

// Kinds lists the kinds of student.
func Kinds() []Kind { return kinds }

// PlayedIn says whether a kind is played in an ending.
func (k Kind) PlayedIn(code string) bool {
	return k.Endings == nil || slices.Contains(k.Endings, code)
}

// student draws one student of the kind.
func (k Kind) student(rng *rand.Rand) drawn {
	d := drawn{Student: Student{Name: k.Name, Skill: between(k.skill, rng)}, kind: k}
	for _, p := range k.plants {
		d.weak = append(d.weak, p.weak(between(p.often, rng)))
	}
	return d
}

// drawn is a student of a kind.
type drawn struct {
	Student
	kind Kind
	weak []Weakness // of each plant
}

// in is the student as in one game, after a cure. Of several weaknesses the first that
// strikes does.
func (d drawn) in(game int, c Cure) Student {
	s := d.Student
	var at []Weakness
	for i, p := range d.kind.plants {
		if p.at(game) && !(c.All || c.Habit != "" && c.Habit == p.habit) {
			at = append(at, d.weak[i])
		}
	}
	s.staged = c.Stage != ""
	s.Weak = func(v Scene, rng *rand.Rand) (board.Move, bool) {
		if c.Stage != "" && v.stage == c.Stage {
			return board.Move{}, false
		}
		for _, weak := range at {
			if m, ok := weak(v, rng); ok {
				return m, true
			}
		}
		return board.Move{}, false
	}
	return s
}

func between(r [2]float64, rng *rand.Rand) float64 { return r[0] + (r[1]-r[0])*rng.Float64() }
