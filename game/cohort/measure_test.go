package cohort_test

import (
	"context"
	"math"
	"reflect"
	"testing"

	"drover/game/cohort"
	"drover/game/ending"
)

// study is a study of a few students of a kind.
func study(t *testing.T, kind, code string, students int) cohort.Study {
	t.Helper()
	plan, ok := ending.PlanOf(code)
	if !ok {
		t.Fatalf("no plan %s", code)
	}
	for _, k := range cohort.Kinds() {
		if k.Name == kind {
			return cohort.Study{Kind: k, Plan: plan, Students: students, Seed: 3}
		}
	}
	t.Fatalf("no kind %q", kind)
	return cohort.Study{}
}

func measure(t *testing.T, s cohort.Study) []cohort.Share {
	t.Helper()
	m, err := cohort.Measure(context.Background(), judge, s)
	if err != nil {
		t.Fatal(err)
	}
	for i, s := range m.Shares {
		if m.Strict[i].Apart < s.Apart {
			t.Errorf("%+v, strictly %+v", s, m.Strict[i])
		}
		if n := s.Students - s.Apart; n > 0 && math.Abs(s.Right+s.Wrong+s.NotYet-1) > 1e-9 {
			t.Errorf("the shares do not add up: %+v", s)
		}
	}
	return m.Shares
}

// TestMeasure: who has a weakness planted in a stage is given that stage, and a
// healthy student none; the same seed measures the same.
func TestMeasure(t *testing.T) {
	t.Parallel()
	study5 := study(t, "never finishes", "KQK", 5)
	weak, well := measure(t, study5), measure(t, study(t, "healthy, fair", "KQK", 5))
	if last := weak[len(weak)-1]; last.Games != 20 || last.Apart != 0 || last.Right < .8 || last.Wrong > 0 ||
		last.HabitRight != nil {
		t.Errorf("a planted weakness: %+v", last)
	}
	for _, s := range well {
		if s.Right != 0 || s.Apart != 0 || s.Wrong > .2 || s.HabitRight != nil {
			t.Errorf("healthy: %+v", s)
		}
	}
	totals := cohort.Totals(append(weak, well...))
	if len(totals) != len(cohort.Marks()) || totals[2].Right != weak[2].Right ||
		totals[2].HealthyCalledWeak != well[2].Wrong {
		t.Errorf("totals %+v of %+v and %+v", totals, weak, well)
	}
	few := study5
	few.Students = 2
	if a, b := measure(t, few), measure(t, few); !reflect.DeepEqual(a, b) {
		t.Errorf("the same seed: %+v and %+v", a, b)
	}
}

// TestMeasureHabits: a habit that strikes as often everywhere is found as the
// habit, and its students stand apart where stages are counted. Stalemates all come in
// one stage, so of some students the stage is said, with the habit that shows in it.
func TestMeasureHabits(t *testing.T) {
	t.Parallel()
	for kind, least := range map[string]float64{"loses men": .75, "stalemates": .5} {
		last := measure(t, study(t, kind, "KQK", 4))[2]
		if last.HabitRight == nil || *last.HabitRight < least || kind == "loses men" && last.Apart < 3 {
			t.Errorf("%s: %+v", kind, last)
		}
	}
}

// TestTotalsLeaveOut: neither a mild unevenness nor students apart count.
func TestTotalsLeaveOut(t *testing.T) {
	t.Parallel()
	half := .5
	totals := cohort.Totals([]cohort.Share{
		{Kind: "healthy, uneven", Games: 10, Students: 10, Wrong: 1},
		{Kind: "healthy, fair", Games: 10, Students: 30, Wrong: .1},
		{Kind: "healthy, strong", Games: 10, Students: 10, Wrong: .5},
		{Kind: "lost on the edge", Games: 10, Students: 10, Apart: 6, Right: .75, NotYet: .25},
		{Kind: "lost before the edge", Games: 10, Students: 10, Apart: 4, Right: .5, Wrong: .5},
		{Kind: "loses men", Games: 10, Students: 10, Apart: 10, HabitRight: &half},
	})
	want := cohort.Total{Total: true, Games: 10, Right: .6, Wrong: .3, HabitRight: .5, HealthyCalledWeak: .2}
	if got := totals[1]; math.Abs(got.Right-want.Right) > 1e-9 || math.Abs(got.Wrong-want.Wrong) > 1e-9 ||
		got.HabitRight != .5 || math.Abs(got.HealthyCalledWeak-.2) > 1e-9 {
		t.Errorf("%+v, want %+v", got, want)
	}
}

// TestKindsArePlayed: each kind is played in some ending of the plans.
func TestKindsArePlayed(t *testing.T) {
	t.Parallel()
	for _, k := range cohort.Kinds() {
		n := 0
		for _, p := range ending.Plans() {
			if k.PlayedIn(p.Code) {
				n++
			}
		}
		if n == 0 {
			t.Errorf("%s is played nowhere", k.Name)
		}
	}
}
