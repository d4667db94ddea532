package ending_test

import (
	"strings"
	"testing"

	"drover/game/ending"
)

// TestSentences has a real position for each sentence: the move, his reply
// where one followed, and all that is said.
func TestSentences(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, fen, move, reply, say string
	}{
		{"mate", "7k/8/6K1/8/8/8/8/R7 w - - 0 1", "Ra8#", "", "Checkmate."},
		{"stalemate, the square he had", "7k/8/K7/8/5Q2/8/8/8 w - - 0 1", "Qf7", "",
			"No check and no move: stalemate, a draw. Leave him one square: he had g7. Kb5 would have kept the win."},
		{"stalemate, he had none", "8/8/8/8/K7/8/5Q2/7k w - - 0 1", "Ka3", "",
			"No check and no move: stalemate, a draw. Leave him one square. Qa2 would have kept the win."},
		{"queen hangs", "8/3K4/1k6/8/8/8/8/Q7 w - - 0 1", "Qa5+", "",
			"Your queen on a5 has no guard. He can take it. Qd4+ would have kept the win."},
		{"queen taken", "8/3K4/1k6/8/8/8/8/Q7 w - - 0 1", "Qa5+", "b6a5",
			"Your queen on a5 had no guard. He took it. Qd4+ would have kept the win."},
		{"bishop left behind", "5B2/8/8/5B2/5k2/8/K7/8 w - - 0 1", "Kb2", "",
			"Your bishop on f5 has no guard. He can take it. Bb1 would have kept the win."},
		{"knight lost by force", "8/8/1K6/8/3k4/8/2B2N2/8 w - - 0 1", "Bd3", "d4e3",
			"Your knight on f2 cannot be saved any more. Without it there is no mate. Kc6 would have kept the win."},
		{"knight caught later", "7N/8/8/4kB2/8/8/5K2/8 w - - 0 1", "Bh3", "",
			"From here he can hold the draw. Bb1 would have kept the win."},
		{"fifty moves", "k7/8/1K6/3N4/8/8/8/5B2 w - - 93 80", "Ka5", "",
			"Mate no longer fits into the fifty moves: a draw. Ba6 would have kept the win."},
		{"slip", "8/8/8/8/K7/8/5Q2/7k w - - 0 1", "Qc5", "",
			"He gets out: g2. Close that way. Qa2 would have kept him shut out."},
		{"slip, and out he went", "8/8/8/8/K7/8/5Q2/7k w - - 0 1", "Qc5", "h1g2",
			"He got out: g2. Close that way again. Qa2 would have kept him shut out."},
		{"slip that he did not use", "8/8/8/8/K7/8/5Q2/7k w - - 0 1", "Qe1+", "h1h2",
			"He could step out of it: g2. This time he did not. Close that way. Qa2 would have kept him shut out."},
		{"slip, out in steps", "8/8/k7/8/7Q/8/K7/8 w - - 0 1", "Ka1", "a6a5",
			"He gets out: a5, then b5. Close that way. Kb3 was 2 moves quicker."},
		{"slip, a long way out", "3k4/8/3K4/8/4B3/2N5/8/8 w - - 0 1", "Bb1", "",
			"He is no longer shut out of the inside of the board. Bc6 would have kept him shut out."},
		{"rook hangs, still won", "8/8/3K4/8/7R/3R4/2k5/8 w - - 0 1", "Kc5", "",
			"Your rook on d3 has no guard. Without it you still win, but it takes longer. Rg3 was 9 moves quicker."},
		{"rook taken, still won", "1k4K1/8/R7/3R4/8/8/8/8 w - - 0 1", "Ra7", "b8a7",
			"Your rook on a7 had no guard. He took it. Still winning, but it takes longer now. Rg5 was 6 moves quicker."},
		{"detour", "8/3K4/1k6/8/8/8/8/Q7 w - - 0 1", "Ke6", "",
			"Still winning, the long way: Qd4+ was 2 moves quicker. It would have taken c5 from him."},
		{"out of the centre", "8/3K4/8/4k3/R7/8/8/8 w - - 0 1", "Kc6", "",
			"Good. He can't come back to the centre now. His pen shrinks from 41 squares to 19."},
		{"out of the middle", "8/8/8/4K3/3B4/5k2/5N2/8 w - - 0 1", "Kf5", "", "Good. He can't come back to the middle now."},
		{"to the edge", "8/1k1K4/8/8/3Q4/8/8/8 w - - 0 1", "Qb2+", "",
			"Good. He can't come back to the inside of the board now."},
		{"passing the turn", "8/4K3/8/4k3/1Q6/8/8/8 w - - 0 1", "Kf7", "",
			"Only the turn had to pass, and you passed it. Well seen. His pen shrinks from 14 squares to 13."},
		{"smaller pen", "8/3K4/1k6/8/8/8/8/Q7 w - - 0 1", "Qc3", "", "His pen shrinks from 33 squares to 8."},
		{"his pen", "8/8/4k3/8/8/3Q4/K7/8 w - - 0 1", "Kb1", "", "His pen has 16 squares."},
		{"squares to step to", "8/3K4/1k6/8/8/8/8/Q7 w - - 0 1", "Kd6", "", "He can step to 2 squares."},
		{"one square to step to", "5Q2/8/4K3/7k/8/8/8/8 w - - 0 1", "Kf5", "", "He can step to 1 square."},
	} {
		t.Run(c.name, func(t *testing.T) {
			t.Parallel()
			p := parse(t, c.fen)
			s := ending.Situation{Before: p, Move: find(t, p, c.move)}
			s.Verdict = judgeMove(t, p, s.Move, 0)
			if c.reply != "" {
				r := find(t, p.Play(s.Move), c.reply)
				s.Reply = &r
			}
			if got := strings.Join(facts(t, s).Sentences(), " "); got != c.say {
				t.Errorf("%s %s (%s, cost %d)\n says %q\n want %q", c.fen, c.move, s.Verdict.Grade, s.Verdict.Cost, got, c.say)
			}
		})
	}
}

