package progress_test

import (
	"math"
	"testing"

	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
)

// What is taught first once more: plain sums of plain products over the grid, where package
// progress adds logarithms of surfaces. It is the specification of the fast one.

var (
	plainShares = []float64{.01, .04, .1, .2, .3, .45, .6, .8}
	plainUsual  = []float64{.3, .3, .2, .05, .05, .05, .05}
	plainCosts  = [practice.Classes]float64{0, 1, 2.5, 5.5, 10, 25}
)

func plainTheta(i int) float64 { return -4 + .25*float64(i) }

// plainChance is the chance of a stage's moves at one strength and share.
func plainChance(t progress.Tally, theta, lost float64) float64 {
	p, one := chances(t.Weights.Offered, 1/(1+math.Exp(-theta)), lost), 1.0
	for c, n := range t.Weights.Made {
		if n > 0 {
			one *= math.Pow(p[c], float64(n))
		}
	}
	return one
}

// plainBlurred averages it over what noise makes of the strength.
func plainBlurred(t progress.Tally, theta, hard, lost float64) float64 {
	sum, weights := 0.0, 0.0
	for i := range 23 {
		near := plainTheta(i)
		weight := math.Exp(-(near - theta) * (near - theta) / (2 * .15 * .15))
		sum += weight * plainChance(t, near+hard, lost)
		weights += weight
	}
	return sum / weights
}

// plainDue is what is due of a habit's moves by class at one strength and share.
func plainDue(h practice.Tally, theta, lost float64) [practice.Classes]float64 {
	careless := 1 / (1 + math.Exp(-theta))
	var due [practice.Classes]float64
	for c := range due {
		due[c] = (1-lost)*careless*float64(h.Drawn[c])/1000 + lost*float64(h.Weights.Offered[c])/1000
	}
	if h.Weights.Offered[0] > 0 {
		due[0] += (1 - lost) * (1 - careless) * float64(h.Of)
	}
	return due
}

// plainStruck is how much likelier a habit's moves are with it, in the mean of the shares in
// which it may strike.
func plainStruck(h practice.Tally, least, theta, lost float64) float64 {
	own, made := 0.0, 0
	for c, o := range h.Weights.Offered {
		own += float64(o)
		made += h.Weights.Made[c]
	}
	due, sum, n := plainDue(h, theta, lost), 0.0, 0.0
	for _, share := range []float64{.075, .15, .3, .45, .6, .75, .9} {
		if share < least {
			continue
		}
		times := math.Pow(1-share, float64(h.Of-made))
		for c, k := range h.Weights.Made {
			if k > 0 {
				times *= math.Pow(1-share+share*float64(h.Weights.Offered[c])/own*float64(h.Of)/due[c], float64(k))
			}
		}
		sum, n = sum+times, n+1
	}
	return sum / n
}

// plainCause is a stage, or a habit with the least share in which it strikes.
type plainCause struct {
	stage int // -1: a habit
	habit practice.Habit
	least float64
}

// plainRule works out what FirstOf says.
type plainRule struct {
	code   string
	games  [][]progress.Tally
	causes []plainCause
}

// at is the weight of one point of the grid: of nothing (cause -1), or of a cause that shows
// in some of the games.
func (r plainRule) at(i, k, cause int, shown [][]progress.Tally) float64 {
	theta := plainTheta(i)
	all := plainUsual[k] * math.Exp(-(theta+1.2)*(theta+1.2)/(2*1.2*1.2))
	for s, t := range progress.Sum(r.games) {
		if cause >= 0 && r.causes[cause].stage < 0 {
			all *= plainChance(t, theta+hardness[r.code][s], plainShares[k])
		} else {
			all *= plainBlurred(t, theta, hardness[r.code][s], plainShares[k])
		}
	}
	if cause < 0 {
		return all
	}
	c, sum := r.causes[cause], progress.Sum(shown)
	if c.stage < 0 {
		return all * plainStruck(plainHabit(sum, c.habit), c.least, theta, plainShares[k])
	}
	mean, n := 0.0, 0.0
	for _, more := range plainShares {
		if more >= plainShares[k]+.1 {
			mean += plainBlurred(sum[c.stage], theta, hardness[r.code][c.stage], more)
			n++
		}
	}
	return all * mean / n / plainBlurred(sum[c.stage], theta, hardness[r.code][c.stage], plainShares[k])
}

