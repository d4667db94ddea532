package cohort

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"
	"time"

	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
)

// marks are the numbers of games after which students are looked at.
var marks = [...]int{5, 10, 20}

// Marks lists the numbers of games after which students are looked at; a copy.
func Marks() []int { return slices.Clone(marks[:]) }

// Share is how one kind fares in one ending after a number of games. Shares are
// of the students that have a true stage; those apart have none.
type Share struct {
	Kind       string   `json:"kind"`
	Ending     string   `json:"ending"`
	Students   int      `json:"students"`
	Games      int      `json:"games"`
	Apart      int      `json:"apart"`
	Right      float64  `json:"right"`
	Wrong      float64  `json:"wrong"`
	NotYet     float64  `json:"not_yet"`
	HabitRight *float64 `json:"habit_right"`

	ApartNamed int `json:"-"` // of those apart, how many are given a stage all the same
}

// Total is how all kinds and endings fare together after a number of games.
type Total struct {
	Total             bool    `json:"total"`
	Games             int     `json:"games"`
	Right             float64 `json:"right"`
	Wrong             float64 `json:"wrong"`
	HabitRight        float64 `json:"habit_right"`
	HealthyCalledWeak float64 `json:"healthy_called_weak"`
}

// Study says which students are measured: of which kind, in which ending, how
// many, and from which seed.
type Study struct {
	Kind     Kind
	Plan     *ending.Plan
	Students int
	Seed     int64
}

// Measured is how the rule fares after each number of games.
type Measured struct {
	Shares []Share
	Strict []Share // the same, where a stage is true only if the weakness strikes more often in it than elsewhere
}

// Measure plays the students of a study, on all cores, and says how the rule
// fares.
func Measure(ctx context.Context, j *ending.Judge, s Study) (Measured, error) {
	all, err := seasons(ctx, j, s)
	var m Measured
	if err != nil {
		return m, err
	}
	for _, games := range marks {
		m.Shares = append(m.Shares, s.share(all, games, false))
		m.Strict = append(m.Strict, s.share(all, games, true))
	}
	return m, nil
}

// Samples plays the students of a study and gives their tallies.
func Samples(ctx context.Context, j *ending.Judge, s Study) ([]progress.Sample, error) {
	all, err := seasons(ctx, j, s)
	if err != nil {
		return nil, err
	}
	out := make([]progress.Sample, len(all))
	for i, one := range all {
		out[i] = progress.Sample{Ending: s.Plan.Code, Stages: progress.Sum(one.games)}
	}
	return out, nil
}

// season is all that one student did, game by game.
type season struct {
	games   [][]progress.Tally
	planted []int // planted moves, stage by stage
}

