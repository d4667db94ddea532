package game_test

import (
	"testing"

	"drover/game"
)

// TestWords: numbers, lists and the first letter of a sentence.
func TestWords(t *testing.T) {
	t.Parallel()
	for got, want := range map[string]string{
		game.Count(0, "move"): "0 moves", game.Count(1, "move"): "1 move", game.Count(21, "move"): "21 moves",
		game.Number(0): "no", game.Number(3): "three", game.Number(10): "ten", game.Number(11): "11", game.Number(-1): "-1",
		game.List(nil): "", game.List([]string{"A"}): "A", game.List([]string{"B", "C"}): "B and C",
		game.List([]string{"D", "E", "F"}): "D, E and F",
		game.Lower("Queen"):                "queen", game.Upper("two rooks"): "Two rooks", game.Lower(game.Upper("")): "",
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
}
