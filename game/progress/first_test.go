package progress_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"drover/game"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
)

// parts say which share of the moves of each class are a habit's own here; a region has none,
// since there every move is one of the habit's.
var parts = map[practice.Habit][practice.Classes]float64{
	practice.Stalemates: {5: .1},
	practice.Hanging:    {5: .9},
	practice.Checks:     {1: .2, 2: .2, 3: .2, 4: .2},
	practice.KingHome:   {1: .65, 2: .65, 3: .65, 4: .65},
	practice.Shuffling:  {1: 1},
}

// pupil is what a made-up student does in a stage.
type pupil struct {
	careless, lost float64
	habit          practice.Habit
	share          float64        // in which the habit strikes
	region         practice.Habit // in which a third of the moves are made; empty: none
	without        practice.Habit // has no chance in this stage
}

// move draws one move: its class, and whether the pupil's habit made it.
func (d pupil) move(rng *rand.Rand, in bool) (class int, struck bool) {
	p := chances(usually, d.careless, d.lost)
	own, ok := parts[d.habit]
	struck = d.share > 0 && (ok || in) && rng.Float64() < d.share
	for c := range p {
		if struck && ok {
			p[c] = float64(usually[c]) * own[c]
		} else if struck {
			p[c] = float64(usually[c])
		}
	}
	all := 0.0
	for _, x := range p {
		all += x
	}
	left := rng.Float64() * all
	for class = range p {
		if left -= p[class]; left < 0 {
			return class, struck
		}
	}
	return 0, struck
}

// tally is a number of moves of a pupil, with the habits of all of them.
func (d pupil) tally(rng *rand.Rand, moves int) progress.Tally {
	t := progress.Tally{Habits: practice.Habitual{}}
	for i := range moves {
		in := d.region != "" && i%3 == 0
		class, struck := d.move(rng, in)
		one := progress.Tally{N: 1, Weights: practice.Weights{Offered: usually}, Habits: practice.Habitual{}}
		one.Weights.Made[class] = 1
		if class >= 2 {
			one.K = 1
		}
		for h, own := range parts {
			if h != d.without {
				one.Habits[h] = habitual(own, class, struck && h == d.habit || rng.Float64() < own[class])
			}
		}
		if in {
			every := habitual([practice.Classes]float64{1, 1, 1, 1, 1, 1}, class, true)
			every.K = one.K
			one.Habits[d.region] = every
		}
		t = t.Add(one)
	}
	return t
}

// habitual is one move as a habit counts it.
func habitual(own [practice.Classes]float64, class int, made bool) practice.Tally {
	t, drawn := practice.Tally{N: 1, Of: 1}, 0.0
	for c, o := range usually {
		drawn += float64(o) * draws[c]
	}
	for c, o := range usually {
		t.Weights.Offered[c] = int(math.Round(float64(o) * own[c]))
		t.Drawn[c] = int(math.Round(1000 * float64(o) * own[c] * draws[c] / drawn))
	}
	if made {
		t.K, t.Weights.Made[class] = 1, 1
	}
	return t
}

// season is a number of games, of so many moves in each stage.
func season(seed uint64, games, moves int, stages ...pupil) [][]progress.Tally {
	rng := rand.New(rand.NewPCG(seed, 77))
	var out [][]progress.Tally
	for range games {
		var row []progress.Tally
		for _, d := range stages {
			row = append(row, d.tally(rng, moves))
		}
		out = append(out, row)
	}
	return out
}

// three are the stages of a pupil that is alike in all.
func three(d pupil) []pupil { return []pupil{d, d, d} }

// first is FirstOf in the rook's ending, held against what is always true of it.
func first(t *testing.T, games [][]progress.Tally) (progress.First, bool) {
	t.Helper()
	f, ok := progress.FirstOf("KRK", games)
	if !(f.Sure >= 0 && f.Sure <= 1+1e-9 && f.Gain >= 0) || ok && (f.Sure < .4 || f.Gain < 1.5 || f.Ending != "KRK") {
		t.Errorf("%+v, %v", f, ok)
	}
	if ok != (f.Sure >= .4 && f.Gain >= 1.5) {
		t.Errorf("said is %v: %+v", ok, f)
	}
	return f, ok
}

