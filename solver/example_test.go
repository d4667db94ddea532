package solver_test

import (
	"context"
	"fmt"

	"drover/solver"
)

// A bishop and a knight have driven the king to the edge: the distance, the regions that
// are held, and the best moves.
func Example() {
	p := solver.Position{Count: 4, Turn: solver.White, EnPassant: solver.NoSquare}
	p.Men = [solver.MaxMen]solver.Man{
		{Kind: solver.King, Color: solver.White, At: 46},   // g6
		{Kind: solver.Bishop, Color: solver.White, At: 35}, // d5
		{Kind: solver.Knight, Color: solver.White, At: 37}, // f5
		{Kind: solver.King, Color: solver.Black, At: 61},   // f8
	}
	ctx := context.Background()
	tables := solver.NewTables()
	value, _ := tables.Probe(ctx, p)
	held, _ := tables.Held(ctx, p)
	fmt.Println(p.Name(), value, held)
	for _, m := range p.Moves(nil) {
		if after, _ := tables.Probe(ctx, p.Play(m)); after.Plies == value.Plies-1 && after.Outcome == solver.Loss {
			fmt.Println(m)
		}
	}
	// Output:
	// KBNK {1 35} [true true false]
	// g6f6
	// f5e3
	// f5d6
}
