package cohort

import (
	"context"
	"fmt"
	"math/rand/v2"
	"runtime"
	"sync"
	"time"

	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
)

// Marks are the numbers of games after which students are looked at.
var Marks = []int{5, 10, 20}

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

// seen is what the rule said of one student after each mark.
type seen struct {
	truth  int   // index of the true stage, -1: none
	named  []int // index of the named stage, -1: none
	habits []practice.Habit
}

// Truth: a student's true stage is the judged stage in which this share of at
// least so many planted moves fell.
const (
	truthShare = 0.7
	truthLeast = 20
)

// Measure plays students of a kind in an ending, on all cores, and says how the
// rule fares after each number of games.
func Measure(ctx context.Context, j *ending.Judge, k Kind, plan *ending.Plan, students int, seed int64) ([]Share, error) {
	all := make([]seen, students)
	errs := make([]error, students)
	var wg sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		wg.Add(1)
		go func() {
			defer wg.Done()
			for i := range next {
				all[i], errs[i] = watch(ctx, j, k, plan, rand.New(rand.NewPCG(uint64(seed), hash(k.Name+plan.Code, i))))
			}
		}()
	}
	for i := range students {
		next <- i
	}
	close(next)
	wg.Wait()
	for _, err := range errs {
		if err != nil {
			return nil, fmt.Errorf("%s in %s: %w", k.Name, plan.Code, err)
		}
	}
	shares := make([]Share, len(Marks))
	for m := range Marks {
		shares[m] = k.share(plan, all, m)
	}
	return shares, nil
}

// hash mixes a name and a number into a stream of its own.
func hash(name string, i int) uint64 {
	h := uint64(14695981039346656037) // FNV-1a
	for _, c := range []byte(fmt.Sprint(name, i)) {
		h = (h ^ uint64(c)) * 1099511628211
	}
	return h
}

// watch plays one student's games and looks after each mark.
func watch(ctx context.Context, j *ending.Judge, k Kind, plan *ending.Plan, rng *rand.Rand) (seen, error) {
	s := k.student(rng)
	var out seen
	fell := map[ending.Stage]int{}
	var games [][]progress.Tally
	var habits []map[practice.Habit]practice.Tally
	for n := 1; n <= Marks[len(Marks)-1]; n++ {
		o, where, err := one(ctx, j, plan, s, rng)
		if err != nil {
			return out, err
		}
		row := make([]progress.Tally, len(plan.Steps))
		for _, r := range o.Stages {
			if i := plan.Index(r.Stage); i >= 0 {
				row[i] = progress.Tally{N: r.Moves, K: r.Bad}
			}
		}
		games, habits = append(games, row), append(habits, o.Habits)
		for stage, c := range where {
			fell[stage] += c
		}
		for _, mark := range Marks {
			if n == mark {
				out.named = append(out.named, progress.Weakest(plan.Code, progress.Sum(games)).Stage)
				out.habits = append(out.habits, progress.HabitOf(progress.SumHabits(habits...)))
			}
		}
	}
	out.truth = truth(plan, fell)
	return out, nil
}

// one plays one game from a start of the first stage against the defender that
// holds out longest.
func one(ctx context.Context, j *ending.Judge, plan *ending.Plan, s Student, rng *rand.Rand) (practice.Outcome, map[ending.Stage]int, error) {
	starts, err := j.Starts(ctx, plan, plan.Steps[0].Stage, 1, rng.Int64())
	if err != nil {
		return practice.Outcome{}, nil, err
	}
	set := practice.Setup{
		Student: 1, Ending: plan.Code, Start: starts[0].FEN(), Mode: practice.Practice, Target: plan.Steps[plan.Last()].Stage,
		Defender: "longest", Seed: rng.Int64(), Backs: 1, Allowance: 3,
	}
	state, fell, err := play(ctx, j, set, s, rng, time.Unix(0, 0).UTC())
	if err != nil {
		return practice.Outcome{}, nil, err
	}
	o, err := practice.Summary(ctx, j, state)
	return o, fell, err
}

// truth is the stage in which a planted weakness really acted.
func truth(plan *ending.Plan, fell map[ending.Stage]int) int {
	total := 0
	for _, n := range fell {
		total += n
	}
	for stage, n := range fell {
		if total >= truthLeast && float64(n) >= truthShare*float64(total) {
			return plan.Index(stage)
		}
	}
	return -1
}

// share sums up what the rule said of students after one mark.
func (k Kind) share(plan *ending.Plan, all []seen, mark int) Share {
	s := Share{Kind: k.Name, Ending: plan.Code, Students: len(all), Games: Marks[mark]}
	var right, wrong, none, habit int
	for _, one := range all {
		if one.habits[mark] == k.Habit {
			habit++
		}
		switch {
		case !k.Healthy && one.truth < 0:
			s.Apart++
		case one.named[mark] < 0:
			none++
		case one.named[mark] == one.truth:
			right++
		default:
			wrong++
		}
	}
	if n := float64(right + wrong + none); n > 0 {
		s.Right, s.Wrong, s.NotYet = float64(right)/n, float64(wrong)/n, float64(none)/n
	}
	if k.Habit != "" && len(all) > 0 {
		h := float64(habit) / float64(len(all))
		s.HabitRight = &h
	}
	return s
}

// Totals sums up shares of many kinds and endings: each student with a true
// stage counts once, and each healthy one.
func Totals(shares []Share) []Total {
	healthy := map[string]bool{}
	for _, k := range Kinds() {
		healthy[k.Name] = k.Healthy
	}
	totals := make([]Total, len(Marks))
	for m, games := range Marks {
		t := Total{Total: true, Games: games}
		var counted, well, habits float64
		for _, s := range shares {
			n := float64(s.Students - s.Apart)
			switch {
			case s.Games != games:
				continue
			case healthy[s.Kind]:
				t.HealthyCalledWeak += s.Wrong * n
				well += n
			default:
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