var stagesOfRook = []ending.Stage{ending.Centralise, ending.Edge, ending.Mate}

// TestFirstOfTheHealthy: nothing is to be taught to who is alike in all stages, however weak.
func TestFirstOfTheHealthy(t *testing.T) {
	t.Parallel()
	var told []string
	for name, d := range map[string]pupil{
		"strong": {careless: .05}, "fair": {careless: .25}, "beginner": {careless: .5}, "weak everywhere": {careless: .75},
		"lost everywhere": {careless: .3, lost: .2}, "by the clock": {careless: .2, region: practice.Hurry},
	} {
		for seed := range uint64(4) {
			for _, games := range []int{5, 10, 16} {
				if f, ok := first(t, season(seed, games, 10, three(d)...)); ok {
					told = append(told, fmt.Sprintf("%s, seed %d, after %d games: %+v", name, seed, games, f))
				}
			}
		}
	}
	if len(told) > 4 { // chance tells a few of the seventy-two, all of one kind that is half lost
		t.Errorf("told: %s", strings.Join(told, "; "))
	}
}

// TestFirstStage: a stage in which far more is lost is said, with its moves and the bad ones.
func TestFirstStage(t *testing.T) {
	t.Parallel()
	for _, careless := range []float64{.1, .3} {
		for at, stage := range stagesOfRook {
			stages := three(pupil{careless: careless})
			stages[at].lost = .4
			games := season(uint64(at), 10, 10, stages...)
			sum := progress.Sum(games)[at]
			f, ok := first(t, games)
			if !ok || f.Habit != "" || f.Stage != stage || f.Shows != "" || f.N != sum.N || f.K != sum.K || f.Sure < .8 {
				t.Errorf("lost in %s: %+v, %v", stage, f, ok)
			}
		}
	}
}

// struckBy is a pupil with a habit that strikes as often as a coach would call one.
func struckBy(h practice.Habit) pupil {
	d := pupil{careless: .2, habit: h, share: .6}
	switch h {
	case practice.Hanging:
		d.share = .2
	case practice.KingHome, practice.Shuffling:
		d.share = .8
	case practice.WrongCorner, practice.Hurry:
		d.region, d.careless = h, .1
	}
	return d
}

// TestFirstHabit: a habit that strikes wherever it has its chance is said, with all its
// chances, and no single stage; where it has its chance in one stage alone, with that stage.
func TestFirstHabit(t *testing.T) {
	t.Parallel()
	for seed, h := range practice.Habits() {
		games := season(uint64(seed), 10, 12, three(struckBy(h))...)
		sum := practice.Habitual{}
		for _, s := range progress.Sum(games) {
			sum = sum.Add(s.Habits)
		}
		f, ok := first(t, games)
		if !ok || f.Habit != h || f.Stage != "" || f.Shows != "" || f.N != sum[h].N || f.K != sum[h].K || f.Sure < .5 {
			t.Errorf("%q: %+v, %v", h, f, ok)
		}
		stages := three(pupil{careless: .2, without: h})
		stages[2] = struckBy(h)
		if f, ok := first(t, season(uint64(seed), 10, 30, stages...)); !ok || f.Habit == h && f.Stage != ending.Mate ||
			f.Habit == "" && f.Stage != ending.Mate {
			t.Errorf("%q, near the mate alone: %+v, %v", h, f, ok)
		}
	}
}

// TestFirstShows: of a stage in which men are lost so often that this costs most of it, the
// habit is said beside the stage; where they are lost more seldom, or so are all, it is not.
func TestFirstShows(t *testing.T) {
	t.Parallel()
	shown, not := 0, 0
	for seed := range uint64(16) {
		stages := three(pupil{careless: .1})
		stages[0].lost = .7
		games := season(seed, 10, 10, stages...)
		f, ok := first(t, games)
		if !ok || f.Habit != "" || f.Stage != ending.Centralise {
			t.Fatalf("seed %d: %+v, %v", seed, f, ok)
		}
		sum := progress.Sum(games)[0]
		men, cost := sum.Habits[practice.Hanging], 0.0
		for c, n := range sum.Weights.Made {
			cost += plainCosts[c] * float64(n)
		}
		often, most := float64(men.K) >= .075*float64(men.N), 25*float64(men.K) >= .5*cost
		if share := 25 * float64(men.K) / cost; share > .45 && share < .55 {
			continue // what is due tips the scale
		}
		if f.Shows == practice.Hanging != (often && most) {
			t.Errorf("seed %d: %+v, with %d of %d men lost, %.2f of the costs", seed, f, men.K, men.N, 25*float64(men.K)/cost)
		}
		if often && most {
			shown++
		} else {
			not++
		}
	}
	if shown < 2 || not < 2 {
		t.Errorf("%d show it, %d do not", shown, not)
	}
}

