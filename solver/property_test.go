package solver

import (
	"context"
	"math/rand/v2"
	"strings"
	"testing"
)

// staged lists the endings with regions.
var stagedEndings = strings.Fields("KQK KRK KRRK KBBK KBNK")

// eachRandom runs a check on so many random positions of each ending, fewer
// under the race detector.
func eachRandom(t *testing.T, endings []string, n int, check func(*testing.T, Position)) {
	if racing {
		n /= 20
	}
	for _, name := range endings {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			r := rand.New(rand.NewPCG(11, 5))
			for range n {
				check(t, random(r, name))
			}
		})
	}
}

// In every ending a turned board, exchanged colours and another order of the men
// leave the value; pawns allow only the mirror of the files, and that of the
// ranks with the colours.
func TestSymmetryOfValues(t *testing.T) {
	t.Parallel()
	eachRandom(t, Endings(), 3_000, func(t *testing.T, p Position) {
		p.EnPassant = NoSquare
		by := []turn{mirrorRanks, mirrorRanks | mirrorFiles}
		if !strings.Contains(p.Name(), "P") {
			by = append(by, 0, transpose, transpose|mirrorFiles)
		}
		for _, by := range by {
			q := p
			q.Turn = p.Turn.Other()
			for i, m := range p.men() {
				q.Men[p.Count-1-i] = Man{m.Kind, m.Color.Other(), turned[by][m.At]}
			}
			if probe(t, p) != probe(t, q) {
				t.Fatalf("%s and %s: %+v, %+v", p.text(), q.text(), probe(t, p), probe(t, q))
			}
		}
	})
}

func held(t *testing.T, p Position) [3]bool {
	t.Helper()
	h, err := shared().Held(context.Background(), p)
	if err != nil {
		t.Fatalf("%s: %v", p.text(), err)
	}
	return h
}

// par returns the par of a region, -1 if it cannot be forced.
func par(t *testing.T, p Position, region int) int {
	t.Helper()
	n, ok, err := shared().Par(context.Background(), p, region)
	if err != nil {
		t.Fatalf("%s: %v", p.text(), err)
	}
	if !ok {
		return -1
	}
	return n
}

// A turned board and exchanged colours change neither value, region nor par;
// nor does the order of the men.
func TestSymmetry(t *testing.T) {
	t.Parallel()
	eachRandom(t, stagedEndings, 1_000, func(t *testing.T, p Position) {
		for by := range turn(turns) {
			q := p
			q.Turn = p.Turn.Other()
			for i, m := range p.men() {
				q.Men[p.Count-1-i] = Man{m.Kind, m.Color.Other(), turned[by][m.At]}
			}
			if probe(t, p) != probe(t, q) || held(t, p) != held(t, q) {
				t.Fatalf("%s and %s: %+v %v, %+v %v", p.text(), q.text(), probe(t, p), held(t, p), probe(t, q), held(t, q))
			}
			for r := 1; r <= regions; r++ {
				if par(t, p, r) != par(t, q, r) {
					t.Fatalf("%s and %s: pars of region %d differ", p.text(), q.text(), r)
				}
			}
		}
	})
}

// H(F3) lies in H(F2), that in H(F1), that in the won positions; a position in
// H(F) has par 0; with the lone king on F none is held.
func TestRegionsNest(t *testing.T) {
	t.Parallel()
	eachRandom(t, stagedEndings, 20_000, func(t *testing.T, p Position) {
		h := held(t, p)
		won := probe(t, p).Outcome != Draw
		if h[2] && !h[1] || h[1] && !h[0] || h[0] && !won {
			t.Fatalf("%s: held %v, won %v", p.text(), h, won)
		}
		lone := p.king(p.Attacker().Other())
		for r := range h {
			n := par(t, p, r+1)
			on := regionSquares[r+1].has(lone)
			if h[r] && (n != 0 || on) || n >= 0 && !won || p.Turn == p.Attacker() && (n == 0) != h[r] {
				t.Fatalf("%s: region %d held %v, par %d, lone king on it %v", p.text(), r+1, h[r], n, on)
			}
		}
	})
}

// From a held position no reply leads out of the region, and the attacker has a
// move that stays in it.
func TestDefenderCannotLeave(t *testing.T) {
	t.Parallel()
	eachRandom(t, stagedEndings, 10_000, func(t *testing.T, p Position) {
		h := held(t, p)
		for r := range h {
			if !h[r] {
				continue
			}
			moves := p.Moves(nil)
			stays := 0
			for _, m := range moves {
				if !m.Capture && held(t, p.Play(m))[r] {
					stays++
				}
			}
			attacking := p.Turn == p.Attacker()
			if attacking && stays == 0 || !attacking && stays < len(moves) || len(moves) == 0 && !p.InCheck() {
				t.Fatalf("%s, region %d: %d of %d moves stay", p.text(), r+1, stays, len(moves))
			}
		}
	})
}

// A par follows from the pars after each legal move: the attacker's is one more
// than the least, the defender's the greatest; mate counts as reached, while
// stalemate and the loss of a man cannot be part of a forced way.
func TestParFollowsFromMoves(t *testing.T) {
	t.Parallel()
	eachRandom(t, stagedEndings, 3_000, func(t *testing.T, p Position) {
		h := held(t, p)
		for r := 1; r <= regions; r++ {
			want := 0
			switch {
			case h[r-1]:
			case p.Turn == p.Attacker():
				want = nearest(t, p, r)
			default:
				want = farthest(t, p, r)
			}
			if got := par(t, p, r); got != want {
				t.Fatalf("%s, region %d: par %d, its moves say %d", p.text(), r, got, want)
			}
		}
	})
}

func nearest(t *testing.T, p Position, region int) int {
	best := -1
	for _, m := range p.Moves(nil) {
		if n := par(t, p.Play(m), region); n >= 0 && (best < 0 || n+1 < best) {
			best = n + 1
		}
	}
	return best
}

func farthest(t *testing.T, p Position, region int) int {
	moves := p.Moves(nil)
	if len(moves) == 0 && !p.InCheck() {
		return -1
	}
	most := 0
	for _, m := range moves {
		if m.Capture {
			return -1
		}
		n := par(t, p.Play(m), region)
		if n < 0 {
			return -1
		}
		most = max(most, n)
	}
	return most
}
