package ending

import (
	"context"
	"fmt"
	"math/rand/v2"
	"strings"

	"drover/game"
	"drover/game/board"
	"drover/solver"
)

// tries bounds the search for starts: a stage that one placement in ten
// thousand fits is still found.
const tries = 400_000

// candidates bounds how many positions of the stage are looked at for a kind
// that may not be there at all.
const candidates = 3_000

// Starts picks n different starts of a plan's stage, White attacking and to
// move, uniformly over legal placements; positions that mirror each other
// count as one. The same seed picks the same starts.
func (j *Judge) Starts(ctx context.Context, plan *Plan, stage Stage, n int, seed int64) ([]board.Position, error) {
	return j.StartsOf(ctx, plan, stage, AtRandom, n, seed)
}

// StartsOf is Starts for one kind of start.
func (j *Judge) StartsOf(ctx context.Context, plan *Plan, stage Stage, kind string, n int, seed int64) ([]board.Position, error) {
	fit, ok := kindOf(kind, plan.Code)
	if !ok {
		return nil, game.Fail(game.Bad, fmt.Sprintf("%s has no such kind of start. Choose another from the list.", plan.Name))
	}
	index := plan.Index(stage)
	if index < 0 {
		return nil, game.Fail(game.Bad, fmt.Sprintf("%s has no stage of that name. Choose one of its own.", plan.Name))
	}
	rng := rand.New(rand.NewPCG(uint64(seed), 1))
	seen := map[string]bool{}
	var found []board.Position
	looked := 0
	for range tries {
		if looked > candidates {
			break
		}
		sp := place(rng, plan.Code)
		if sp.Check() != nil {
			continue
		}
		ok, err := j.fits(ctx, sp, index)
		if err != nil {
			return nil, err
		}
		if !ok || seen[class(sp)] {
			continue
		}
		looked++
		p, err := board.ParseFEN(fen(sp))
		if err != nil {
			return nil, fmt.Errorf("start %s: %w", fen(sp), err)
		}
		if ok, err = fit(ctx, j, p); err != nil {
			return nil, err
		}
		if !ok {
			continue
		}
		seen[class(sp)] = true
		if found = append(found, p); len(found) == n {
			return found, nil
		}
	}
	if len(found) == 0 {
		return nil, game.Fail(game.Bad, "No starts of that kind were found in this stage. Choose another kind or stage.")
	}
	return nil, game.Fail(game.Bad, fmt.Sprintf("Only %d starts of that kind were found, not %d. Ask for fewer.", len(found), n))
}

// fits says whether a position is won, in the stage, and at least two moves
// from its end.
func (j *Judge) fits(ctx context.Context, sp solver.Position, stage int) (bool, error) {
	l, err := j.look(ctx, sp, 0)
	if err != nil {
		return false, err
	}
	return l.Won() && l.Stage == stage && l.Par >= 2, nil
}

// place puts the men of an ending on random squares, White's first.
func place(rng *rand.Rand, code string) solver.Position {
	sp := solver.Position{Count: len(code), EnPassant: solver.NoSquare}
	color := solver.White
	for i := range sp.Count {
		if i > 0 && code[i] == 'K' {
			color = solver.Black
		}
		kind := solver.Kind(strings.IndexByte("KQRBNP", code[i]))
		sp.Men[i] = solver.Man{Kind: kind, Color: color, At: solver.Square(rng.IntN(64))}
	}
	return sp
}

// class is the same for positions that mirror or turn into each other.
func class(sp solver.Position) string {
	least := ""
	for turn := range 8 {
		q := sp
		for i := range q.Count {
			q.Men[i].At = turned(q.Men[i].At, turn)
		}
		if s := fen(q); least == "" || s < least {
			least = s
		}
	}
	return least
}

// turned maps a square by one of the eight symmetries of the board.
func turned(s solver.Square, turn int) solver.Square {
	file, rank := s%8, s/8
	if turn&1 != 0 {
		file = 7 - file
	}
	if turn&2 != 0 {
		rank = 7 - rank
	}
	if turn&4 != 0 {
		file, rank = rank, file
	}
	return file + 8*rank
}

// fen writes a solver's position.
func fen(sp solver.Position) string {
	var men [64]byte
	for i := range sp.Count {
		m := sp.Men[i]
		men[m.At] = "KQRBNPkqrbnp"[int(m.Kind)+6*int(m.Color)]
	}
	var b strings.Builder
	for rank := 7; rank >= 0; rank-- {
		gap := 0
		for file := range 8 {
			if c := men[rank*8+file]; c != 0 {
				writeGap(&b, &gap)
				b.WriteByte(c)
			} else {
				gap++
			}
		}
		writeGap(&b, &gap)
		if rank > 0 {
			b.WriteByte('/')
		}
	}
	return b.String() + " " + string("wb"[sp.Turn]) + " - - 0 1"
}

func writeGap(b *strings.Builder, gap *int) {
	if *gap > 0 {
		b.WriteByte('0' + byte(*gap))
	}
	*gap = 0
}
