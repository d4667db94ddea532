package progress

import (
	"math"

	"drover/game/practice"

	"gonum.org/v1/gonum/mathext"
)

// habitRule says when a habit is named: the posterior of its rate, from a Beta
// prior of mean m and weight s, must lie above R with nine chances in ten.
type habitRule struct {
	habit practice.Habit
	m, s  float64
	rate  float64
	least int // of k
	times int // of moves that cost 2 or more, or the win, k must be this many times as many
}

// habitRules stand in the order in which a habit is looked for; the first that
// passes is said. Constants come from healthy simulated students.
// Shuffling stands twice: a student who plays on at cost 1 all the time also
// leaves the king at home, but hardly ever goes wrong by more.
var habitRules = []habitRule{
	{practice.Stalemates, .005, 2, .15, 2, 0},
	{practice.Hanging, .003, 2, .06, 2, 0},
	{practice.Checks, .05, 4, .25, 0, 0},
	{practice.Shuffling, .02, 4, .25, 0, 20},
	{practice.KingHome, .25, 4, .75, 0, 0},
	{practice.WrongCorner, 0, 0, 0, 4, 0},
	{practice.Shuffling, .02, 4, .25, 0, 2},
}

// sure is the probability at which a habit is named.
const sure = 0.9

// HabitOf names the habit that shows in the tallies of many games; empty where
// none does.
func HabitOf(t map[practice.Habit]practice.Tally) practice.Habit {
	for _, r := range habitRules {
		if shows(r, t) {
			return r.habit
		}
	}
	return ""
}

func shows(r habitRule, t map[practice.Habit]practice.Tally) bool {
	own := t[r.habit]
	switch {
	case own.N == 0 || own.K < r.least:
		return false
	case r.habit == practice.WrongCorner:
		return own.N >= 5 && oddsAbove(own, t[practice.Elsewhere], 3) >= sure
	case own.K < r.times*t[practice.Costly].K:
		return false
	}
	a, b := r.s*r.m+float64(own.K), r.s*(1-r.m)+float64(own.N-own.K)
	return 1-mathext.RegIncBeta(a, b, r.rate) >= sure
}

// oddsAbove is the probability that the odds of a are more than times those of
// b: the log odds ratio with half a count added to each cell is close to normal
// (common practice).
func oddsAbove(a, b practice.Tally, times float64) float64 {
	ka, na, kb, nb := float64(a.K)+.5, float64(a.N-a.K)+.5, float64(b.K)+.5, float64(b.N-b.K)+.5
	mean := math.Log(ka/na) - math.Log(kb/nb)
	spread := math.Sqrt(1/ka + 1/na + 1/kb + 1/nb)
	return 0.5 * math.Erfc((math.Log(times)-mean)/spread/math.Sqrt2)
}

// SumHabits adds up the habits of games.
func SumHabits(games ...map[practice.Habit]practice.Tally) map[practice.Habit]practice.Tally {
	sum := map[practice.Habit]practice.Tally{}
	for _, g := range games {
		for h, t := range g {
			sum[h] = practice.Tally{N: sum[h].N + t.N, K: sum[h].K + t.K}
		}
	}
	return sum
}
