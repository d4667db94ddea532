package ending_test

import (
	"strings"
	"testing"

	"drover/game/ending"
)

// TestForFourteen: the same fact with the numbers, each on a real position; the
// numbers are those of the tables.
func TestForFourteen(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ name, fen, move, eight, fourteen string }{
		{"mate", "7k/8/6K1/8/8/8/8/R7 w - - 0 1", "Ra8#", "Checkmate.", "Checkmate."},
		{"stalemate", "7k/8/6K1/8/8/8/5Q2/8 w - - 0 1", "Qf7", "stalemate, a draw", "stalemate, a draw"},
		{"detour", "8/8/8/8/3k4/8/7R/K7 w - - 0 1", "Rh3", "Kb2 was 2 moves quicker", "2 moves longer than Kb2: mate in"},
		{"slip", "8/8/2k5/8/8/2K1R3/8/8 w - - 0 1", "Re8", "He gets out: d5",
			"He gets out by d5, so the centre is open again, and"},
		{"pen", "8/8/2k5/8/8/1K2R3/8/8 w - - 0 1", "Kc4", "His pen shrinks from", "squares before,"},
	} {
		p := parse(t, c.fen)
		m := find(t, p, c.move)
		v := judgeMove(t, p, m, 0)
		f := facts(t, ending.Situation{Before: p, Move: m, Verdict: v})
		eight, fourteen := strings.Join(f.For(8), " "), strings.Join(f.For(14), " ")
		if !strings.Contains(eight, c.eight) || !strings.Contains(fourteen, c.fourteen) {
			t.Errorf("%s: %q and %q", c.name, eight, fourteen)
		}
		if v.Grade == ending.Detour && f.Moves != v.After.MateIn() {
			t.Errorf("%s says mate in %d, it is %d", c.name, f.Moves, v.After.MateIn())
		}
	}
}

// TestShortForEight: no sentence for eight has more than a dozen words, and none
// scolds or cheers, over the moves of the corpus.
func TestShortForEight(t *testing.T) {
	t.Parallel()
	each(t, func(_ ending.Situation, f ending.Facts) {
		for _, s := range strings.FieldsFunc(strings.Join(f.For(8), " "), func(r rune) bool { return r == '.' || r == ':' }) {
			if n := len(strings.Fields(s)); n > 12 || strings.ContainsAny(s, "!") {
				t.Errorf("%d words: %q", n, s)
			}
		}
	})
}