// TestFirstFades: what has not shown for six games and more is no longer said, and what
// began eight games ago is.
func TestFirstFades(t *testing.T) {
	t.Parallel()
	well, ill := three(pupil{careless: .2}), three(pupil{careless: .2})
	ill[1].lost = .6
	habit := three(struckBy(practice.Checks))
	for name, sick := range map[string][]pupil{"stage": ill, "habit": habit} {
		before, after := season(1, 10, 10, sick...), season(2, 10, 10, well...)
		for n, want := range map[int]bool{0: true, 2: true, 8: false, 10: false} {
			if f, ok := first(t, append(before[:10:10], after[:n]...)); ok != want {
				t.Errorf("a %s, %d games after it: %+v, said is %v", name, n, f, ok)
			}
		}
		if f, ok := first(t, append(after[:10:10], before[:8]...)); !ok || name == "stage" && f.Stage != ending.Edge ||
			name == "habit" && f.Habit != practice.Checks {
			t.Errorf("a %s that began eight games ago: %+v, %v", name, f, ok)
		}
	}
}

// TestFirstIsWorthIt: what costs less than a move and a half in a game is not said, however
// sure it is.
func TestFirstIsWorthIt(t *testing.T) {
	t.Parallel()
	said, sure := 0, 0
	for seed := range uint64(30) {
		stages := three(pupil{careless: .1})
		stages[1].lost = .25 + .02*float64(seed)
		f, ok := first(t, season(seed, 20, 1, stages...))
		switch {
		case ok:
			said++
		case f.Sure >= .4:
			sure++
		}
	}
	if said < 3 || sure == 0 {
		t.Errorf("%d are said, %d are sure and not worth it", said, sure)
	}
}

// TestFirstIsSure: what is worth it is said from four chances in ten on, and not a little below.
func TestFirstIsSure(t *testing.T) {
	t.Parallel()
	below, above := 0.0, 1.0
	for seed := range uint64(400) {
		stages := three(pupil{careless: .2})
		stages[1].lost = .3
		f, ok := first(t, season(seed, 4, 5, stages...))
		switch {
		case ok:
			above = min(above, f.Sure)
		case f.Gain >= 1.5:
			below = max(below, f.Sure)
		}
	}
	if below < .38 || above > .42 {
		t.Errorf("nothing lies between %.3f and %.3f, so this shows little", below, above)
	}
}

// TestFirstOfFew: nothing is said of no games and of few moves, nor of rows from before
// weights and habits were counted.
func TestFirstOfFew(t *testing.T) {
	t.Parallel()
	stages := three(pupil{careless: .2})
	stages[1].lost = .6
	old := [][]progress.Tally{}
	for range 20 {
		old = append(old, []progress.Tally{{N: 10, K: 1}, {N: 10, K: 9}, {N: 10}})
	}
	noHabits := season(1, 12, 10, stages...)
	for _, g := range noHabits {
		for s := range g {
			g[s].Habits = nil
		}
	}
	for name, c := range map[string]struct {
		games [][]progress.Tally
		said  bool
	}{
		"none": {nil, false}, "empty": {[][]progress.Tally{make([]progress.Tally, 3)}, false},
		"one game": {season(1, 1, 3, stages...), false}, "old rows": {old, false}, "weights alone": {noHabits, true},
	} {
		if f, ok := first(t, c.games); ok != c.said {
			t.Errorf("%s: %+v, %v", name, f, ok)
		}
	}
}

