package practice_test

import (
	"testing"

	"drover/game/board"
	"drover/game/ending"
	"drover/game/practice"
)

func habits(t *testing.T, s practice.State) map[practice.Habit]practice.Tally {
	t.Helper()
	h, err := practice.Habits(ctx, judge, s)
	if err != nil {
		t.Fatal(err)
	}
	return h
}

// TestHabitsOfOneMove: a position and a move for each habit, given in to and
// withstood.
func TestHabitsOfOneMove(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, code, fen, move string
		habit                 practice.Habit
		n, k                  int
	}{
		{"stalemates", "KQK", "7k/8/6K1/8/8/8/5Q2/8 w - - 0 1", "Qf7", practice.Stalemates, 1, 1},
		{"could stalemate", "KQK", "7k/8/6K1/8/8/8/5Q2/8 w - - 0 1", "Qf8#", practice.Stalemates, 1, 0},
		{"gives the rook away", "KRK", "8/8/8/8/3k4/8/8/4R2K w - - 0 1", "Re3", practice.Hanging, 1, 1},
		{"could give it away", "KRK", "8/8/8/8/3k4/8/8/4R2K w - - 0 1", "Kg2", practice.Hanging, 1, 0},
		{"useless check", "KQK", "8/3K4/1k6/8/8/8/8/Q7 w - - 0 1", "Qg1+", practice.Checks, 1, 1},
		{"no check, though there was one", "KRK", "8/8/8/8/3k4/8/8/4R2K w - - 0 1", "Kg2", practice.Checks, 1, 0},
		{"no check to give", "KRK", "8/8/8/4k3/8/8/8/R3K3 w - - 0 1", "Kd2", practice.Stalemates, 0, 0},
		{"another man than the king", "KRK", "8/8/8/4k3/8/8/8/R3K3 w - - 0 1", "Ra2", practice.Costly, 1, 0},
		{"the win goes", "KRK", "8/8/8/8/3k4/8/8/4R2K w - - 0 1", "Re3", practice.Costly, 1, 1},
		{"a mate", "KRK", "7k/8/6K1/8/8/8/8/R7 w - - 0 1", "Ra8#", practice.Costly, 1, 0},
	} {
		g := begin(t, c.code, c.fen)
		a := g.do(practice.Move, c.move)
		if got := habits(t, g.State)[c.habit]; got != (practice.Tally{N: c.n, K: c.k}) {
			t.Errorf("%s: %+v, want %d of %d (%s, cost %d)", c.name, got, c.k, c.n, a.Grade, a.Cost)
		}
	}
}

// recount counts a game's habits from what is true of each position, by the
// words of the rule: every move anew, from its own survey.
func recount(t *testing.T, s practice.State) map[practice.Habit]practice.Tally {
	t.Helper()
	out := map[practice.Habit]practice.Tally{}
	add := func(h practice.Habit, chance, done bool) {
		if c := out[h]; chance {
			c.N++
			if done {
				c.K++
			}
			out[h] = c
		}
	}
	now, err := practice.Begin(s.Setup)
	if err != nil {
		t.Fatal(err)
	}
	var nearer practice.Nearer
	for i, a := range s.Acts {
		if a.Kind == practice.Move {
			nearer.Add(a)
			countMove(t, now, a, nearer.Count, rose(s, i), add)
		}
		if now, err = now.Fold(a); err != nil {
			t.Fatal(err)
		}
	}
	return out
}

// rose says whether the next own move was made in a later stage, or the game won.
func rose(s practice.State, i int) bool {
	plan, _ := ending.PlanOf(s.Ending)
	for _, a := range s.Acts[i+1:] {
		if a.Kind == practice.Move {
			return plan.Index(a.Stage) > plan.Index(s.Acts[i].Stage)
		}
	}
	return s.End == practice.Mated || s.End == practice.Reached
}

