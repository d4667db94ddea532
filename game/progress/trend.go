package progress

// Trend is how a stage goes over the last games.
type Trend int

// The trends.
const (
	Steady  Trend = iota // or too few games to say
	Rising               // more of them clean than before
	Falling              // fewer
)

// A trend is said from six games on, and where the later half of the games has at least three
// clean ones more, or fewer, than the half before: a student who stays the same shows one by
// chance in at most 11 of 100 stages (the sum of a binomial distribution; a rule of ours).
const (
	leastTrend = 6
	trendStep  = 3
)

// Turn is a trend with its counts: so many clean games of Half, and then so many of as many.
type Turn struct {
	Trend   Trend
	Was, Is int
	Half    int // how many games each of the two counts is of
}

// TurnOf weighs the last games of a stage, the oldest first, true for clean. Of an odd number
// the oldest is left out.
func TurnOf(clean []bool) Turn {
	last := clean[max(0, len(clean)-LastGames):]
	if len(last) < leastTrend {
		return Turn{}
	}
	half := len(last) / 2
	last = last[len(last)-2*half:]
	t := Turn{Was: count(last[:half]), Is: count(last[half:]), Half: half}
	switch {
	case t.Is-t.Was >= trendStep:
		t.Trend = Rising
	case t.Was-t.Is >= trendStep:
		t.Trend = Falling
	}
	return t
}

// count is how many of some games were clean.
func count(clean []bool) int {
	n := 0
	for _, ok := range clean {
		if ok {
			n++
		}
	}
	return n
}
