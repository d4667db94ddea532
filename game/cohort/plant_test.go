package cohort

import (
	"context"
	"math"
	"math/rand/v2"
	"slices"
	"sync"
	"testing"

	"drover/game/board"
	"drover/game/ending"
	"drover/solver"
)

// scenes are positions of every stage of every ending, with the attacker to
// move. They are made once.
var scenes = sync.OnceValues(func() ([]Scene, error) {
	ctx := context.Background()
	j := ending.NewJudge(solver.NewTables())
	var all []Scene
	for _, plan := range ending.Plans() {
		for _, step := range plan.Steps {
			starts, err := j.Starts(ctx, &plan, step.Stage, 30, 3)
			if err != nil {
				return nil, err
			}
			for _, p := range starts {
				options, err := j.Options(ctx, p)
				if err != nil {
					return nil, err
				}
				best := math.MaxInt
				for _, o := range options {
					if o.Wins() {
						best = min(best, o.After.Plies)
					}
				}
				all = append(all, Scene{p, GeometryOf(p, board.White), options, best, false, ""})
			}
		}
	}
	return all, nil
})

// option is what a move of a scene leads to, and its cost in moves.
func (v Scene) option(t *testing.T, m board.Move) (o ending.Option, cost int) {
	t.Helper()
	for _, o := range v.Options {
		if o.Move.UCI() == m.UCI() {
			return o, (o.After.Plies - v.best) / 2
		}
	}
	t.Fatalf("%s is no move in %s", m.UCI(), v.FEN())
	return o, 0
}

// TestPlants: each weakness does what its name says and nothing else, wherever
// it strikes; and it does strike, but not always where it could.
func TestPlants(t *testing.T) {
	t.Parallel()
	all, err := scenes()
	if err != nil {
		t.Fatal(err)
	}
	winning := func(o ending.Option) bool { return o.Wins() }
	for name, c := range map[string]struct {
		weak   Weakness
		always bool // strikes wherever it can
		is     func(v Scene, o ending.Option, cost int) bool
	}{
		"hangs": {hangs(.5), false,
			func(v Scene, o ending.Option, _ int) bool { return !winning(o) && !v.Play(o.Move).Stalemate() }},
		"stalemates": {stalemates(.5), false,
			func(v Scene, o ending.Option, _ int) bool { return v.Play(o.Move).Stalemate() }},
		"checks": {checks(.5), false,
			func(_ Scene, o ending.Option, cost int) bool { return winning(o) && o.Move.Check && cost >= 1 }},
		"stays": {stays(.5), false, func(v Scene, o ending.Option, cost int) bool {
			return winning(o) && v.At(o.Move.From).Kind != board.King && cost >= 1
		}},
		"shuffles": {shuffles(1), true, func(_ Scene, o ending.Option, cost int) bool { return winning(o) && cost == 1 }},
		"unfinished": {unfinished(closeToMate)(.5), false, func(v Scene, o ending.Option, cost int) bool {
			return winning(o) && cost >= 1 && v.Rim == 0 && v.Near <= 3
		}},
		"lost in the centre": {lost(inCentre)(.5), false, func(v Scene, _ ending.Option, _ int) bool { return v.Rim == 3 }},
	} {
		rng := rand.New(rand.NewPCG(1, 2))
		could, struck := 0, 0
		for _, v := range all {
			can := false
			for _, o := range v.Options {
				can = can || c.is(v, o, (o.After.Plies-v.best)/2)
			}
			m, did := c.weak(v, rng)
			if can {
				could++
			}
			if !did {
				continue
			}
			struck++
			if o, cost := v.option(t, m); !can || !c.is(v, o, cost) {
				t.Errorf("%s plays %s in %s, cost %d", name, v.SAN(m), v.FEN(), cost)
			}
		}
		if struck == 0 || struck > could || c.always != (struck == could) {
			t.Errorf("%s strikes in %d of %d positions", name, struck, could)
		}
	}
}

// TestKindsAreDescribed: names are different, healthy kinds have nothing
// planted, and every ending that a kind is played in has a plan.
func TestKindsAreDescribed(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	healthy := 0
	rng := rand.New(rand.NewPCG(4, 4))
	for _, k := range Kinds() {
		if k.Name == "" || seen[k.Name] || !k.Healthy && len(k.plants) == 0 || k.Healthy && k.Habit != "" {
			t.Errorf("%+v", k)
		}
		seen[k.Name] = true
		if k.Healthy {
			healthy++
		}
		for _, code := range k.Endings {
			if _, ok := ending.PlanOf(code); !ok || !k.PlayedIn(code) {
				t.Errorf("%s is played in %s", k.Name, code)
			}
		}
		if k.PlayedIn("KBNK") && k.Endings != nil && !slices.Contains(k.Endings, "KBNK") ||
			k.PlayedIn("KPK") != (k.Endings == nil) {
			t.Errorf("%s is played in an ending that it does not name", k.Name)
		}
		if s := k.student(rng); s.Skill < .2 || s.Skill > 1 || s.Name != k.Name {
			t.Errorf("%s draws %+v", k.Name, s)
		}
	}
	if healthy < 3 {
		t.Errorf("%d healthy kinds, want three strengths", healthy)
	}
}

// TestWeight: an exact student takes the best alone, another the less the more
// it costs; a lost win hardly draws anybody, unless all are lost.
func TestWeight(t *testing.T) {
	t.Parallel()
	won := func(plies int) ending.Option {
		return ending.Option{After: solver.Value{Outcome: solver.Loss, Plies: plies}}
	}
	draw := ending.Option{}
	if weight(won(10), 10, true) != 1 || weight(won(12), 10, true) != 0 || weight(won(10), 10, false) != 1 {
		t.Error("the best move")
	}
	if a, b := weight(won(12), 10, false), weight(won(20), 10, false); a >= 1 || b >= a || b <= 0 {
		t.Errorf("costs of one and five moves weigh %f and %f", a, b)
	}
	if w := weight(draw, 10, false); w <= 0 || w > 0.01 || weight(draw, math.MaxInt, true) != 1 {
		t.Errorf("a lost win weighs %f", w)
	}
}