// TestSentencesAreKind: whatever is said of a move is a whole sentence, about
// the board, and never empty.
func TestSentencesAreKind(t *testing.T) {
	t.Parallel()
	each(t, func(s ending.Situation, f ending.Facts) {
		said := f.Sentences()
		text := strings.ToLower(strings.Join(said, " "))
		if len(said) == 0 || strings.Contains(text, "%!") || strings.Contains(text, "  ") {
			t.Fatalf("%s %s says %q", s.Before.FEN(), s.Before.SAN(s.Move), said)
		}
		for _, word := range []string{"mistake", "wrong", "bad", "fail", "should have", "you lost", "error"} {
			if strings.Contains(text, word) {
				t.Errorf("%s %s scolds: %q", s.Before.FEN(), s.Before.SAN(s.Move), said)
			}
		}
		for _, one := range said {
			if !strings.HasSuffix(one, ".") && !strings.HasSuffix(one, "?") {
				t.Errorf("no whole sentence: %q", one)
			}
		}
	})
}

// TestPenIsSaidOnceSmaller: that his pen shrinks is said of a new smallest pen of
// the game alone, and never while it is open, of which no hurdles are drawn.
func TestPenIsSaidOnceSmaller(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, fen, move string
		pen             int // the smallest of the game so far
		say             string
	}{
		{"smaller than ever", "8/3K4/1k6/8/8/8/8/Q7 w - - 0 1", "Qc3", 9, "His pen shrinks from 33 squares to 8."},
		{"as small once before", "8/3K4/1k6/8/8/8/8/Q7 w - - 0 1", "Qc3", 8, "His pen has 8 squares."},
		{"open", "8/8/8/4k3/8/8/8/R3K3 w - - 0 1", "Ra2", 0, "He can step to 8 squares."},
	} {
		p := parse(t, c.fen)
		s := ending.Situation{Before: p, Move: find(t, p, c.move), Pen: c.pen}
		s.Verdict = judgeMove(t, p, s.Move, 0)
		f := facts(t, s)
		if got := strings.Join(f.Sentences(), " "); got != c.say {
			t.Errorf("%s: %q, want %q", c.name, got, c.say)
		}
		if said := strings.Contains(strings.Join(f.For(14), " "), "squares before"); said != (c.pen == 9) {
			t.Errorf("%s: %q", c.name, f.For(14))
		}
	}
}

// TestNoNearerSentence counts and asks.
func TestNoNearerSentence(t *testing.T) {
	t.Parallel()
	if got := ending.NoNearer(4); got != "4 moves and no nearer. Where would he like to go?" {
		t.Error(got)
	}
}
