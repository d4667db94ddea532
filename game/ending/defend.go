package ending

import (
	"context"
	"hash/fnv"
	"math/rand/v2"

	"drover/game"
	"drover/game/board"
	"drover/solver"
)

// Defender names a way of defending. Every defender is exact: none misses a
// man left hanging or a stalemate.
type Defender struct {
	Code   string // as stored
	Name   string // as a page writes it
	Trains string // what it is good for, one sentence
	prefer func(p board.Position, o Option) int
}

// defenders is data: a defender is added here with its preference among
// replies that lose anyway, the greatest first.
var defenders = []Defender{
	{"longest", "Holds out longest", "Resists as long as the rules allow: the full length of the ending.",
		func(_ board.Position, o Option) int { return o.After.Plies }},
	{"centre", "Centre-seeking", "Walks for the middle whenever he can: shutting him out must be done properly.",
		func(_ board.Position, o Option) int { return 200*fromRim(o.Move.To) + o.After.Plies }},
}

// Defenders lists the defenders.
func Defenders() []Defender { return defenders }

// DefenderOf finds a defender by its code.
func DefenderOf(code string) (Defender, bool) {
	for _, d := range defenders {
		if d.Code == code {
			return d, true
		}
	}
	return Defender{}, false
}

// fromRim is 0 on the outer ring of the board to 3 on the centre squares.
func fromRim(s board.Square) int {
	return min(s.File(), 7-s.File(), s.Rank(), 7-s.Rank())
}

// Reply chooses the defender's answer in p. A reply that saves the game comes
// first, one that takes a man before others; among equals the seed and the
// position decide, so the same game with the same seed is answered the same.
func (j *Judge) Reply(ctx context.Context, p board.Position, defender string, seed int64) (board.Move, error) {
	d, ok := DefenderOf(defender)
	if !ok {
		return board.Move{}, game.Fail(game.Bad, "There is no defender of that name. Choose one from the list.")
	}
	options, err := j.Options(ctx, p)
	if err != nil {
		return board.Move{}, err
	}
	best, most := []Option(nil), 0
	for _, o := range options {
		score := d.prefer(p, o)
		if o.After.Outcome != solver.Win {
			score = saved(o)
		}
		if best == nil || score > most {
			best, most = best[:0], score
		}
		if score == most {
			best = append(best, o)
		}
	}
	if len(best) == 0 {
		return board.Move{}, game.Fail(game.Gone, "The game is over.")
	}
	return best[pick(seed, p.Key(), len(best))].Move, nil
}

// saved ranks the replies after which the attacker no longer wins above all
// others.
func saved(o Option) int {
	score := 1 << 20
	if o.After.Outcome == solver.Loss {
		score <<= 1
	}
	if o.Move.Capture {
		score++
	}
	return score
}

// pick chooses among n by the seed and the position alone.
func pick(seed int64, key string, n int) int {
	h := fnv.New64a()
	_, _ = h.Write([]byte(key)) // a hash never fails
	return rand.New(rand.NewPCG(uint64(seed), h.Sum64())).IntN(n)
}
