package ending

import (
	"context"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"slices"

	"drover/game"
	"drover/game/board"
	"drover/solver"
)

// Defender names a way of defending. Every defender is exact: none misses a
// man left hanging or a stalemate.
type Defender struct {
	Code   string // as stored
	Name   string // as a page writes it
	Does   string // what he does, after "a king that"
	Trains string // what it is good for, one sentence
	prefer preference
	slack  int // how far below the greatest preference a reply may still be chosen
}

// preference ranks a reply that loses anyway, the greatest first.
type preference func(ctx context.Context, j *Judge, p board.Position, o Option) (int, error)

// The defenders, as they are stored.
const (
	HoldsOut     = "longest"
	SeeksCentre  = "centre"
	RunsToCorner = "corner"
	ChasesMen    = "chase"
	TestsMoves   = "test"
	ByHand       = "hand" // a coach makes his replies; while none watches, the one that holds out longest answers
	Varies       = "varied"
)

// defenders is data: a defender is added here with its preference.
var defenders = []Defender{
	{HoldsOut, "Holds out longest", "holds out longest",
		"Resists as long as he can, so the ending takes its full length.", longest, 0},
	{SeeksCentre, "Centre-seeking", "seeks the centre",
		"Walks to the middle whenever he can, so he has to be shut out properly.", toCentre, 0},
	{RunsToCorner, "Corner-running", "runs to the corner",
		"Runs straight to the corner where mate is hardest, and has to be driven along the edge from there.", toCorner, 0},
	{ChasesMen, "Chasing", "chases loose men",
		"Walks towards the nearest loose man, so the men have to guard each other or keep their distance.", toLoose, 0},
	{TestsMoves, "Testing", "tests every move",
		"Goes where the fewest moves are on course, so each move has to be found.", toFewest, 0},
	{ByHand, "By hand", "is moved by a coach who watches, or else holds out longest",
		"A coach who watches moves him, to show an escape, a trap or a second try.", longest, 0},
	{Varies, "Varied", "varies his way",
		"Plays within two moves of the longest defence, in another way each time, so learning by heart does not help.",
		longest, 4},
}

// step weighs a defender's own wish above any difference in length.
const step = 200

func longest(_ context.Context, _ *Judge, _ board.Position, o Option) (int, error) {
	return o.After.Plies, nil
}

func toCentre(_ context.Context, _ *Judge, _ board.Position, o Option) (int, error) {
	return step*fromRim(o.Move.To) + o.After.Plies, nil
}

// toCorner runs to the nearest corner in which mate cannot be forced, or to any
// where all are alike.
func toCorner(_ context.Context, _ *Judge, p board.Position, o Option) (int, error) {
	nearest := 8
	for _, c := range wrongCorners(p, 1-p.Turn()) {
		nearest = min(nearest, steps(o.Move.To, c))
	}
	return -step*nearest + o.After.Plies, nil
}

// toLoose walks at the nearest man that no other guards, or at the nearest man
// where all are guarded.
func toLoose(_ context.Context, _ *Judge, p board.Position, o Option) (int, error) {
	next := p.Play(o.Move)
	loose, guarded := 8, 8
	for sq := board.Square(0); sq < 64; sq++ {
		m := next.At(sq)
		switch {
		case !m.There || m.Color == p.Turn() || m.Kind == board.King:
		case next.Covers(m.Color, sq):
			guarded = min(guarded, steps(o.Move.To, sq))
		default:
			loose = min(loose, steps(o.Move.To, sq))
		}
	}
	if loose == 8 {
		loose = guarded
	}
	return -step*loose + o.After.Plies, nil
}

// toFewest counts the attacker's moves that would be on course.
func toFewest(ctx context.Context, j *Judge, p board.Position, o Option) (int, error) {
	options, err := j.Options(ctx, p.Play(o.Move))
	if err != nil {
		return 0, err
	}
	n := 0
	for _, a := range options {
		if a.After.Outcome == solver.Loss && a.After.Plies-(o.After.Plies-1) <= 2 {
			n++
		}
	}
	return -step*n + o.After.Plies, nil
}

// Defenders lists the defenders; a copy.
func Defenders() []Defender { return slices.Clone(defenders) }

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
	if len(options) == 0 {
		return board.Move{}, game.Fail(game.Gone, "The game is over.")
	}
	scores, most := make([]int, len(options)), math.MinInt
	for i, o := range options {
		if scores[i] = saved(o); o.After.Outcome == solver.Win {
			if scores[i], err = d.prefer(ctx, j, p, o); err != nil {
				return board.Move{}, err
			}
		}
		most = max(most, scores[i])
	}
	var best []board.Move
	for i, o := range options {
		if scores[i] == most || o.After.Outcome == solver.Win && scores[i] >= most-d.slack {
			best = append(best, o.Move)
		}
	}
	return best[pick(seed, p.Key(), len(best))], nil
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