func plainHabit(stages []progress.Tally, h practice.Habit) practice.Tally {
	var sum practice.Tally
	for _, t := range stages {
		sum = sum.Add(t.Habits[h])
	}
	return sum
}

// mass sums the weights over the grid, with the means of strength and share.
func (r plainRule) mass(cause int, shown [][]progress.Tally) (all, theta, lost float64) {
	for i := range 23 {
		for k := range plainUsual {
			w := r.at(i, k, cause, shown)
			all, theta, lost = all+w, theta+w*plainTheta(i), lost+w*plainShares[k]
		}
	}
	return all, theta / all, lost / all
}

// chances are those of each cause to be at work now, with the strength and the share of lost
// moves beside the likeliest.
func (r plainRule) chances() (now []float64, theta, lost float64) {
	stages, cuts := 0.0, []int{}
	for _, c := range r.causes {
		if c.stage >= 0 {
			stages++
		}
	}
	for last := 6; last <= len(r.games)-2; last += 2 {
		cuts = append(cuts, len(r.games)-last)
	}
	nothing, _, _ := r.mass(-1, nil)
	all, most := .25*nothing, 0.0
	for c := range r.causes {
		always, th, lo := r.mass(c, r.games)
		one := .75 * .6 / stages
		if r.causes[c].stage < 0 {
			one = .75 * .4 / (float64(len(r.causes)) - stages)
		}
		weights := []float64{one * (1 - .07*float64(len(cuts))) * always}
		for _, at := range cuts {
			began, _, _ := r.mass(c, r.games[at:])
			ended, _, _ := r.mass(c, r.games[:at])
			weights = append(weights, one*.03*began)
			all += one * .04 * ended
		}
		sum := 0.0
		for _, w := range weights {
			if sum += w; w > most {
				most, theta, lost = w, th, lo
			}
		}
		now, all = append(now, sum), all+sum
	}
	for c := range now {
		now[c] /= all
	}
	return now, theta, lost
}

// saves is what the cure of a cause saves in a stage.
func (r plainRule) saves(cause, stage int, theta, lost float64) float64 {
	t, c := progress.Sum(r.games)[stage], r.causes[cause]
	h, sum := t.Habits[c.habit], 0.0
	due := plainDue(h, theta, lost)
	if c.stage >= 0 {
		if c.stage != stage {
			return 0
		}
		h = practice.Tally{Weights: t.Weights}
		p := chances(t.Weights.Offered, 1/(1+math.Exp(-theta)), lost)
		for class := range due {
			due[class] = float64(t.N) * p[class]
		}
	}
	for class, cost := range plainCosts {
		sum += cost * (float64(h.Weights.Made[class]) - due[class]) / float64(len(r.games))
	}
	return max(sum, 0)
}

// first gives the best cure, with its expected share and gain.
func (r plainRule) first() (best int, sure, gain float64) {
	now, theta, lost := r.chances()
	stages := len(r.games[0])
	whole := func(c int) (sum float64) {
		for s := range stages {
			sum += r.saves(c, s, theta, lost)
		}
		return sum
	}
	for c, cure := range r.causes {
		share, moves := 0.0, 0.0
		for at, of := range r.causes {
			saved := 0.0
			if at == c {
				saved = whole(c)
			} else if cure.stage >= 0 && of.stage < 0 {
				saved = r.saves(at, cure.stage, theta, lost)
			}
			if whole(at) > 0 {
				share += now[at] * saved / whole(at)
				moves += now[at] * saved
			}
		}
		if share > sure {
			best, sure, gain = c, share, moves
		}
	}
	return best, sure, gain
}