// TestFirstGrows: the more games there are of a weakness, the surer it is said.
func TestFirstGrows(t *testing.T) {
	t.Parallel()
	stages := three(pupil{careless: .2})
	stages[0].lost = .5
	for name, of := range map[string][]pupil{"stage": stages, "habit": three(struckBy(practice.KingHome))} {
		all, last := season(5, 20, 10, of...), 0.0
		for _, n := range []int{1, 2, 4, 8, 16, 20} {
			f, _ := first(t, all[:n])
			if f.Sure < last-.1 {
				t.Errorf("%s: after %d games %.3f, before %.3f", name, n, f.Sure, last)
			}
			last = f.Sure
		}
		if last < .8 {
			t.Errorf("%s: in the end %.3f", name, last)
		}
	}
}

// TestFirstIsFair: in which order the stages stand decides nothing but the name.
func TestFirstIsFair(t *testing.T) {
	t.Parallel()
	stages := three(pupil{careless: .2})
	stages[0].lost = .5
	games := season(6, 9, 10, stages...)
	was, _ := progress.FirstOf("", games)
	for at := range stages {
		var turned [][]progress.Tally
		for _, g := range games {
			row := append([]progress.Tally{}, g...)
			row[0], row[at] = row[at], row[0]
			turned = append(turned, row)
		}
		f, _ := progress.FirstOf("", turned)
		if math.Abs(f.Sure-was.Sure) > 1e-9 || math.Abs(f.Gain-was.Gain) > 1e-9 || f.N != was.N || f.K != was.K {
			t.Errorf("turned to %d: %+v, was %+v", at, f, was)
		}
		if f, ok := progress.FirstOf("KRK", turned); !ok || f.Stage != stagesOfRook[at] {
			t.Errorf("weak in %s: %+v, %v", stagesOfRook[at], f, ok)
		}
	}
}

// TestSame: the same thing to teach is one of the same ending and habit, or of the same stage.
func TestSame(t *testing.T) {
	t.Parallel()
	stage := progress.First{Ending: "KRK", Stage: ending.Edge, Sure: .5}
	habit := progress.First{Ending: "KRK", Habit: practice.Checks, Stage: ending.Edge}
	for _, c := range []struct {
		a, b progress.First
		want bool
	}{
		{stage, progress.First{Ending: "KRK", Stage: ending.Edge, Shows: practice.Checks}, true},
		{stage, progress.First{Ending: "KQK", Stage: ending.Edge}, false},
		{stage, progress.First{Ending: "KRK", Stage: ending.Mate}, false}, {stage, habit, false},
		{habit, progress.First{Ending: "KRK", Habit: practice.Checks}, true},
		{habit, progress.First{Ending: "KRK", Habit: practice.Hanging, Stage: ending.Edge}, false},
	} {
		if c.a.Same(c.b) != c.want || c.b.Same(c.a) != c.want {
			t.Errorf("%+v and %+v", c.a, c.b)
		}
	}
}

// TestHabitsBesideTheFirst: what is to be taught first, or is said with the stage that is, is
// not said once more among the habits beside it.
func TestHabitsBesideTheFirst(t *testing.T) {
	t.Parallel()
	plan, _ := ending.PlanOf("KRK")
	shown := 0
	for seed := range uint64(16) {
		stages := three(pupil{careless: .1})
		stages[0].lost, stages[1].without, stages[2].without = .7, practice.Hanging, practice.Hanging
		r := progress.Record{Now: now}
		for i, row := range season(seed, 10, 10, stages...) {
			for at, of := range row {
				r.Stages = append(r.Stages, progress.StagePlayed{Ending: plan.Code, Stage: plan.Steps[at].Stage, Moves: of.N, Bad: of.K,
					Made: of.Weights.Made[:], Offered: of.Weights.Offered[:], Habits: of.Habits, Game: game.GameID(i + 1), Ended: now})
			}
		}
		o := r.Overview()
		if o.Found.First == nil {
			t.Fatalf("seed %d: nothing is taught first", seed)
		}
		if o.Found.First.Shows != "" {
			shown++
		}
		for _, h := range o.Habits {
			if h.Habit == o.Found.First.Shows || h.Habit == o.Found.First.Habit {
				t.Errorf("seed %d: %s is said twice", seed, h.Habit)
			}
		}
	}
	if shown < 2 {
		t.Errorf("%d show a habit in the stage", shown)
	}
}
