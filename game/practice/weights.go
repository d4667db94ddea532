package practice

import (
	"math"

	"drover/game/board"
	"drover/game/ending"
)

// Classes is the number of classes of moves, by what they cost: the best, cost
// 1, cost 2 or 3, 4 to 7, 8 or more, and the win lost. The fifty-move rule does
// not count here: a move that is late for it is of the class of its cost.
const Classes = 6

// classOf is the class of a move, by the plies to mate after the best there is.
func classOf(o ending.Option, best int) int {
	if !o.Wins() {
		return Classes - 1
	}
	switch cost := (o.After.Plies - best) / 2; {
	case cost <= 1:
		return cost
	case cost <= 3:
		return 2
	case cost <= 7:
		return 3
	}
	return 4
}

// Weights hold a student's moves against what the positions made possible: how
// many own moves fell into each class, and what share of the legal moves did,
// summed over those positions in thousandths.
type Weights struct {
	Made    [Classes]int `json:"made"`
	Offered Offered      `json:"offered"`
}

// Offered are shares of the legal moves by class, in thousandths, summed over positions.
type Offered [Classes]int

// Add adds up shares.
func (o Offered) Add(more Offered) Offered {
	for c, n := range more {
		o[c] += n
	}
	return o
}

// Add adds up weights.
func (w Weights) Add(o Weights) Weights {
	for c, n := range o.Made {
		w.Made[c] += n
	}
	w.Offered = w.Offered.Add(o.Offered)
	return w
}

// Attraction says how much a move of each class draws a careless eye, the best move as
// 1. That of a move of cost 1 sets the scale and is not fitted: how often a careless eye
// falls on the best move all the same cannot be seen in the moves. The others come from
// healthy simulated students: they are what 'drover cohort --offsets' prints of 60
// students of each kind, seed 1. After a change the games have to be counted anew
// ('drover recompute').
var Attraction = [Classes]float64{1, .6, .40, .17, .019, .019}

// drawn is how much of a careless eye's look the moves that count draw, by class, in
// thousandths.
func drawn(moves []legal, counts func(legal) bool) Offered {
	all, own := 0.0, [Classes]float64{}
	for _, m := range moves {
		all += Attraction[m.class]
		if counts(m) {
			own[m.class] += Attraction[m.class]
		}
	}
	var out Offered
	for c, x := range own {
		out[c] = int(math.Round(1000 * x / all))
	}
	return out
}

// legal is a legal move as the counts see it.
type legal struct {
	class     int
	man       board.Kind
	check     bool
	stalemate bool
	played    bool
}

// costs says whether a move keeps the win and is not the best.
func (m legal) costs() bool { return m.class >= 1 && m.class < Classes-1 }

func sum(all []int) int {
	n := 0
	for _, k := range all {
		n += k
	}
	return n
}

// classify looks at all legal moves of a position and marks the one that was played.
func classify(p board.Position, options []ending.Option, played board.Move) []legal {
	best := -1
	for _, o := range options {
		if o.Wins() && (best < 0 || o.After.Plies < best) {
			best = o.After.Plies
		}
	}
	moves := make([]legal, len(options))
	for i, o := range options {
		moves[i] = legal{class: classOf(o, best), man: p.At(o.Move.From).Kind, check: o.Move.Check, played: o.Move == played}
		moves[i].stalemate = !o.Wins() && p.Play(o.Move).Stalemate()
	}
	return moves
}

// weightsOf is what one move adds, over the legal moves that count.
func weightsOf(moves []legal, counts func(legal) bool) Weights {
	var w Weights
	var offered [Classes]int
	for _, m := range moves {
		if !counts(m) {
			continue
		}
		offered[m.class]++
		if m.played {
			w.Made[m.class] = 1
		}
	}
	for c, n := range offered {
		w.Offered[c] = (1000*n + len(moves)/2) / len(moves)
	}
	return w
}
