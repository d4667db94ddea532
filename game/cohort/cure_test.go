package cohort

import (
	"context"
	"maps"
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"drover/game/board"
	"drover/game/ending"
	"drover/game/practice"
	"drover/solver"
)

// someStudents is a study of a few students of a kind in the rook's ending.
func someStudents(t *testing.T, kind string, students int, seed int64) Study {
	t.Helper()
	plan, _ := ending.PlanOf("KRK")
	return Study{Kind: kindOf(t, kind), Plan: plan, Students: students, Seed: seed}
}

func kindOf(t *testing.T, name string) Kind {
	t.Helper()
	for _, k := range kinds {
		if k.Name == name {
			return k
		}
	}
	t.Fatalf("no kind %q", name)
	return Kind{}
}

// TestCured: a planted habit is said first, and its cure brings nearly all that any brings;
// a healthy student is told nothing; the same seed plays the same.
func TestCured(t *testing.T) {
	t.Parallel()
	j := ending.NewJudge(solver.NewTables())
	cure := func(kind string, students int, seed int64) []CureShare {
		out, err := Cured(context.Background(), j, someStudents(t, kind, students, seed))
		if err != nil || len(out) != len(looks) {
			t.Fatalf("%s: %+v, %v", kind, out, err)
		}
		return out
	}
	ill := cure("king at home", 2, 3)
	for i, s := range ill[1:] {
		if s.Games != looks[i+1] || s.Captured.Mean < .8 || s.Silent.Mean != 0 || s.Misleading.Mean != 0 || s.Gain.Mean < worth ||
			s.Healthy || s.LeftOut || s.Students != 2 || s.Kind != "king at home" || s.Ending != "KRK" {
			t.Errorf("king at home: %+v", s)
		}
	}
	if again := cure("king at home", 2, 3); !reflect.DeepEqual(again, ill) {
		t.Errorf("the same seed: %+v and %+v", again, ill)
	}
	if other := cure("king at home", 2, 4); reflect.DeepEqual(other, ill) {
		t.Errorf("another seed plays the same: %+v", other)
	}
	for _, s := range cure("healthy, fair", 3, 3) {
		if s.Silent.Mean != 1 || !s.Healthy || s.LeftOut || s.Gain.Mean != 0 || s.Captured != (Mean{}) {
			t.Errorf("healthy: %+v", s)
		}
	}
}

// TestCureHeals: after the cure of its habit, or of all, a student of a kind with one habit
// plays game for game as one without a weakness; after another it does not.
func TestCureHeals(t *testing.T) {
	t.Parallel()
	j := ending.NewJudge(solver.NewTables())
	s := someStudents(t, "king at home", 1, 3)
	d := s.Kind.student(s.stream(0))
	moves := func(student Student) int {
		n := 0
		for game := range uint64(4) {
			o, _, err := one(context.Background(), j, s.Plan, 0, student, rand.New(rand.NewPCG(5, game)), false)
			if err != nil {
				t.Fatal(err)
			}
			n += o.Moves
		}
		return n
	}
	well, ill := moves(d.Student), moves(d.in(0, Cure{}))
	if ill < well+4*worth {
		t.Fatalf("%d moves with the habit, %d without", ill, well)
	}
	for name, c := range map[string]struct {
		cure Cure
		want int
	}{
		"all": {Cure{All: true}, well}, "the habit": {Cure{Habit: practice.KingHome}, well},
		"another habit": {Cure{Habit: practice.Checks}, ill},
	} {
		if got := moves(d.in(0, c.cure)); got != c.want {
			t.Errorf("after the cure of %s %d moves, want %d", name, got, c.want)
		}
	}
	if got := moves(d.in(0, Cure{Stage: ending.Centralise})); got == ill {
		t.Errorf("the cure of a stage changes nothing: %d moves", got)
	}
}

