package practice

import (
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
type Weights struct{ Made, Offered [Classes]int }

// Add adds up weights.
func (w Weights) Add(o Weights) Weights {
	for c := range Classes {
		w.Made[c] += o.Made[c]
		w.Offered[c] += o.Offered[c]
	}
	return w
}

// weightsOf is what one move adds.
func weightsOf(options []ending.Option, played board.Move) Weights {
	best := -1
	for _, o := range options {
		if o.Wins() && (best < 0 || o.After.Plies < best) {
			best = o.After.Plies
		}
	}
	var w Weights
	var legal [Classes]int
	for _, o := range options {
		c := classOf(o, best)
		legal[c]++
		if o.Move.UCI() == played.UCI() {
			w.Made[c] = 1
		}
	}
	for c, n := range legal {
		w.Offered[c] = (1000*n + len(options)/2) / len(options)
	}
	return w
}