// seasons plays the students of a study.
func seasons(ctx context.Context, j *ending.Judge, s Study) ([]season, error) {
	all := make([]season, s.Students)
	err := each(len(all), func(i int) (err error) {
		all[i], err = s.Kind.season(ctx, j, s.Plan, s.stream(i))
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("%s in %s: %w", s.Kind.Name, s.Plan.Code, err)
	}
	return all, nil
}

// stream is the randomness of one student of a study.
func (s Study) stream(i int) *rand.Rand {
	return rand.New(rand.NewPCG(uint64(s.Seed), hash(s.Kind.Name+s.Plan.Code, i)))
}

// each does something for each of n students, on all cores.
func each(n int, do func(i int) error) error {
	errs := make([]error, n)
	var wg sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		wg.Go(func() {
			for i := range next {
				errs[i] = do(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	wg.Wait()
	return errors.Join(errs...)
}

// hash mixes a name and a number into a stream of its own.
func hash(name string, i int) uint64 {
	h := uint64(14695981039346656037) // FNV-1a
	for _, c := range []byte(fmt.Sprint(name, i)) {
		h = (h ^ uint64(c)) * 1099511628211
	}
	return h
}

// season plays one student's games: whole endings until the first look, then
// from the stage that the diagnosis proposes.
func (k Kind) season(ctx context.Context, j *ending.Judge, plan *ending.Plan, rng *rand.Rand) (season, error) {
	d := k.student(rng)
	out := season{planted: make([]int, len(plan.Steps))}
	for n := range marks[len(marks)-1] {
		from := 0
		if n >= progress.Enough {
			from = progress.NextStage(progress.Sum(out.games))
		}
		o, fell, err := one(ctx, j, plan, from, d.in(n, Cure{}), rng, k.clock)
		if err != nil {
			return out, err
		}
		row := make([]progress.Tally, len(plan.Steps))
		for _, r := range o.Stages {
			if i := plan.Index(r.Stage); i >= 0 {
				row[i] = progress.Tally{N: r.Moves, K: r.Bad, Weights: r.Weights, Habits: r.Habits}
			}
		}
		out.games = append(out.games, row)
		for stage, c := range fell {
			if i := plan.Index(stage); i >= 0 {
				out.planted[i] += c
			}
		}
	}
	return out, nil
}

// secondsAMove is the time that a game by the clock gives for each move of the longest
// mate of its ending (common practice).
const secondsAMove = 10

// longestMate is, by ending, the number of moves of the longest mate. (From memory; the
// tests of the solver hold it against a published table.)
var longestMate = map[string]int{"KQK": 10, "KRK": 16, "KRRK": 7, "KBBK": 19, "KBNK": 33}

// one plays one game from a stage to mate against the defender that holds out
// longest.
func one(ctx context.Context, j *ending.Judge, plan *ending.Plan, from int, s Student, rng *rand.Rand,
	clock bool) (practice.Outcome, map[ending.Stage]int, error) {
	starts, err := j.Starts(ctx, plan, plan.Steps[from].Stage, 1, rng.Int64())
	if err != nil {
		return practice.Outcome{}, nil, err
	}
	set := practice.Setup{
		Student: 1, Ending: plan.Code, Start: starts[0].FEN(), Mode: practice.Practice, Target: plan.Steps[plan.Last()].Stage,
		Defender: ending.HoldsOut, Seed: rng.Int64(), Backs: 1, Allowance: 3,
	}
	if clock {
		set.Clock = secondsAMove * longestMate[plan.Code]
	}
	state, fell, err := play(ctx, j, set, s, rng, time.Unix(0, 0).UTC())
	if err != nil {
		return practice.Outcome{}, nil, err
	}
	o, err := practice.Summary(ctx, j, state)
	return o, fell, err
}

// Truth: a student's true stage is the judged stage in which this share of at
// least so many planted moves fell. A habit that strikes as often everywhere
// then has a true stage too, where the student is stuck and most of its moves
// fall; strictly, the weakness must strike so many times as often a move there
// as in the other stages, of which so many moves must be known.
const (
	truthShare     = 0.7
	truthLeast     = 20
	truthTimes     = 2
	truthElsewhere = 20
)

// truth is the index of the stage in which a planted weakness really acted, or
// -1: the student stands apart.
func (s season) truth(strict bool) int {
	planted, moves := 0, 0
	sum := progress.Sum(s.games)
	for i, n := range s.planted {
		planted += n
		moves += sum[i].N
	}
	if planted < truthLeast {
		return -1
	}
	for i, n := range s.planted {
		if float64(n) < truthShare*float64(planted) {
			continue
		}
		own, other := sum[i].N, moves-sum[i].N
		if !strict || other >= truthElsewhere && n*other >= truthTimes*(planted-n)*own {
			return i
		}
	}
	return -1
}

// share sums up what the rule says of students after a number of games.
func (s Study) share(all []season, games int, strict bool) Share {
	out := Share{Kind: s.Kind.Name, Ending: s.Plan.Code, Students: len(all), Games: games}
	var right, wrong, none, habit float64
	for _, one := range all {
		weakest := progress.Weakest(s.Plan.Code, progress.Sum(one.games[:games])).Stage
		truth := one.truth(strict)
		if s.Kind.Habit != "" && named(progress.FirstOf(s.Plan.Code, one.games[:games])).Habit == s.Kind.Habit {
			habit++
		}
		switch {
		case !s.Kind.Healthy && truth < 0:
			out.Apart++
			if weakest >= 0 {
				out.ApartNamed++
			}
		case weakest < 0:
			none++
		case weakest == truth && !s.Kind.Healthy:
			right++
		default:
			wrong++
		}
	}
	n := right + wrong + none
	out.Right, out.Wrong, out.NotYet = over(right, n), over(wrong, n), over(none, n)
	if s.Kind.Habit != "" && len(all) > 0 {
		h := over(habit, float64(len(all)))
		out.HabitRight = &h
	}
	return out
}

// named is what is to be taught first, nothing where nothing stands out.
func named(f progress.First, ok bool) progress.First {
	if !ok {
		return progress.First{}
	}
	return f
}

// Totals sums up shares of many kinds and endings: each student with a true
// stage counts once, and each healthy one. A mild kind counts in neither.
func Totals(shares []Share) []Total {
	by := map[string]Kind{}
	for _, k := range kinds {
		by[k.Name] = k
	}
	totals := make([]Total, len(marks))
	for m, games := range marks {
		t := Total{Total: true, Games: games}
		var counted, well, habits float64
		for _, s := range shares {
			if s.Games != games || by[s.Kind].Mild {
				continue
			}
			n := float64(s.Students - s.Apart)
			if by[s.Kind].Healthy {
				t.HealthyCalledWeak += s.Wrong * n
				well += n
			} else {
				t.Right += s.Right * n
				t.Wrong += s.Wrong * n
				counted += n
			}
			if s.HabitRight != nil {
				t.HabitRight += *s.HabitRight
				habits++
			}
		}
		t.Right, t.Wrong = over(t.Right, counted), over(t.Wrong, counted)
		t.HealthyCalledWeak, t.HabitRight = over(t.HealthyCalledWeak, well), over(t.HabitRight, habits)
		totals[m] = t
	}
	return totals
}

func over(sum, n float64) float64 {
	if n == 0 {
		return 0
	}
	return sum / n
}
