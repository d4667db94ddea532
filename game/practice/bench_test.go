package practice_test

import (
	"testing"

	"drover/game/practice"
)

// BenchmarkGame measures a whole game through Apply and Fold with its summary: a
// mate with the rook in best play, and a draw held for ten moves.
func BenchmarkGame(b *testing.B) {
	for name, play := range map[string]func() *game{
		"win": func() *game {
			g := begin(b, "KRK", "8/8/8/4k3/8/8/8/R3K3 w - - 0 1")
			for g.End == "" {
				g.best()
			}
			return g
		},
		"hold": func() *game {
			g := begin(b, "KPK", "8/8/8/8/4k3/3p4/3K4/8 w - - 0 1", hold)
			for g.End == "" {
				g.firm()
			}
			return g
		},
	} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				if _, err := practice.Summary(ctx, judge, play().State); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
