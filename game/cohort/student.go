// Package cohort plays simulated students through the real judge. They fill the
// demo's weeks of games, and they show whether a planted weakness is found. A
// student chooses by distance to mate, with noise; a weakness is triggered by
// plain geometry and never by the judge's own stages.
package cohort

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"time"

	"drover/game/board"
	"drover/game/ending"
	"drover/game/practice"
	"drover/solver"
)

// Student is a simulated student.
type Student struct {
	Name  string
	Skill float64  // the share of moves that are the best there is, 0 to 1
	Weak  Weakness // nil: none

	staged bool // the weakness looks at the judged stage, as only a cure does
}

// Weakness is a planted weakness: the move that it makes in a position, and
// whether it struck at all.
type Weakness func(v Scene, rng *rand.Rand) (board.Move, bool)

// Scene is what a weakness looks at: the board's geometry and the moves there
// are, with what they lead to.
type Scene struct {
	board.Position
	Geometry
	Options []ending.Option
	best    int          // plies after the quickest winning move; beyond all where none wins
	hurry   bool         // little time is left on the clock
	stage   ending.Stage // the judged one, where the student is staged
}

// Lost is the weakness of a student who plays a random move, in a share of the
// cases (0 to 1), where the board looks a certain way.
func Lost(where func(Geometry) bool, often float64) Weakness {
	return func(v Scene, rng *rand.Rand) (board.Move, bool) {
		if !where(v.Geometry) {
			return board.Move{}, false
		}
		return pickOne(v.moves(func(ending.Option) bool { return true }), often, rng)
	}
}

// moves lists the moves that fit.
func (v Scene) moves(fit func(ending.Option) bool) []board.Move {
	var out []board.Move
	for _, o := range v.Options {
		if fit(o) {
			out = append(out, o.Move)
		}
	}
	return out
}

// pickOne takes one of some moves at random, in a share of the cases.
func pickOne(moves []board.Move, share float64, rng *rand.Rand) (board.Move, bool) {
	if len(moves) == 0 || rng.Float64() >= share {
		return board.Move{}, false
	}
	return moves[rng.IntN(len(moves))], true
}

// Geometry is what a weakness may look at: squares, no stages.
type Geometry struct {
	Rim    int  // of the lone king: 0 on the outer ring to 3 in the centre
	Corner int  // king moves from the lone king to the nearest corner in which mate works
	Wrong  bool // whether the nearest corner is one in which it does not
	Near   int  // king moves between the kings
}

// GeometryOf measures a position for the attacker.
func GeometryOf(p board.Position, attacker board.Color) Geometry {
	lone, own := p.King(1-attacker), p.King(attacker)
	g := Geometry{Rim: rim(lone), Near: steps(lone, own), Corner: 8}
	good := map[string]bool{}
	for _, c := range ending.Corners(p, attacker) {
		good[c] = true
	}
	nearest := 8
	for _, name := range []string{"a1", "a8", "h1", "h8"} {
		sq, _ := board.ParseSquare(name) // the names are constants
		n, right := steps(lone, sq), len(good) == 0 || good[name]
		if n < nearest {
			nearest, g.Wrong = n, !right
		}
		if right {
			g.Corner = min(g.Corner, n)
		}
	}
	return g
}

func rim(s board.Square) int { return min(s.File(), 7-s.File(), s.Rank(), 7-s.Rank()) }

func steps(a, b board.Square) int {
	df, dr := a.File()-b.File(), a.Rank()-b.Rank()
	return max(df, -df, dr, -dr)
}

// little is the part of the clock of which a student knows that it is not much.
const little = 3

// choose is the student's move in a game; planted says whether a weakness chose it.
func (s Student) choose(ctx context.Context, j *ending.Judge, g practice.State,
	rng *rand.Rand) (m board.Move, planted bool, err error) {
	p := g.Pos
	options, err := j.Options(ctx, p)
	if err != nil {
		return m, false, err
	}
	best := math.MaxInt
	for _, o := range options {
		if o.After.Outcome == solver.Loss {
			best = min(best, o.After.Plies)
		}
	}
	if s.Weak != nil {
		v := Scene{p, GeometryOf(p, p.Turn()), options, best, g.Clock > 0 && g.TimeLeft() < g.Clock*1000/little, ""}
		if s.staged {
			at, err := practice.Now(ctx, j, g)
			if err != nil {
				return m, false, err
			}
			v.stage = at.Stage
		}
		if m, ok := s.Weak(v, rng); ok {
			return m, true, nil
		}
	}
	return draw(options, best, rng.Float64() < s.Skill, rng), false, nil
}

// draw takes a move by its weight.
func draw(options []ending.Option, best int, exact bool, rng *rand.Rand) board.Move {
	var total float64
	weights := make([]float64, len(options))
	for i, o := range options {
		weights[i] = weight(o, best, exact)
		total += weights[i]
	}
	for i, left := 0, rng.Float64()*total; i < len(options); i++ {
		if left -= weights[i]; left <= 0 && weights[i] > 0 {
			return options[i].Move
		}
	}
	return options[0].Move
}

// weight is how much a move attracts: the best alone when the student is exact,
// else the less the more it costs, and a lost win hardly ever.
func weight(o ending.Option, best int, exact bool) float64 {
	switch {
	case o.After.Outcome != solver.Loss && best < math.MaxInt:
		return 0.002
	case o.After.Outcome != solver.Loss:
		return 1
	case exact && o.After.Plies > best:
		return 0
	}
	return math.Exp(-float64(o.After.Plies-best) / 4)
}

// Play plays one game by a student from its start to its end, with times of
// thought that go with it. The same rng state plays the same game.
func Play(ctx context.Context, j *ending.Judge, set practice.Setup, s Student, rng *rand.Rand,
	began time.Time) (practice.State, error) {
	state, _, err := play(ctx, j, set, s, rng, began)
	return state, err
}

// play is Play, and counts the planted moves by the judged stage in which they
// fell.
func play(ctx context.Context, j *ending.Judge, set practice.Setup, s Student, rng *rand.Rand,
	began time.Time) (practice.State, map[ending.Stage]int, error) {
	fell := map[ending.Stage]int{}
	state, err := practice.Begin(set)
	if err != nil {
		return state, fell, err
	}
	at := began
	for state.End == "" {
		took := 3000 + rng.IntN(9000)
		at = at.Add(time.Duration(took) * time.Millisecond)
		c := practice.Command{Do: practice.Move, ID: fmt.Sprintf("sim%d", state.Seq()), Ply: state.Ply(), Took: took,
			By: set.Student, At: at}
		planted := false
		if state.Gone {
			c.Do = afterGone(state, rng)
		} else {
			var m board.Move
			m, planted, err = s.choose(ctx, j, state, rng)
			if err != nil {
				return state, fell, err
			}
			c.Move = m.UCI()
		}
		next, err := practice.Apply(ctx, j, state, c)
		if err != nil {
			return state, fell, fmt.Errorf("%s after %d acts: %w", set.Start, state.Seq(), err)
		}
		next.Stamp(at)
		if state = next; planted {
			fell[state.Last().Stage]++
		}
	}
	return state, fell, nil
}

// afterGone is what a student does when the win is gone.
func afterGone(s practice.State, rng *rand.Rand) practice.Kind {
	if s.BacksLeft() > 0 && rng.IntN(3) == 0 {
		return practice.Back
	}
	return practice.Resign
}