func countMove(t *testing.T, s practice.State, a practice.Act, stuck int, rose bool,
	add func(practice.Habit, bool, bool)) {
	t.Helper()
	_, answers, err := judge.Survey(ctx, s.Pos)
	if err != nil {
		t.Fatal(err)
	}
	var stale, loses, checks, king bool
	var did ending.Answer
	for _, o := range answers {
		won := o.After.Won() && o.After.Attacker == s.Side
		after := s.Pos.Play(o.Move)
		stale = stale || after.Stalemate()
		loses = loses || !won && !after.Stalemate()
		checks = checks || won && o.Move.Check && !after.Checkmate()
		king = king || won && o.Cost == 0 && o.Grade != ending.WinGone && s.Pos.At(o.Move.From).Kind == board.King
		if o.Move.UCI() == a.Move {
			did = o
		}
	}
	after := s.Pos.Play(did.Move)
	gone := a.Grade == ending.WinGone
	add(practice.Stalemates, stale, after.Stalemate())
	add(practice.Hanging, loses, gone && !after.Stalemate() && !did.After.Won())
	add(practice.Checks, checks, did.Move.Check && !gone && a.Cost >= 1 && !rose)
	add(practice.KingHome, king, s.Pos.At(did.Move.From).Kind != board.King && (gone || a.Cost >= 1))
	add(practice.Shuffling, true, stuck >= 4 && a.Cost == 1)
	add(practice.Costly, true, !did.After.Won() || a.Cost >= 2)
}

// TestHabitsAgainstRecount: over simulated games the counts are those of the
// rule's words. (The two counts by corner have a test of their own.)
func TestHabitsAgainstRecount(t *testing.T) {
	t.Parallel()
	sum := map[practice.Habit]practice.Tally{}
	simulated(t, func(s practice.State, o practice.Outcome) {
		want := recount(t, s)
		for _, h := range []practice.Habit{practice.Stalemates, practice.Hanging, practice.Checks, practice.KingHome,
			practice.Shuffling, practice.Costly} {
			if o.Habits[h] != want[h] {
				t.Errorf("%s: %q is %+v, counted anew %+v", s.Start, h, o.Habits[h], want[h])
			}
			sum[h] = practice.Tally{N: sum[h].N + want[h].N, K: sum[h].K + want[h].K}
		}
	})
	for h, c := range sum {
		if c.N == 0 || c.K == 0 && h != practice.Shuffling {
			t.Errorf("%q never had its chance or was never given in to: %+v", h, c)
		}
	}
}

// TestCorners: moves with the lone king near a corner in which mate cannot be
// forced are counted apart from all others; only bishop and knight has such.
func TestCorners(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		code, fen, move  string
		wrong, elsewhere int
	}{
		{"KBNK", "7k/8/5K2/5BN1/8/8/8/8 w - - 0 1", "Nf7+", 1, 0},  // light bishop, dark corner h8
		{"KBNK", "k7/8/1K6/3N4/8/8/8/5B2 w - - 0 1", "Ba6", 0, 1},  // light bishop, light corner a8
		{"KBNK", "8/8/8/3k4/8/8/8/2B1K1N1 w - - 0 1", "Kd2", 0, 1}, // in the middle
		{"KBNK", "4k3/8/8/8/8/8/8/2B1K1N1 w - - 0 1", "Kd2", 0, 1}, // three from h8, four from a8: nearer to the right one
		{"KBNK", "3k4/8/8/8/8/8/8/2B1K1N1 w - - 0 1", "Kd2", 1, 0}, // and on d8 nearer to the wrong one
		{"KRK", "7k/8/6K1/8/8/8/8/R7 w - - 0 1", "Ra8#", 0, 0},     // every corner serves
	} {
		g := begin(t, c.code, c.fen)
		g.do(practice.Move, c.move)
		h := habits(t, g.State)
		if h[practice.WrongCorner].N != c.wrong || h[practice.Elsewhere].N != c.elsewhere {
			t.Errorf("%s: %+v near a wrong corner, %+v elsewhere", c.fen, h[practice.WrongCorner], h[practice.Elsewhere])
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
		if got := habits(t, g.State)[practice.Costly].N; got != want {
			t.Errorf("after step %d %d moves count, want %d", step, got, want)
		}
		g.best()
		if got := habits(t, g.State)[practice.Costly].N; got != want+1 {
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
	if got := habits(t, g.State)[practice.Stalemates]; got != (practice.Tally{N: 2, K: 1}) {
		t.Errorf("%+v", got)
	}
}
