package ending_test

import (
	"context"
	"math/rand/v2"
	"testing"

	"drover/game/board"
	"drover/game/ending"
	"drover/solver"
)

// TestPress: the attacker of a hold drill plays the quickest mate where he wins; else, of the
// moves that neither stalemate, lose nor give the last man away, one after which the fewest
// replies hold, weighed here from the definition.
func TestPress(t *testing.T) {
	t.Parallel()
	ctx := context.Background()
	won, held := 0, 0
	for _, p := range pressed(t) {
		options, err := judge.Options(ctx, p)
		if err != nil {
			t.Fatal(err)
		}
		got, err := judge.Press(ctx, p, 3)
		if err != nil {
			t.Fatal(err)
		}
		wins, quickest := false, 0
		for _, o := range options {
			if o.Wins() && (!wins || o.After.Plies < quickest) {
				wins, quickest = true, o.After.Plies
			}
		}
		fewest, own, sound := 1000, 0, false
		for _, o := range options {
			n, ok := replies(t, p, o)
			if ok && n < fewest {
				fewest = n
			}
			if o.Move.UCI() != got.UCI() {
				continue
			}
			if own, sound = n, ok; wins && (!o.Wins() || o.After.Plies != quickest) {
				t.Errorf("%s: %s mates in %d plies, another move in %d", p.FEN(), got.UCI(), o.After.Plies, quickest)
			}
		}
		switch {
		case wins:
			won++
		case fewest < 1000:
			if held++; !sound || own != fewest {
				t.Errorf("%s: after %s %d replies hold (%v), after another move %d", p.FEN(), got.UCI(), own, sound, fewest)
			}
		}
	}
	if won < 5 || held < 20 {
		t.Errorf("%d positions were won and %d held", won, held)
	}
}

// replies counts the replies that hold after a move; ok is false where the move gives up all
// play for a win.
func replies(t *testing.T, p board.Position, o ending.Option) (n int, ok bool) {
	t.Helper()
	next := p.Play(o.Move)
	if o.After.Outcome == solver.Win || next.Stalemate() || next.Dead() {
		return 0, false
	}
	keeps, err := judge.HoldingMoves(context.Background(), next)
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range keeps {
		if m.Capture && next.Play(m).Dead() {
			return 0, false
		}
	}
	return len(keeps), true
}

// pressed are positions of hold drills with the attacker to move, after moves of the defender
// that were picked at random, so that some of them are lost.
func pressed(t *testing.T) []board.Position {
	t.Helper()
	rng := rand.New(rand.NewPCG(4, 7))
	var out []board.Position
	for _, fen := range []string{"8/8/8/8/4k3/3p4/3K4/8 w - - 0 1", "8/8/4k3/8/4p3/8/4K3/8 w - - 0 1",
		"8/8/8/2k5/2p5/8/2K5/8 w - - 0 1", "3k4/8/3P4/4K3/8/8/8/8 b - - 0 1"} {
		for range 12 {
			p := parse(t, fen)
			for range 3 {
				moves := p.Moves()
				if len(moves) == 0 {
					break
				}
				if p = p.Play(moves[rng.IntN(len(moves))]); len(p.Moves()) == 0 || p.Dead() {
					break
				}
				out = append(out, p)
				reply, err := judge.Press(context.Background(), p, 3)
				if err != nil {
					t.Fatal(err)
				}
				if p = p.Play(reply); p.Dead() || len(p.Moves()) == 0 {
					break
				}
			}
		}
	}
	return out
}
