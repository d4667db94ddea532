package cohort

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
)

// Cure is a cure by experiment: a weakness no longer strikes in a stage, a habit no
// longer strikes at all, or nothing does. The zero value cures nothing.
type Cure struct {
	Stage ending.Stage
	Habit practice.Habit
	All   bool
}

// movesNotWon is what a game counts that was not won.
const movesNotWon = 50

// worth is the least gain of the best cure, in own moves a game and in the mean of a
// study, for which it matters what is taught first.
const worth = 2

// CureShare is how what is taught first fares in one kind and ending after a number of
// games, by experiment: the same games are played again after each cure.
type CureShare struct {
	Kind     string `json:"kind"`
	Ending   string `json:"ending"`
	Students int    `json:"students"`
	Games    int    `json:"games"`
	Healthy  bool   `json:"healthy"`  // nothing is to be found then
	LeftOut  bool   `json:"left_out"` // the best cure brings too little to matter

	Captured   Mean `json:"captured"`   // share of the best cure's gain of what is said first
	Misleading Mean `json:"misleading"` // something is said, and it brings under half of that
	Silent     Mean `json:"silent"`     // nothing is said
	Gain       Mean `json:"gain"`       // of the best cure, in own moves a game
}

// Mean is a mean with its standard error.
type Mean struct {
	Mean  float64 `json:"mean"`
	Error float64 `json:"se"`
}

func meanOf(all []float64) Mean {
	n := float64(len(all))
	if n == 0 {
		return Mean{}
	}
	sum, squares := 0.0, 0.0
	for _, x := range all {
		sum += x
		squares += x * x
	}
	m := Mean{Mean: sum / n}
	if n > 1 {
		m.Error = math.Sqrt(max(squares/n-m.Mean*m.Mean, 0) / (n - 1))
	}
	return m
}

// cured is what one student's cures bring, and what is said first after each number of
// games.
type cured struct {
	gain map[Cure]float64
	said []said
}

type said struct {
	progress.First
	ok bool
}

