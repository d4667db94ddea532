package ending

import (
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"

	"drover/game"
	"drover/game/board"
	"drover/solver"
)

// Wanted says which starts are wanted.
type Wanted struct {
	Stage       Stage  // that they lie in
	To          Stage  // the drill's last stage, that par counts to; empty: the plan's last
	Kind        string // a code of StartKinds
	Least, Most int    // par, the fewest moves to the end of To; 0: no limit
	N           int
	Seed        int64
}

// Picked are starts, and how many that lie in the stage were looked at. Where par
// was wanted, Least and Most are the smallest and the greatest of these.
type Picked struct {
	Starts      []board.Position
	Looked      int
	Least, Most int
	Work        int // that was done, of Budget
}

// Starts picks n different starts of a plan's stage, White attacking and to
// move, uniformly over classes of legal placements that mirror or turn into each
// other, no class twice. The same seed picks the same starts.
func (j *Judge) Starts(ctx context.Context, plan *Plan, stage Stage, n int, seed int64) ([]board.Position, error) {
	return j.StartsOf(ctx, plan, stage, AtRandom, n, seed)
}

// StartsOf is Starts for one kind of start.
func (j *Judge) StartsOf(ctx context.Context, plan *Plan, stage Stage, kind string, n int,
	seed int64) ([]board.Position, error) {
	picked, err := j.Pick(ctx, plan, Wanted{Stage: stage, Kind: kind, N: n, Seed: seed})
	return picked.Starts, err
}

// Pick is Starts for all that can be wanted of them.
func (j *Judge) Pick(ctx context.Context, plan *Plan, w Wanted) (Picked, error) {
	fit, ok := kindOf(w.Kind, plan.Code)
	if !ok {
		return Picked{}, game.Fail(game.Bad,
			fmt.Sprintf("%s has no such kind of start. Choose another from the list.", plan.Name))
	}
	index, to := plan.Index(w.Stage), plan.Last()
	if w.To != "" {
		to = plan.Index(w.To)
	}
	if index < 0 || to < 0 {
		return Picked{}, game.Fail(game.Bad, fmt.Sprintf("%s has no stage of that name. Choose one of its own.", plan.Name))
	}
	look := func(s *seeking, sp solver.Position) (p board.Position, fits bool, err error) {
		l, err := j.look(s.ctx, sp, 0)
		if err != nil || !l.Won() || l.Stage != index || l.Par < 2 { // at least two moves from its end
			return p, false, err
		}
		s.found.Looked++
		if fits, err = j.parFits(s, sp, l, to); err != nil || !fits {
			return p, false, err
		}
		if p, err = s.board(sp); err != nil {
			return p, false, err
		}
		if err := s.spend(perKind(w.Kind)); err != nil {
			return p, false, err
		}
		fits, err = fit(s.ctx, j, p)
		return p, fits, err
	}
	return j.search(ctx, plan.Code, solver.White, w, look)
}

// looking says whether a placement is wanted, and makes a position of it.
type looking func(s *seeking, sp solver.Position) (p board.Position, fits bool, err error)

// search draws placements until enough of them are wanted, or its work is done.
func (j *Judge) search(ctx context.Context, code string, side solver.Color, w Wanted, look looking) (Picked, error) {
	rng := rand.New(rand.NewPCG(uint64(w.Seed), 1))
	seen := map[placement]bool{}
	s := seeking{ctx: ctx, wanted: w}
	for try := 0; try < tries && s.found.Looked < candidates; try++ {
		if err := s.spend(perTry); err != nil {
			return s.found, s.over(err)
		}
		sp := place(rng, code, side)
		if sp.Validate() != nil {
			continue
		}
		key, size := class(sp)
		if size == full(code) && rng.IntN(2) == 0 { // a class of half the size has half the placements
			continue
		}
		if seen[key] {
			continue
		}
		p, fits, err := look(&s, sp)
		if errors.Is(err, errSpent) || ctx.Err() != nil && err != nil {
			return s.found, s.over(err)
		}
		if err != nil {
			return s.found, fmt.Errorf("start %s: %w", fen(sp), err)
		}
		if !fits {
			continue
		}
		seen[key] = true
		if s.found.Starts = append(s.found.Starts, p); len(s.found.Starts) == w.N {
			return s.found, nil
		}
	}
	return s.found, s.over(errSpent)
}

// parFits says whether a start's par is within what is wanted.
func (j *Judge) parFits(s *seeking, sp solver.Position, l Look, to int) (bool, error) {
	w := s.wanted
	if w.Least == 0 && w.Most == 0 {
		return true, nil
	}
	par, err := j.par(s.ctx, sp, l, to)
	if err != nil {
		return false, err
	}
	if s.found.Least == 0 || par < s.found.Least {
		s.found.Least = par
	}
	s.found.Most = max(s.found.Most, par)
	return par >= w.Least && (w.Most == 0 || par <= w.Most), nil
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

// placement is the squares of an ending's men in the order of its code, each kind
// of them in the order of the board.
type placement [solver.MaxMen]solver.Square

// class is the same for positions that mirror or turn into each other, with the
// number of such positions: a pawn leaves only the mirror of the files.
func class(sp solver.Position) (least placement, size int) {
	men := sp.Men[:sp.Count]
	symmetries := 8
	for _, m := range men {
		if m.Kind == solver.Pawn {
			symmetries = 2
		}
	}
	var all [8]placement
	for symmetry := range symmetries {
		p := &all[symmetry]
		for i, m := range men {
			p[i] = mapped(m.At, symmetry)
			if i > 0 && m.Kind == men[i-1].Kind && m.Color == men[i-1].Color && p[i] < p[i-1] {
				p[i], p[i-1] = p[i-1], p[i] // two of a kind: no ending of four men has three beside two kings
			}
		}
		if !slices.Contains(all[:symmetry], *p) {
			size++
		}
		if symmetry == 0 || slices.Compare(p[:], least[:]) < 0 {
			least = *p
		}
	}
	return least, size
}

// full is the size of a class of an ending without a symmetry of its own, where
// there are classes of half that size; 0 where all have one size.
func full(code string) int {
	if strings.Contains(code, "P") {
		return 0
	}
	return 8
}

// mapped maps a square by one of the eight symmetries of the board.
func mapped(s solver.Square, symmetry int) solver.Square {
	file, rank := s%8, s/8
	if symmetry&1 != 0 {
		file = 7 - file
	}
	if symmetry&2 != 0 {
		rank = 7 - rank
	}
	if symmetry&4 != 0 {
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
