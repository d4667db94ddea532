package practice_test

import (
	"maps"
	"math"
	"math/rand/v2"
	"testing"

	"drover/game/board"
	"drover/game/cohort"
	"drover/game/ending"
	"drover/game/practice"
)

// habits are those of all stages of a game.
func habits(t *testing.T, s practice.State) practice.Habitual {
	t.Helper()
	o, err := practice.Summary(ctx, judge, s)
	if err != nil {
		t.Fatal(err)
	}
	sum := practice.Habitual{}
	for _, r := range o.Stages {
		sum = sum.Add(r.Habits)
	}
	return sum
}

// TestHabitsOfOneMove: a position and a move for each habit, given in to and
// withstood.
func TestHabitsOfOneMove(t *testing.T) {
	t.Parallel()
	const stale, hung = "7k/8/6K1/8/8/8/5Q2/8 w - - 0 1", "8/8/8/8/3k4/8/8/4R2K w - - 0 1"
	const check, far = "8/3K4/1k6/8/8/8/8/Q7 w - - 0 1", "8/8/8/4k3/8/8/8/R3K3 w - - 0 1"
	for _, c := range []struct {
		name, code, fen, move string
		habit                 practice.Habit
		of, n, k              int
	}{
		{"stalemates", "KQK", stale, "Qf7", practice.Stalemates, 1, 1, 1},
		{"could stalemate", "KQK", stale, "Qf8#", practice.Stalemates, 1, 1, 0},
		{"no stalemate to give", "KRK", far, "Kd2", practice.Stalemates, 0, 0, 0},
		{"a stalemate hangs nothing", "KQK", stale, "Qf7", practice.Hanging, 0, 0, 0},
		{"gives the rook away", "KRK", hung, "Re3", practice.Hanging, 1, 1, 1},
		{"could give it away", "KRK", hung, "Kg2", practice.Hanging, 1, 1, 0},
		{"useless check", "KQK", check, "Qg1+", practice.Checks, 1, 1, 1},
		{"no check, though there was one", "KQK", check, "Kd6", practice.Checks, 1, 1, 0},
		{"a mate is no useless check", "KRK", "7k/8/6K1/8/8/8/8/R7 w - - 0 1", "Ra8#", practice.Checks, 1, 1, 0},
		{"the king is best, and stays", "KRK", far, "Ra8", practice.KingHome, 1, 1, 1},
		{"the king is best, and comes", "KRK", far, "Kd2", practice.KingHome, 1, 1, 0},
		{"a mate is best", "KRK", "7k/8/6K1/8/8/8/8/R7 w - - 0 1", "Rb1", practice.KingHome, 1, 0, 0},
		{"comes no nearer", "KRK", far, "Ra2", practice.Shuffling, 1, 1, 1},
		{"comes nearer", "KRK", "7k/8/6K1/8/8/8/8/R7 w - - 0 1", "Ra8#", practice.Shuffling, 1, 1, 0},
		{"costs more than that", "KQK", stale, "Qa2", practice.Shuffling, 1, 1, 0},
	} {
		g := begin(t, c.code, c.fen)
		a := g.do(practice.Move, c.move)
		if got := habits(t, g.State)[c.habit]; got.Of != c.of || got.N != c.n || got.K != c.k {
			t.Errorf("%s: %+v, want %d of %d in %d (%s, cost %d)", c.name, got, c.k, c.n, c.of, a.Grade, a.Cost)
		}
	}
}

// surveyed is a legal move as the survey of its position has it.
type surveyed struct {
	class            int
	king, check      bool
	stale, won, done bool
}

// survey looks at a position's moves by distance to mate, and marks the one that was made.
func survey(t *testing.T, s practice.State, made string) []surveyed {
	t.Helper()
	_, answers, err := judge.Survey(ctx, s.Pos)
	if err != nil {
		t.Fatal(err)
	}
	best := math.MaxInt
	won := func(o ending.Answer) bool { return o.After.Won() && o.After.Attacker == s.Side }
	for _, o := range answers {
		if won(o) {
			best = min(best, o.After.MateIn())
		}
	}
	var out []surveyed
	for _, o := range answers {
		m := surveyed{class: 5, king: s.Pos.At(o.Move.From).Kind == board.King, check: o.Move.Check,
			stale: s.Pos.Play(o.Move).Stalemate(), won: won(o), done: o.Move.UCI() == made}
		if m.won {
			m.class = []int{0, 1, 2, 2, 3, 3, 3, 3, 4}[min(o.After.MateIn()-best, 8)]
		}
		out = append(out, m)
	}
	return out
}

