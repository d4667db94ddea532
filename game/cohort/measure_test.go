package cohort_test

import (
	"context"
	"math"
	"reflect"
	"testing"

	"drover/game/cohort"
	"drover/game/ending"
)

func kind(t *testing.T, name string) cohort.Kind {
	t.Helper()
	for _, k := range cohort.Kinds() {
		if k.Name == name {
			return k
		}
	}
	t.Fatalf("no kind %q", name)
	return cohort.Kind{}
}

// TestMeasure: the same seed measures the same, another does not; a healthy kind
// has nothing planted, and shares add up.
func TestMeasure(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	plan, _ := ending.PlanOf("KQK")
	weak := kind(t, "never finishes")
	a, err := cohort.Measure(ctx, judge, weak, plan, 4, 1)
	if err != nil {
		t.Fatal(err)
	}
	again, err := cohort.Measure(ctx, judge, weak, plan, 4, 1)
	if err != nil || !reflect.DeepEqual(a, again) {
		t.Errorf("the same seed: %+v and %+v, %v", a, again, err)
	}
	well, err := cohort.Measure(ctx, judge, kind(t, "healthy, fair"), plan, 4, 1)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range append(a, well...) {
		if n := s.Students - s.Apart; n > 0 && math.Abs(s.Right+s.Wrong+s.NotYet-1) > 1e-9 {
			t.Errorf("shares of %+v", s)
		}
	}
	for _, s := range well {
		if s.Right != 0 || s.Apart != 0 || s.HabitRight != nil {
			t.Errorf("healthy: %+v", s)
		}
	}
	totals := cohort.Totals(append(a, well...))
	if len(totals) != len(cohort.Marks) || totals[2].Right != a[2].Right || totals[2].HealthyCalledWeak != well[2].Wrong {
		t.Errorf("totals %+v of %+v and %+v", totals, a, well)
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