// Cured plays the students of a study, and after each cure again, and says what is
// gained by what is taught first.
func Cured(ctx context.Context, j *ending.Judge, s Study) ([]CureShare, error) {
	seasons, err := seasons(ctx, j, s)
	if err != nil {
		return nil, err
	}
	all := make([]cured, len(seasons))
	err = each(len(all), func(i int) error {
		for _, games := range looks {
			f, ok := progress.FirstOf(s.Plan.Code, seasons[i].games[:games])
			all[i].said = append(all[i].said, said{f, ok})
		}
		if s.Kind.Healthy {
			return nil
		}
		gain, err := s.gains(ctx, j, i)
		all[i].gain = gain
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("%s in %s: %w", s.Kind.Name, s.Plan.Code, err)
	}
	var out []CureShare
	for look, games := range looks {
		out = append(out, s.cureShare(all, look, games))
	}
	return out, nil
}

// looks are the numbers of games after which something is said: the marks, and six
// games after a weakness has gone.
var looks = [...]int{5, 10, 16, 20}

// Looks lists them; a copy.
func Looks() []int { return slices.Clone(looks[:]) }

// cures are the cures that can be said of a kind.
func (s Study) cures() []Cure {
	var cures []Cure
	for _, step := range s.Plan.Steps {
		cures = append(cures, Cure{Stage: step.Stage})
	}
	for _, p := range s.Kind.plants {
		if p.habit != "" {
			cures = append(cures, Cure{Habit: p.habit})
		}
	}
	return cures
}

// gains plays the games of one student without a cure and after each.
func (s Study) gains(ctx context.Context, j *ending.Judge, i int) (map[Cure]float64, error) {
	d := s.Kind.student(s.stream(i))
	sick := 0
	for !s.Kind.At(sick) {
		sick++
	}
	mean := func(c Cure) (float64, error) {
		sum := 0.0
		for game := range marks[len(marks)-1] {
			rng := rand.New(rand.NewPCG(uint64(s.Seed)+1, hash(s.Kind.Name+s.Plan.Code, i)+uint64(game)))
			o, _, err := one(ctx, j, s.Plan, 0, d.in(sick, c), rng, s.Kind.clock)
			if err != nil {
				return 0, err
			}
			if o.Result == practice.NotWon {
				o.Moves = movesNotWon
			}
			sum += float64(o.Moves) / float64(marks[len(marks)-1])
		}
		return sum, nil
	}
	before, err := mean(Cure{})
	if err != nil {
		return nil, err
	}
	gain := map[Cure]float64{}
	for _, c := range s.cures() {
		after, err := mean(c)
		if err != nil {
			return nil, err
		}
		gain[c] = before - after
	}
	return gain, nil
}

// cureShare sums up what is gained after a number of games.
func (s Study) cureShare(all []cured, look, games int) CureShare {
	out := CureShare{Kind: s.Kind.Name, Ending: s.Plan.Code, Students: len(all), Games: games, Healthy: !s.Kind.At(games - 1)}
	var captured, misleading, silent, gain []float64
	for _, one := range all {
		said := one.said[look]
		silent = append(silent, truth(!said.ok))
		best := 0.0
		for _, g := range one.gain {
			best = max(best, g)
		}
		gain = append(gain, best)
		if out.Healthy || best < worth/2 {
			continue
		}
		share := 0.0
		if said.ok {
			share = one.gain[Cure{Stage: said.Stage}] / best
			if said.Habit != "" {
				share = one.gain[Cure{Habit: said.Habit}] / best
			}
		}
		captured = append(captured, share)
		misleading = append(misleading, truth(said.ok && share < 0.5))
	}
	out.Captured, out.Misleading, out.Silent, out.Gain = meanOf(captured), meanOf(misleading), meanOf(silent), meanOf(gain)
	out.LeftOut = !out.Healthy && out.Gain.Mean < worth
	return out
}

func truth(is bool) float64 {
	if is {
		return 1
	}
	return 0
}

// CureTotal is how all kinds and endings fare together after a number of games.
type CureTotal struct {
	Total      bool    `json:"total"`
	Games      int     `json:"games"`
	Students   int     `json:"students"`
	Captured   Mean    `json:"captured"`
	Misleading Mean    `json:"misleading"`
	Silent     Mean    `json:"silent"`
	Told       float64 `json:"healthy_told"`
}

// CureTotals sums up: each kind and ending weighs as its students. Healthy are those
// of whom nothing is to be found at that time; a mild kind counts in neither.
func CureTotals(shares []CureShare) []CureTotal {
	by := map[string]Kind{}
	for _, k := range kinds {
		by[k.Name] = k
	}
	var totals []CureTotal
	for _, games := range looks {
		t := CureTotal{Total: true, Games: games}
		well := 0.0
		var sum [3]pooled
		for _, s := range shares {
			switch n := float64(s.Students); {
			case s.Games != games || s.LeftOut || by[s.Kind].Mild:
			case s.Healthy:
				t.Told += (1 - s.Silent.Mean) * n
				well += n
			default:
				t.Students += s.Students
				sum[0].add(s.Captured, n)
				sum[1].add(s.Misleading, n)
				sum[2].add(s.Silent, n)
			}
		}
		t.Told = over(t.Told, well)
		t.Captured, t.Misleading, t.Silent = sum[0].mean(), sum[1].mean(), sum[2].mean()
		totals = append(totals, t)
	}
	return totals
}

// pooled is a mean of means.
type pooled struct{ n, sum, variance float64 }

func (p *pooled) add(m Mean, n float64) {
	p.n += n
	p.sum += n * m.Mean
	p.variance += n * n * m.Error * m.Error
}

func (p *pooled) mean() Mean {
	return Mean{over(p.sum, p.n), over(math.Sqrt(p.variance), p.n)}
}