// TestPlantsComeAndGo: a weakness is there in its games alone, and a kind is ill in those.
func TestPlantsComeAndGo(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		kind string
		at   map[int]bool
	}{
		{"improves after ten games", map[int]bool{0: true, 9: true, 10: false, 19: false}},
		{"forgets over four weeks", map[int]bool{0: false, 9: false, 10: true, 19: true}},
		{"lost before the edge", map[int]bool{0: true, 19: true}},
		{"healthy, uneven", map[int]bool{0: false, 19: false}}, {"healthy, fair", map[int]bool{0: false}},
	} {
		for game, want := range c.at {
			if got := kindOf(t, c.kind).At(game); got != want {
				t.Errorf("%s, game %d: ill is %v", c.kind, game, got)
			}
		}
	}
	d := drawn{kind: Kind{plants: []plant{{until: 2}, {from: 2, habit: practice.Checks}}}, weak: []Weakness{
		always1("a1a2"), always1("b1b2")}}
	for _, c := range []struct {
		game  int
		cure  Cure
		stage ending.Stage
		want  string
	}{
		{1, Cure{}, "", "a1a2"}, {2, Cure{}, "", "b1b2"}, {1, Cure{Habit: practice.Checks}, "", "a1a2"},
		{2, Cure{Habit: practice.Checks}, "", ""}, {1, Cure{All: true}, "", ""},
		{1, Cure{Stage: ending.Edge}, ending.Edge, ""}, {1, Cure{Stage: ending.Edge}, ending.Mate, "a1a2"},
	} {
		student := d.in(c.game, c.cure)
		got := ""
		if m, ok := student.Weak(Scene{stage: c.stage}, nil); ok {
			got = m.UCI()
		}
		if got != c.want || student.staged != (c.cure.Stage != "") {
			t.Errorf("%+v: %q", c, got)
		}
	}
}

// always1 is a weakness that makes one move, legal or not.
func always1(uci string) Weakness {
	from, _ := board.ParseSquare(uci[:2]) // the squares are constants
	to, _ := board.ParseSquare(uci[2:])
	return func(Scene, *rand.Rand) (board.Move, bool) { return board.Move{From: from, To: to}, true }
}

// TestHurries: nothing strikes while there is time, and any move where there is little: less
// than a third of the clock.
func TestHurries(t *testing.T) {
	t.Parallel()
	all, err := scenes()
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(1, 2))
	for _, v := range all {
		if _, struck := hurries(1)(v, rng); struck {
			t.Fatal("strikes with time left")
		}
		v.hurry = true
		if _, struck := hurries(1)(v, rng); !struck {
			t.Fatal("does not strike in a hurry")
		}
	}
	j := ending.NewJudge(solver.NewTables())
	saw := map[bool]int{}
	for clock, want := range map[int]bool{0: false, 12: false, 11: true, 60: false} {
		s, err := practice.Begin(practice.Setup{Student: 1, Ending: "KRK", Start: "8/8/8/4k3/8/8/8/R3K3 w - - 0 1",
			Mode: practice.Practice, Target: ending.Mate, Clock: clock})
		if err != nil {
			t.Fatal(err)
		}
		s.Acts = append(s.Acts, practice.Act{Took: 8000}) // of twelve seconds a third is left
		student := Student{Skill: 1, Weak: func(v Scene, _ *rand.Rand) (board.Move, bool) {
			saw[v.hurry]++
			if v.hurry != want {
				t.Errorf("with a clock of %d seconds in a hurry: %v", clock, v.hurry)
			}
			return board.Move{}, false
		}}
		if _, _, err := student.choose(context.Background(), j, s, rng); err != nil {
			t.Fatal(err)
		}
	}
	if saw[true] != 1 || saw[false] != 3 {
		t.Errorf("looked %v", saw)
	}
}

// TestMeanOf: the standard error is that of the mean: the spread of a sample over the root of
// its size.
func TestMeanOf(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		all  []float64
		want Mean
	}{
		{nil, Mean{}}, {[]float64{3}, Mean{3, 0}}, {[]float64{2, 2, 2}, Mean{2, 0}},
		{[]float64{1, 3}, Mean{2, 1}}, {[]float64{1, 2, 3, 4}, Mean{2.5, math.Sqrt(5. / 3 / 4)}},
	} {
		if got := meanOf(c.all); math.Abs(got.Mean-c.want.Mean) > 1e-9 || math.Abs(got.Error-c.want.Error) > 1e-9 {
			t.Errorf("%v: %+v, want %+v", c.all, got, c.want)
		}
	}
}

