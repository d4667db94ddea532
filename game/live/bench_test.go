package live_test

import (
	"fmt"
	"runtime"
	"testing"
	"time"

	"drover/game"
	"drover/game/board"
	"drover/game/live"
	"drover/game/practice"
)

// long is a game of bishop and knight that is won all the time and comes no nearer:
// the student makes the slowest winning move that leads to no position twice.
func long(t testing.TB, moves int) *memory {
	t.Helper()
	m := &memory{setup: practice.Setup{Game: 1, Student: 2, Ending: "KBNK", Start: "8/8/2k5/8/8/8/8/2B1K1N1 w - - 0 1",
		Mode: practice.Guided, Target: "mate", Defender: "longest", Helps: practice.StepsOf(1, 2, 3, 4), Wording: 8}}
	h := live.New(m, judge, time.Now)
	seen := map[string]bool{}
	for range moves {
		s, err := h.State(ctx, mover.Club, 1)
		if err != nil {
			t.Fatal(err)
		}
		seen[s.Pos.Key()] = true
		if _, err := h.Do(ctx, mover, 1, slowest(t, s, seen)); err != nil {
			t.Fatal(err)
		}
	}
	return m
}

func slowest(t testing.TB, s practice.State, seen map[string]bool) practice.Command {
	t.Helper()
	options, err := judge.Options(ctx, s.Pos)
	if err != nil {
		t.Fatal(err)
	}
	best, plies := board.Move{}, -1
	for _, o := range options {
		next := s.Pos.Play(o.Move)
		if len(next.Moves()) == 0 {
			continue
		}
		r, err := judge.Reply(ctx, next, s.Defender, s.Seed)
		late := o.After.Plies+next.HalfMoves() > 100 // the fifty-move rule would take the win
		if err != nil || !o.Wins() || late || o.After.Plies <= plies || seen[next.Play(r).Key()] {
			continue
		}
		best, plies = o.Move, o.After.Plies
	}
	if plies < 0 {
		t.Fatal("no winning move is left")
	}
	return practice.Command{Do: practice.Move, ID: fmt.Sprint("m", s.Seq()), Ply: s.Ply(), Move: best.UCI(), Took: 2000}
}

// last is the hub of a long game before its move of that number, with a watcher, and
// the command of that move.
func last(t testing.TB, m *memory, at int) (*live.Hub, *live.Watcher, practice.Command) {
	t.Helper()
	act := m.acts[at-1]
	m.acts = m.acts[:at-1]
	h := live.New(m, judge, time.Now)
	w, _, err := h.Join(ctx, mover, 1, live.About{Title: "Bishop and knight"}, 0)
	if err != nil {
		t.Fatal(err)
	}
	s, err := h.State(ctx, mover.Club, 1)
	if err != nil {
		t.Fatal(err)
	}
	return h, w, practice.Command{Do: practice.Move, ID: act.Client, Ply: s.Ply(), Move: act.Move, Took: act.Took}
}

var mover = game.Actor{Club: 1, Person: 2, Role: game.Student}

// BenchmarkMove is one move through the hub with a watcher, as the first, the
// twentieth and the forty-ninth of a game (the fifty-move rule ends it there).
func BenchmarkMove(b *testing.B) {
	for _, at := range []int{1, 20, 49} {
		b.Run(fmt.Sprint("at=", at), func(b *testing.B) {
			m := long(b, at)
			b.ReportAllocs()
			for b.Loop() {
				b.StopTimer()
				h, w, c := last(b, m, at)
				b.StartTimer()
				if _, err := h.Do(ctx, mover, 1, c); err != nil {
					b.Fatal(err)
				}
				<-w.Frames
			}
		})
	}
}

// BenchmarkJoin is the first frame of a game of 49 moves.
func BenchmarkJoin(b *testing.B) {
	m := long(b, 49)
	h := live.New(m, judge, time.Now)
	b.ReportAllocs()
	for b.Loop() {
		w, _, err := h.Join(ctx, mover, 1, live.About{Title: "Bishop and knight"}, 0)
		if err != nil {
			b.Fatal(err)
		}
		h.Leave(w)
	}
}

// TestMoveAllocates: a move allocates at most 40 KiB, and at the end of a long game no
// more than at its beginning.
func TestMoveAllocates(t *testing.T) { //nolint:paralleltest // it counts what the program allocates
	const most, rounds = tracked * 40 << 10, 20
	for _, at := range []int{1, 20, 49} {
		m := long(t, at)
		var sum uint64
		for range rounds {
			h, w, c := last(t, m, at)
			var before, after runtime.MemStats
			runtime.ReadMemStats(&before)
			if _, err := h.Do(ctx, mover, 1, c); err != nil {
				t.Fatal(err)
			}
			runtime.ReadMemStats(&after)
			<-w.Frames
			sum += after.TotalAlloc - before.TotalAlloc
		}
		if sum > rounds*most {
			t.Errorf("move %d allocates %d bytes, more than %d", at, sum/rounds, most)
		}
	}
}