// TestFirstAgainstPlain: what is taught first, its share and its gain are those of the plain
// rule, whether a cause is there always, began or ended, or none is.
func TestFirstAgainstPlain(t *testing.T) {
	t.Parallel()
	causes := []plainCause{{stage: 0}, {stage: 1}, {stage: -1, habit: practice.Stalemates, least: .15},
		{stage: -1, habit: practice.Hanging, least: .075}, {stage: -1, habit: practice.Checks, least: .3},
		{stage: -1, habit: practice.KingHome, least: .45}, {stage: -1, habit: practice.Shuffling, least: .45}}
	well, lost := pupil{careless: .2}, pupil{careless: .2, lost: .4}
	checks := pupil{careless: .2, habit: practice.Checks, share: .35}
	hangs := pupil{careless: .2, habit: practice.Hanging, share: .1}
	home := pupil{careless: .2, habit: practice.KingHome, share: .45}
	stale := pupil{careless: .2, habit: practice.Stalemates, share: .3}
	shuffles := pupil{careless: .2, habit: practice.Shuffling, share: .6}
	hurry := pupil{careless: .2, region: practice.Hurry}
	hurried, corner := hurry, pupil{careless: .2, region: practice.WrongCorner}
	hurried.habit, hurried.share = practice.Hurry, .4
	regions := func(h practice.Habit) []plainCause {
		return append(append([]plainCause{}, causes...), plainCause{stage: -1, habit: h, least: .3})
	}
	for name, c := range map[string]struct {
		games  [][]progress.Tally
		causes []plainCause
	}{
		"nothing":        {season(1, 3, 6, well, well), causes},
		"a stage":        {season(2, 4, 4, well, lost), causes},
		"a stage began":  {append(season(3, 4, 4, well, well), season(3, 6, 4, lost, well)...), causes},
		"a stage ended":  {append(season(4, 3, 4, lost, well), season(4, 6, 4, well, well)...), causes},
		"checks":         {season(5, 4, 4, checks, checks), causes},
		"checks ended":   {append(season(6, 3, 4, checks, checks), season(6, 6, 4, well, well)...), causes},
		"men hang":       {season(7, 7, 4, hangs, hangs), causes},
		"king at home":   {season(8, 3, 5, home, home), causes},
		"stalemates":     {season(9, 6, 5, stale, stale), causes},
		"no nearer":      {season(10, 5, 6, shuffles, shuffles), causes},
		"two stalemates": {season(1, 3, 3, stale, stale), causes},
		"few no nearer":  {season(2, 2, 4, shuffles, shuffles), causes},
		"by the clock":   {season(11, 4, 6, hurry, hurry), regions(practice.Hurry)},
		"hurried":        {season(12, 6, 6, hurried, hurried), regions(practice.Hurry)},
		"a wrong corner": {season(13, 4, 6, corner, corner), regions(practice.WrongCorner)},
	} {
		r := plainRule{"KQK", c.games, c.causes}
		best, sure, gain := r.first()
		f, ok := progress.FirstOf("KQK", c.games)
		if math.Abs(f.Sure-sure) > 1e-3 || math.Abs(f.Gain-gain) > 1e-2 {
			t.Errorf("%s: %+v, by the plain rule %+v with %.4f and %.4f", name, f, c.causes[best], sure, gain)
		}
		if ok != (sure >= .4 && gain >= 1.5) || f.Habit != c.causes[best].habit {
			t.Errorf("%s: %+v, %v, by the plain rule %+v", name, f, ok, c.causes[best])
		}
		if s := c.causes[best].stage; s >= 0 && f.Stage != []ending.Stage{ending.Edge, ending.Mate}[s] {
			t.Errorf("%s: %+v, by the plain rule stage %d", name, f, s)
		}
	}
}
