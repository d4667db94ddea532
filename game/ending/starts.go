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

// candidates bounds how many positions of the stage are looked at for a kind or
// a par that may not be there at all.
const candidates = 4_000

// Wanted says which starts are wanted.
type Wanted struct {
	Stage       Stage  // that they lie in
	To          Stage  // the drill's last stage, that par counts to; empty: the plan's last
	Kind        string // a code of StartKinds
	Least, Most int    // par, the fewest moves to the end of To; 0: no limit
	N           int
	Seed        int64
}

// Picked are starts, and how many that lie in the stage were looked at.
type Picked struct {
	Starts []board.Position
	Looked int
}

// Starts picks n different starts of a plan's stage, White attacking and to
// move, uniformly over classes of legal placements that mirror or turn into each
// other, no class twice. The same seed picks the same starts.
func (j *Judge) Starts(ctx context.Context, plan *Plan, stage Stage, n int, seed int64) ([]board.Position, error) {
	return j.StartsOf(ctx, plan, stage, AtRandom, n, seed)
}

// StartsOf is Starts for one kind of start.
func (j *Judge) StartsOf(ctx context.Context, plan *Plan, stage Stage, kind string, n int, seed int64) ([]board.Position, error) {
	picked, err := j.Pick(ctx, plan, Wanted{Stage: stage, Kind: kind, N: n, Seed: seed})
	return picked.Starts, err
}

// Pick is Starts for all that can be wanted of them.
func (j *Judge) Pick(ctx context.Context, plan *Plan, w Wanted) (Picked, error) {
	fit, ok := kindOf(w.Kind, plan.Code)
	if !ok {
		return Picked{}, game.Fail(game.Bad, fmt.Sprintf("%s has no such kind of start. Choose another from the list.", plan.Name))
	}
	index, to := plan.Index(w.Stage), plan.Last()
	if w.To != "" {
		to = plan.Index(w.To)
	}
	if index < 0 || to < 0 {
		return Picked{}, game.Fail(game.Bad, fmt.Sprintf("%s has no stage of that name. Choose one of its own.", plan.Name))
	}
	return j.search(ctx, plan.Code, solver.White, w, func(ctx context.Context, sp solver.Position, p func() (board.Position, error)) (in, fits bool, err error) {
		if in, err = j.fits(ctx, sp, index); err != nil || !in {
			return false, false, err
		}
		start, err := p()
		if err != nil {
			return true, false, err
		}
		if fits, err = j.parFits(ctx, start, to, w); err != nil || !fits {
			return true, false, err
		}
		fits, err = fit(ctx, j, start)
		return true, fits, err
	})
}

// search draws placements until enough of them are wanted. look says whether one
// is of the stage at all, and whether it is wanted.
func (j *Judge) search(ctx context.Context, code string, attacker solver.Color, w Wanted,
	look func(ctx context.Context, sp solver.Position, p func() (board.Position, error)) (in, fits bool, err error)) (Picked, error) {
	rng := rand.New(rand.NewPCG(uint64(w.Seed), 1))
	seen := map[string]bool{}
	var found Picked
	for try := 0; try < tries && found.Looked < candidates; try++ {
		sp := place(rng, code, attacker)
		if sp.Check() != nil {
			continue
		}
		key, size := class(sp)
		if size == full(code) && rng.IntN(2) == 0 { // a class of half the size has half the placements
			continue
		}
		if seen[key] {
			continue
		}
		var p board.Position
		in, fits, err := look(ctx, sp, func() (_ board.Position, err error) {
			p, err = board.ParseFEN(fen(sp))
			return p, err
		})
		if err != nil {
			return found, fmt.Errorf("start %s: %w", fen(sp), err)
		}
		if in {
			found.Looked++
		}
		if !fits {
			continue
		}
		seen[key] = true
		if found.Starts = append(found.Starts, p); len(found.Starts) == w.N {
			return found, nil
		}
	}
	if len(found.Starts) == 0 {
		return found, game.Fail(game.Bad, "No starts of that kind were found here. Choose another kind, stage or par.")
	}
	return found, game.Fail(game.Bad, fmt.Sprintf("%s, not %d. Ask for fewer.", onlySo(len(found.Starts)), w.N))
}

func onlySo(n int) string {
	if n == 1 {
		return "Only one start of that kind was found"
	}
	return fmt.Sprintf("Only %d starts of that kind were found", n)
}

// parFits says whether a start's par is within what is wanted.
func (j *Judge) parFits(ctx context.Context, p board.Position, to int, w Wanted) (bool, error) {
	if w.Least == 0 && w.Most == 0 {
		return true, nil
	}
	par, err := j.ParOf(ctx, p, to)
	return par >= w.Least && (w.Most == 0 || par <= w.Most), err
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

// place puts the men of an ending on random squares, the attacker's first; the
// attacker's opponent is Black where the attacker is White and to move, and the
// one to move where the attacker is Black.
func place(rng *rand.Rand, code string, attacker solver.Color) solver.Position {
	sp := solver.Position{Count: len(code), EnPassant: solver.NoSquare}
	color := attacker
	for i := range sp.Count {
		if i > 0 && code[i] == 'K' {
			color = 1 - attacker
		}
		kind := solver.Kind(strings.IndexByte("KQRBNP", code[i]))
		sp.Men[i] = solver.Man{Kind: kind, Color: color, At: solver.Square(rng.IntN(64))}
	}
	return sp
}

// class is the same for positions that mirror or turn into each other, with the
// number of such positions: a pawn leaves only the mirror of the files.
func class(sp solver.Position) (least string, size int) {
	turns := 8
	for _, m := range sp.Men[:sp.Count] {
		if m.Kind == solver.Pawn {
			turns = 2
		}
	}
	seen := map[string]bool{}
	for turn := range turns {
		q := sp
		for i := range q.Count {
			q.Men[i].At = turned(q.Men[i].At, turn)
		}
		s := fen(q)
		seen[s] = true
		if least == "" || s < least {
			least = s
		}
	}
	return least, len(seen)
}

// full is the size of a class of an ending without a symmetry of its own, where
// there are classes of half that size; 0 where all have one size.
func full(code string) int {
	if strings.Contains(code, "P") {
		return 0
	}
	return 8
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