// recounted is what one move adds to a habit, by the words of the rule: its own moves
// among all, which of them was made, and how much of a careless eye's look they draw.
func recounted(moves []surveyed, own func(surveyed) bool) practice.Tally {
	draw := [6]float64{1, .6, .4, .17, .019, .019}
	var t practice.Tally
	var offered, drawn [6]float64
	all := 0.0
	for _, m := range moves {
		all += draw[m.class]
		if own(m) {
			t.Of = 1
			offered[m.class] += 1000 / float64(len(moves))
			drawn[m.class] += 1000 * draw[m.class]
			if m.done {
				t.K, t.Weights.Made[m.class] = 1, 1
			}
		}
	}
	for c := range offered {
		t.Weights.Offered[c] = int(math.Round(offered[c]))
		t.Drawn[c] = int(math.Round(drawn[c] / all))
	}
	t.N = t.Of
	return t
}

// recount counts a game's habits, stage by stage: every move anew, from its own survey.
func recount(t *testing.T, s practice.State) map[ending.Stage]practice.Habitual {
	t.Helper()
	out := map[ending.Stage]practice.Habitual{}
	now, err := practice.Begin(s.Setup)
	if err != nil {
		t.Fatal(err)
	}
	thought := 0 // milliseconds
	for _, a := range s.Acts {
		if a.Kind == practice.Move {
			hurried := s.Clock > 0 && float64(thought) > float64(1000*s.Clock)*2/3
			for h, one := range recountMove(survey(t, now, a.Move), hurried, atWrongCorner(now.Pos)) {
				if out[a.Stage] == nil {
					out[a.Stage] = practice.Habitual{}
				}
				out[a.Stage][h] = out[a.Stage][h].Add(one)
			}
		}
		thought += a.Took
		if now, err = now.Fold(a); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

func recountMove(moves []surveyed, hurried, corner bool) practice.Habitual {
	costly := func(m surveyed) bool { return m.won && m.class > 0 }
	all := practice.Habitual{
		practice.Stalemates: recounted(moves, func(m surveyed) bool { return m.stale }),
		practice.Hanging:    recounted(moves, func(m surveyed) bool { return !m.won && !m.stale }),
		practice.Checks:     recounted(moves, func(m surveyed) bool { return costly(m) && m.check }),
		practice.KingHome:   recounted(moves, func(m surveyed) bool { return costly(m) && !m.king }),
		practice.Shuffling:  recounted(moves, func(m surveyed) bool { return m.class == 1 }),
	}
	kingIsBest := false
	for _, m := range moves {
		kingIsBest = kingIsBest || m.class == 0 && m.king
	}
	if h := all[practice.KingHome]; !kingIsBest {
		h.N, h.K = 0, 0
		all[practice.KingHome] = h
	}
	region := recounted(moves, func(surveyed) bool { return true })
	region.K = region.Weights.Made[2] + region.Weights.Made[3] + region.Weights.Made[4] + region.Weights.Made[5]
	if corner {
		all[practice.WrongCorner] = region
	}
	if hurried {
		all[practice.Hurry] = region
	}
	maps.DeleteFunc(all, func(_ practice.Habit, one practice.Tally) bool { return one.Of == 0 })
	return all
}

// atWrongCorner says it with the squares of the bishop's own colour: the lone king is on the
// outer two rows, within three steps of a corner of the other colour and nearer to it.
func atWrongCorner(p board.Position) bool {
	king, bishop, knight := p.King(1-p.Turn()), -1, false
	for sq := range board.Square(64) {
		switch p.At(sq).Kind {
		case board.Bishop:
			bishop = (sq.File() + sq.Rank()) % 2
		case board.Knight:
			knight = true
		}
	}
	if bishop < 0 || !knight {
		return false
	}
	near := [2]int{8, 8} // of the other colour, of the bishop's
	for _, c := range [][2]int{{0, 0}, {0, 7}, {7, 0}, {7, 7}} {
		steps := max(abs(king.File()-c[0]), abs(king.Rank()-c[1]))
		of := &near[1]
		if (c[0]+c[1])%2 != bishop {
			of = &near[0]
		}
		*of = min(*of, steps)
	}
	rim := min(king.File(), 7-king.File(), king.Rank(), 7-king.Rank())
	return rim <= 1 && near[0] <= 3 && near[0] < near[1]
}

func abs(n int) int { return max(n, -n) }

// TestHabitsAgainstRecount: over simulated games, some by the clock, the habits of each
// stage are those of the rule's words, and so is what the positions offered.
func TestHabitsAgainstRecount(t *testing.T) {
	t.Parallel()
	sum := practice.Habitual{}
	hold := func(s practice.State, o practice.Outcome) {
		want := recount(t, s)
		for _, r := range o.Stages {
			if !maps.Equal(r.Habits, want[r.Stage]) {
				t.Errorf("%s, %s: %+v, counted anew %+v", s.Start, r.Stage, r.Habits, want[r.Stage])
			}
			sum = sum.Add(want[r.Stage])
			delete(want, r.Stage)
		}
		if len(want) > 0 {
			t.Errorf("%s: nothing is said of %+v", s.Start, want)
		}
	}
	simulated(t, hold)
	for i := range 4 {
		s := byClock(t, uint64(i))
		o, err := practice.Summary(ctx, judge, s)
		if err != nil {
			t.Fatal(err)
		}
		hold(s, o)
	}
	for _, h := range practice.Habits() {
		if c := sum[h]; c.K == 0 || c.N <= c.K || c.Of < c.N {
			t.Errorf("%q never had its chance, was never given in to or always: %+v", h, c)
		}
	}
}

// byClock is a careless student's game of two minutes.
func byClock(t *testing.T, seed uint64) practice.State {
	t.Helper()
	s, err := cohort.Play(ctx, judge, practice.Setup{Game: 1, Student: me, Ending: "KRK", Start: "8/8/8/4k3/8/8/8/R3K3 w - - 0 1",
		Mode: practice.Practice, Target: ending.Mate, Defender: "longest", Seed: 5, Clock: 120}, cohort.Student{Skill: .4},
		rand.New(rand.NewPCG(6, seed)), began)
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// TestHabitsAdd: habits of two stages add up, and neither of them changes.
func TestHabitsAdd(t *testing.T) {
	t.Parallel()
	one := practice.Tally{N: 2, K: 1, Of: 3, Weights: practice.Weights{Made: [6]int{0, 1}, Offered: [6]int{5, 6, 7}},
		Drawn: [6]int{1, 2, 3, 4, 5, 6}}
	a := practice.Habitual{practice.Checks: one, practice.Hurry: {N: 1}}
	b := practice.Habitual{practice.Checks: one, practice.Hanging: {K: 1}}
	twice := practice.Tally{N: 4, K: 2, Of: 6, Weights: practice.Weights{Made: [6]int{0, 2}, Offered: [6]int{10, 12, 14}},
		Drawn: [6]int{2, 4, 6, 8, 10, 12}}
	want := practice.Habitual{practice.Checks: twice, practice.Hurry: {N: 1}, practice.Hanging: {K: 1}}
	if got := a.Add(b); !maps.Equal(got, want) || a[practice.Checks] != one || len(b) != 2 {
		t.Errorf("%+v", got)
	}
	if got := practice.Habitual(nil).Add(nil); len(got) != 0 {
		t.Errorf("nothing adds up to %+v", got)
	}
}

// TestCorners: moves with the lone king near a corner in which mate cannot be
// forced are counted apart; only bishop and knight has such.
func TestCorners(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		code, fen, move string
		n, k            int
	}{
		{"KBNK", "7k/8/5K2/5BN1/8/8/8/8 w - - 0 1", "Nf7+", 1, 0},  // light bishop, dark corner h8
		{"KBNK", "7k/8/5K2/5BN1/8/8/8/8 w - - 0 1", "Nh3", 1, 1},   // and he gets out
		{"KBNK", "k7/8/1K6/3N4/8/8/8/5B2 w - - 0 1", "Ba6", 0, 0},  // light bishop, light corner a8
		{"KBNK", "8/8/8/3k4/8/8/8/2B1K1N1 w - - 0 1", "Kd2", 0, 0}, // in the middle
		{"KBNK", "4k3/8/8/8/8/8/8/2B1K1N1 w - - 0 1", "Kd2", 0, 0}, // three from h8, four from a8: nearer to the right one
		{"KBNK", "3k4/8/8/8/8/8/8/2B1K1N1 w - - 0 1", "Kd2", 1, 0}, // and on d8 nearer to the wrong one
		{"KRK", "7k/8/6K1/8/8/8/8/R7 w - - 0 1", "Ra8#", 0, 0},     // every corner serves
	} {
		g := begin(t, c.code, c.fen)
		a := g.do(practice.Move, c.move)
		if h := habits(t, g.State)[practice.WrongCorner]; h.N != c.n || h.Of != c.n || h.K != c.k {
			t.Errorf("%s %s, cost %d: %+v", c.fen, c.move, a.Cost, h)
		}
	}
}

// TestHurry: moves count once less than a third of the clock is left, and not at a third.
func TestHurry(t *testing.T) {
	t.Parallel()
	for clock, want := range map[int]int{0: 0, 12: 0, 11: 1, 5: 1, 60: 0} {
		g := begin(t, "KRK", "8/8/8/4k3/8/8/8/R3K3 w - - 0 1", func(s *practice.Setup) { s.Clock = clock })
		for _, took := range []int{4000, 4000, 100} { // a third is left of twelve seconds before the last move
			if g.TimeLeft() <= took && clock > 0 {
				continue
			}
			o, _, err := judge.Best(ctx, g.Pos)
			if err != nil {
				t.Fatal(err)
			}
			if _, err := g.try(practice.Command{Do: practice.Move, Move: o.Move.UCI(), Took: took}); err != nil {
				t.Fatal(err)
			}
		}
		if h := habits(t, g.State)[practice.Hurry]; h.N != want || h.K != 0 {
			t.Errorf("%d seconds: %+v, want %d moves", clock, h, want)
		}
	}
}

// TestHelpedMovesAreNoHabit: a move made after the man or the move was shown is
// nobody's habit; one after the wish or the cover is.
func TestHelpedMovesAreNoHabit(t *testing.T) {
	t.Parallel()
	for step, want := range map[ending.Help]int{ending.HelpWish: 1, ending.HelpCover: 1, ending.HelpMan: 0,
		ending.HelpMove: 0} {
		g := begin(t, "KRK", "8/8/8/4k3/8/8/8/R3K3 w - - 0 1", func(s *practice.Setup) { s.Helps = practice.StepsOf(step) })
		if _, err := g.try(practice.Command{Do: practice.Help, Step: int(step)}); err != nil {
			t.Fatal(err)
		}
		g.best()
		if got := habits(t, g.State)[practice.Shuffling].Of; got != want {
			t.Errorf("after step %d %d moves count, want %d", step, got, want)
		}
		g.best()
		if got := habits(t, g.State)[practice.Shuffling].Of; got != want+1 {
			t.Errorf("after step %d the next move does not count", step)
		}
	}
}

// TestTakenBackStays: what was taken back was done all the same.
func TestTakenBackStays(t *testing.T) {
	t.Parallel()
	g := begin(t, "KQK", "7k/8/6K1/8/8/8/5Q2/8 w - - 0 1")
	g.do(practice.Move, "Qf7")
	g.do(practice.Back, "")
	g.do(practice.Move, "Qf8#")
	if got := habits(t, g.State)[practice.Stalemates]; got.N != 2 || got.K != 1 || got.Of != 2 || got.Weights.Made[5] != 1 {
		t.Errorf("%+v", got)
	}
}
