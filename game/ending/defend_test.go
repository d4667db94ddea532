package ending_test

import (
	"context"
	"testing"

	"drover/game"
	"drover/game/board"
	"drover/game/ending"
	"drover/solver"
)

// corpus hands on every n-th position of the corpus with the defender to move.
func corpus(t *testing.T, every int, visit func(p board.Position)) {
	t.Helper()
	n := 0
	each(t, func(s ending.Situation, _ ending.Facts) {
		if p := s.Before.Play(s.Move); s.Reply == nil && len(p.Moves()) > 0 {
			if n++; n%every == 0 {
				visit(p)
			}
		}
	})
}

// valued is the outcome of each reply for the attacker, by the position after it.
func valued(t *testing.T, p board.Position) map[string]ending.Look {
	t.Helper()
	out := map[string]ending.Look{}
	for _, m := range p.Moves() {
		out[m.UCI()] = look(t, p.Play(m))
	}
	return out
}

// TestDefendersAreExact: no defender ever gives away a game that can be saved,
// and among replies that save it takes a man.
func TestDefendersAreExact(t *testing.T) {
	t.Parallel()
	saved, taken := 0, 0
	corpus(t, 3, func(p board.Position) {
		after := valued(t, p)
		best, takes := solver.Win, false
		for _, m := range p.Moves() {
			l := after[m.UCI()]
			if l.Outcome < best {
				best = l.Outcome
			}
			takes = takes || m.Capture && l.Outcome != solver.Win
		}
		for _, d := range ending.Defenders() {
			r := reply(t, p, d.Code, 1)
			if after[r.UCI()].Outcome != best {
				t.Errorf("%s: %s plays %s and lets a save go", p.FEN(), d.Code, p.SAN(r))
			}
			if takes && !r.Capture {
				t.Errorf("%s: %s plays %s and leaves a man hanging", p.FEN(), d.Code, p.SAN(r))
			}
		}
		if best != solver.Win {
			saved++
		}
		if takes {
			taken++
		}
	})
	if saved < 50 || taken < 50 {
		t.Errorf("%d positions to save, %d by taking a man: too few to say", saved, taken)
	}
}

// TestLongest: where all is lost the longest defender has no reply that holds
// out longer.
func TestLongest(t *testing.T) {
	t.Parallel()
	corpus(t, 2, func(p board.Position) {
		after := valued(t, p)
		r := after[reply(t, p, "longest", 1).UCI()]
		for uci, l := range after {
			if r.Outcome == solver.Win && l.Outcome == solver.Win && l.Plies > r.Plies {
				t.Errorf("%s: %s holds out longer", p.FEN(), uci)
			}
		}
	})
}

// TestCentreSeeking: where all is lost the centre-seeking defender steps as far
// in as it can, the longest among equals, and is not the longest defender.
func TestCentreSeeking(t *testing.T) {
	t.Parallel()
	differs := 0
	corpus(t, 2, func(p board.Position) {
		after := valued(t, p)
		r := reply(t, p, "centre", 1)
		if after[r.UCI()].Outcome != solver.Win {
			return
		}
		for _, m := range p.Moves() {
			if ring(m.To) > ring(r.To) || ring(m.To) == ring(r.To) && after[m.UCI()].Plies > after[r.UCI()].Plies {
				t.Errorf("%s: plays %s, though %s is farther in or longer", p.FEN(), p.SAN(r), p.SAN(m))
			}
		}
		if reply(t, p, "longest", 1).To != r.To {
			differs++
		}
	})
	if differs < 100 {
		t.Errorf("differs from the longest in only %d positions", differs)
	}
}

// TestRepliesAreDeterministic: the seed and the position decide among equals;
// the same seed answers the same, another seed not always.
func TestRepliesAreDeterministic(t *testing.T) {
	t.Parallel()
	varies := 0
	corpus(t, 11, func(p board.Position) {
		for _, d := range ending.Defenders() {
			first := reply(t, p, d.Code, 7).UCI()
			if again := reply(t, parse(t, p.FEN()), d.Code, 7).UCI(); again != first {
				t.Errorf("%s: %s with one seed plays %s and %s", p.FEN(), d.Code, first, again)
			}
			if reply(t, p, d.Code, 8).UCI() != first {
				varies++
			}
		}
	})
	if varies == 0 {
		t.Error("no seed made a difference")
	}
}

// TestReplyRefuses: an unknown defender, and a game that is over.
func TestReplyRefuses(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	p := parse(t, "8/8/8/8/8/1k6/8/K6r w - - 0 1")
	if _, err := judge.Reply(ctx, p, "nobody", 1); game.KindOf(err) != game.Bad {
		t.Errorf("an unknown defender: %v", err)
	}
	mated := parse(t, "R5k1/8/6K1/8/8/8/8/8 b - - 0 1")
	if _, err := judge.Reply(ctx, mated, "longest", 1); game.KindOf(err) != game.Gone {
		t.Errorf("a mated defender: %v", err)
	}
}

// TestDefendersAreDescribed: each has a code of its own and says what it trains.
func TestDefendersAreDescribed(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	for _, d := range ending.Defenders() {
		found, ok := ending.DefenderOf(d.Code)
		if !ok || found.Name != d.Name || d.Name == "" || len(d.Trains) < 20 || seen[d.Code] {
			t.Errorf("%+v", d)
		}
		seen[d.Code] = true
	}
	if len(seen) < 2 {
		t.Errorf("defenders: %v", seen)
	}
}