// TestCureTotals: kinds weigh as their students; a kind of which no cure is worth it is left
// out, a mild one too, and the healthy count for what they are told alone.
func TestCureTotals(t *testing.T) {
	t.Parallel()
	mean := func(m, e float64) Mean { return Mean{m, e} }
	totals := CureTotals([]CureShare{
		{Kind: "king at home", Students: 10, Games: 10, Captured: mean(.9, .03), Misleading: mean(.1, .1), Silent: mean(0, 0)},
		{Kind: "loses men", Students: 30, Games: 10, Captured: mean(.5, .01), Misleading: mean(.3, 0), Silent: mean(.2, .02)},
		{Kind: "shuffler", Students: 90, Games: 10, LeftOut: true, Captured: mean(.1, .5), Silent: mean(1, 1)},
		{Kind: "healthy, uneven", Students: 50, Games: 10, Healthy: true, Silent: mean(0, 0)},
		{Kind: "healthy, fair", Students: 30, Games: 10, Healthy: true, Silent: mean(.9, .1), Captured: mean(1, 1)},
		{Kind: "healthy, strong", Students: 10, Games: 10, Healthy: true, Silent: mean(.5, .1)},
		{Kind: "loses men", Students: 7, Games: 20, Captured: mean(1, 0)},
	})
	want := []CureTotal{{Games: 5}, {Games: 10, Students: 40, Captured: mean(.6, math.Hypot(.3, .3)/40),
		Misleading: mean(.25, 1./40), Silent: mean(.15, .6/40), Told: .2}, {Games: 16}, {Games: 20, Students: 7, Captured: mean(1, 0)}}
	near := func(a, b Mean) bool { return math.Abs(a.Mean-b.Mean) < 1e-9 && math.Abs(a.Error-b.Error) < 1e-9 }
	for i, got := range totals {
		if w := want[i]; !got.Total || got.Games != w.Games || got.Students != w.Students || math.Abs(got.Told-w.Told) > 1e-9 ||
			!near(got.Captured, w.Captured) || !near(got.Misleading, w.Misleading) || !near(got.Silent, w.Silent) {
			t.Errorf("%+v, want %+v", got, w)
		}
	}
}

// TestCureShare: of students of hand-made gains, what is said captures its share of the best
// cure; under half of it misleads, and who gains next to nothing is not asked.
func TestCureShare(t *testing.T) {
	t.Parallel()
	s := someStudents(t, "king at home", 5, 1)
	gain := map[Cure]float64{{Habit: practice.KingHome}: 8, {Stage: ending.Edge}: 2, {Stage: ending.Mate}: -1}
	says := func(ok bool, h practice.Habit, at ending.Stage) []said {
		one := said{ok: ok}
		one.Habit, one.Stage = h, at
		return []said{one}
	}
	out := s.cureShare([]cured{
		{gain, says(true, practice.KingHome, ending.Edge)}, {gain, says(true, "", ending.Edge)},
		{gain, says(false, practice.KingHome, "")}, {maps.Clone(gain), says(true, practice.KingHome, "")},
		{map[Cure]float64{{Stage: ending.Edge}: .9}, says(true, "", ending.Edge)},
	}, 0, 10)
	if out.Captured.Mean != 2.25/4 || out.Misleading.Mean != .25 || out.Silent.Mean != .2 ||
		math.Abs(out.Gain.Mean-32.9/5) > 1e-9 || out.LeftOut || out.Healthy {
		t.Errorf("%+v", out)
	}
	little := map[Cure]float64{{Stage: ending.Edge}: 1.9}
	if out := s.cureShare([]cured{{little, says(true, "", ending.Edge)}}, 0, 10); !out.LeftOut || out.Captured.Mean != 1 {
		t.Errorf("little to gain: %+v", out)
	}
}
