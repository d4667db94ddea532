package live_test

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"drover/game"
	"drover/game/ending"
	"drover/game/live"
	"drover/game/practice"
)

// memory is a log that can be told to fail. It keeps one game.
type memory struct {
	mu    sync.Mutex
	setup practice.Setup
	acts  []practice.Act
	ended []practice.Outcome
	away  bool                     // nothing can be read or written
	drop  int                      // so many next writes happen, and their answer is lost
	steal func(practice.Act) error // runs before a write, as another node might
	n     int                      // writes that were tried
	asked chan struct{}            // hears of each reading that failed
}

func (m *memory) Setup(context.Context, game.ClubID, game.GameID) (practice.Setup, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.away {
		select {
		case m.asked <- struct{}{}:
		default: // nobody counts
		}
		return practice.Setup{}, errAway()
	}
	return m.setup, nil
}

func errAway() error { return game.Wrap(game.Away, "Try again in a moment.", errors.New("cut off")) }

func (m *memory) Load(_ context.Context, _ game.ClubID, _ game.GameID, after int) ([]practice.Act, error) {
	m.mu.Lock()
	defer m.mu.Unlock()
	if m.away {
		return nil, errAway()
	}
	return slices.Clone(m.acts[min(after, len(m.acts)):]), nil
}

func (m *memory) Append(_ context.Context, _ game.ClubID, _ practice.Setup, a practice.Act,
	o *practice.Outcome) (time.Time, bool, error) {
	m.mu.Lock()
	steal := m.steal
	m.n++
	m.mu.Unlock()
	if steal != nil {
		if err := steal(a); err != nil {
			return time.Time{}, false, err
		}
	}
	m.mu.Lock()
	defer m.mu.Unlock()
	switch {
	case m.away:
		return time.Time{}, false, errAway()
	case a.Seq != len(m.acts)+1:
		return time.Time{}, false, nil
	}
	a.At = now()
	m.acts = append(m.acts, a)
	if o != nil {
		m.ended = append(m.ended, *o)
	}
	if m.drop > 0 {
		m.drop--
		return time.Time{}, false, errAway()
	}
	return a.At, true, nil
}

func (m *memory) cut(away bool) {
	m.mu.Lock()
	defer m.mu.Unlock()
	m.away = away
}

func (m *memory) log() []practice.Act {
	m.mu.Lock()
	defer m.mu.Unlock()
	return slices.Clone(m.acts)
}

func now() time.Time { return time.Date(2026, 11, 24, 17, 0, 0, 0, time.UTC) }

var pupil = game.Actor{Club: 3, Person: 7, Role: game.Student, Name: "Juniper"}

// rook is a log with a rook's game that nobody has moved in yet.
func rook() *memory {
	return &memory{setup: practice.Setup{
		Game: 1, Student: pupil.Person, Ending: "KRK", Start: "8/8/8/4k3/8/8/8/R3K3 w - - 0 1", Mode: practice.Guided,
		Target:   ending.Mate,
		Defender: "longest", Seed: 3, Backs: 1, Allowance: 3,
	}}
}

func hubOn(m *memory) *live.Hub { return live.New(m, judge, now) }

// next is the best move's command from where a hub's game stands.
func next(t *testing.T, h *live.Hub) practice.Command {
	t.Helper()
	s, err := h.State(ctx, pupil.Club, 1)
	if err != nil {
		t.Fatal(err)
	}
	o, ok, err := judge.Best(ctx, s.Pos)
	if err != nil || !ok {
		t.Fatalf("%s: %v", s.Pos.FEN(), err)
	}
	return practice.Command{Do: practice.Move, ID: fmt.Sprint("n", s.Seq()), Ply: s.Ply(), Move: o.Move.UCI()}
}

func watch(t *testing.T, h *live.Hub, after int) (*live.Watcher, heard) {
	t.Helper()
	w, first, err := h.Join(ctx, pupil, 1, live.About{Title: "Rook", Sub: "Start 1 of 4", Next: "/today", Again: true,
		Pace: 800}, after)
	if err != nil {
		t.Fatal(err)
	}
	return w, read(t, first)
}

// TestUnknownOutcome: the act was written and its answer was lost. The client
// is told that nothing is known; its repeat finds the act, once.
func TestUnknownOutcome(t *testing.T) {
	t.Parallel()
	m := rook()
	h := hubOn(m)
	w, _ := watch(t, h, 0)
	defer h.Leave(w)
	c := next(t, h)
	m.drop = 1
	if _, err := h.Do(ctx, pupil, 1, c); game.KindOf(err) != game.Away {
		t.Fatalf("the answer was lost, but: %v", err)
	}
	frame, err := h.Do(ctx, pupil, 1, c)
	if err != nil || frame == nil || read(t, frame).Act.ID != c.ID {
		t.Fatalf("the repeat: %s, %v", frame, err)
	}
	if got := read(t, <-w.Frames); got.Act.ID != c.ID || got.Act.Seq != 1 {
		t.Errorf("the watcher heard %+v", got.Act)
	}
	if acts := m.log(); len(acts) != 1 {
		t.Errorf("%d acts", len(acts))
	}
}

// TestAway: while the log cannot be reached nothing is acknowledged and nothing
// changes; afterwards the same command goes through.
func TestAway(t *testing.T) {
	t.Parallel()
	m := rook()
	h := hubOn(m)
	c := next(t, h)
	m.cut(true)
	for range 3 {
		_, err := h.Do(ctx, pupil, 1, c)
		if frame := string(live.Refusal(c.ID, err)); game.KindOf(err) != game.Away ||
			!strings.HasPrefix(frame, `{"no":"away","id":"n0","say":"`) || strings.Contains(frame, "cut off") {
			t.Errorf("%v, %s", err, frame)
		}
	}
	if _, _, err := h.Join(ctx, pupil, 1, live.About{}, 0); game.KindOf(err) != game.Away {
		t.Errorf("joining: %v", err)
	}
	m.cut(false)
	if _, err := h.Do(ctx, pupil, 1, c); err != nil {
		t.Fatal(err)
	}
	if acts := m.log(); len(acts) != 1 || acts[0].Client != c.ID {
		t.Errorf("%+v", acts)
	}
}

// TestLostRace: another node's act took the number. The copy is read anew, the
// command judged again: the board has changed, so it is stale; the watchers hear
// of the other act.
func TestLostRace(t *testing.T) {
	t.Parallel()
	m := rook()
	a, b := hubOn(m), hubOn(m)
	w, _ := watch(t, a, 0)
	defer a.Leave(w)
	mine, other := next(t, a), next(t, b)
	mine.ID, other.ID = "mine", "other"
	m.steal = func(act practice.Act) error {
		if act.Client != "mine" {
			return nil
		}
		m.steal = nil
		_, err := b.Do(ctx, pupil, 1, other)
		return err
	}
	_, err := a.Do(ctx, pupil, 1, mine)
	if no, _ := practice.Refusal(err); no != practice.Stale {
		t.Errorf("the loser is told %v", err)
	}
	if got := read(t, <-w.Frames); got.Act.ID != "other" {
		t.Errorf("the watcher heard %+v", got.Act)
	}
	if acts := m.log(); len(acts) != 1 {
		t.Errorf("%d acts", len(acts))
	}
}

// TestHelpBetween: an act that leaves the board alone came between; the command
// is applied again by itself and goes through.
func TestHelpBetween(t *testing.T) {
	t.Parallel()
	m := rook()
	a, b := hubOn(m), hubOn(m)
	c := next(t, a)
	m.steal = func(act practice.Act) error {
		if act.Kind != practice.Move {
			return nil
		}
		m.steal = nil
		_, err := b.Do(ctx, pupil, 1, practice.Command{Do: practice.Helped, ID: "helped"})
		return err
	}
	if _, err := a.Do(ctx, pupil, 1, c); err != nil {
		t.Fatal(err)
	}
	if acts := m.log(); len(acts) != 2 || acts[0].Kind != practice.Helped || acts[1].Client != c.ID || acts[1].Seq != 2 {
		t.Errorf("%+v", acts)
	}
}

// TestNeverWins: a command that loses every race is put off, not tried for ever.
func TestNeverWins(t *testing.T) {
	t.Parallel()
	m := rook()
	h := hubOn(m)
	c := next(t, h)
	lost := &losing{memory: m}
	busy := live.New(lost, judge, now)
	_, err := busy.Do(ctx, pupil, 1, c)
	if game.KindOf(err) != game.Busy || lost.n < 2 || lost.n > 10 {
		t.Errorf("after %d tries: %v", lost.n, err)
	}
	if frame := string(live.Refusal(c.ID, err)); !strings.HasPrefix(frame, `{"no":"busy"`) {
		t.Error(frame)
	}
}

// losing is a log in which another is always first.
type losing struct {
	*memory
	n int
}

func (l *losing) Append(context.Context, game.ClubID, practice.Setup, practice.Act,
	*practice.Outcome) (time.Time, bool, error) {
	l.n++
	return time.Time{}, false, nil
}

// TestManyAtOnce: tabs on three nodes move at once, drop answers and repeat;
// each acknowledged move is in the log once, in an unbroken row of numbers.
func TestManyAtOnce(t *testing.T) {
	t.Parallel()
	m := rook()
	m.setup.Backs = 1000
	var wg sync.WaitGroup
	var mu sync.Mutex
	acknowledged := map[string]bool{}
	for tab := range 6 {
		h := hubOn(m)
		wg.Go(func() {
			for round := range 6 {
				s, err := h.State(ctx, pupil.Club, 1)
				if err != nil || s.End != "" {
					return
				}
				c := practice.Command{Do: practice.Move, ID: fmt.Sprintf("t%d.%d", tab, round), Ply: s.Ply(),
					Move: s.Pos.Moves()[0].UCI()}
				if s.Gone {
					c = practice.Command{Do: practice.Back, ID: c.ID, Ply: s.Ply()}
				}
				for range 2 { // the first answer is dropped, the command comes again
					_, err = h.Do(ctx, pupil, 1, c)
				}
				if err == nil {
					mu.Lock()
					acknowledged[c.ID] = true
					mu.Unlock()
				}
			}
		})
	}
	wg.Wait()
	times := map[string]int{}
	for i, a := range m.log() {
		if a.Seq != i+1 {
			t.Errorf("act %d has number %d", i+1, a.Seq)
		}
		times[a.Client]++
	}
	for id, n := range times {
		if n != 1 {
			t.Errorf("%s is there %d times", id, n)
		}
	}
	for id := range acknowledged {
		if times[id] == 0 {
			t.Errorf("%s was acknowledged and is not there", id)
		}
	}
	if len(acknowledged) == 0 {
		t.Error("nothing was acknowledged")
	}
}

// TestHints: a hint of an act that is known changes nothing, one of a new act
// makes the copy read on, and a refresh finds what hints lost.
func TestHints(t *testing.T) {
	t.Parallel()
	m := rook()
	a, b := hubOn(m), hubOn(m)
	w, _ := watch(t, b, 0)
	defer b.Leave(w)
	if _, err := a.Do(ctx, pupil, 1, next(t, a)); err != nil {
		t.Fatal(err)
	}
	for _, hint := range []struct {
		club game.ClubID
		id   game.GameID
		seq  int
	}{{pupil.Club, 2, 1}, {4, 1, 1}, {pupil.Club, 1, 0}} {
		if err := b.Changed(ctx, hint.club, hint.id, hint.seq); err != nil || len(w.Frames) != 0 {
			t.Errorf("%+v: %v, %d frames", hint, err, len(w.Frames))
		}
	}
	for range 2 {
		if err := b.Changed(ctx, pupil.Club, 1, 1); err != nil {
			t.Fatal(err)
		}
	}
	if got := read(t, <-w.Frames); got.Act.Seq != 1 || len(w.Frames) != 0 {
		t.Errorf("heard %+v and %d more", got.Act, len(w.Frames))
	}
	for range 2 {
		if _, err := a.Do(ctx, pupil, 1, next(t, a)); err != nil {
			t.Fatal(err)
		}
	}
	if err := b.Refresh(ctx); err != nil {
		t.Fatal(err)
	}
	if one, two := read(t, <-w.Frames), read(t, <-w.Frames); one.Act.Seq != 2 || two.Act.Seq != 3 {
		t.Errorf("heard %d and %d", one.Act.Seq, two.Act.Seq)
	}
}

// TestAbandon ends a game that was left, in nobody's name, with its outcome.
func TestAbandon(t *testing.T) {
	t.Parallel()
	m := rook()
	h := hubOn(m)
	if _, err := h.Do(ctx, pupil, 1, next(t, h)); err != nil {
		t.Fatal(err)
	}
	if err := h.Abandon(ctx, pupil.Club, 1); err != nil {
		t.Fatal(err)
	}
	if len(m.ended) != 1 || m.ended[0].End != practice.Abandoned || m.ended[0].Result != practice.NotWon {
		t.Errorf("%+v", m.ended)
	}
	if err := h.Abandon(ctx, pupil.Club, 1); err == nil {
		t.Error("a game was left twice")
	}
}

// TestLeaveTwice: leaving again, or after having been dropped, does nothing.
func TestLeaveTwice(t *testing.T) {
	t.Parallel()
	h := hubOn(rook())
	w, _ := watch(t, h, 0)
	h.Leave(w)
	if _, open := <-w.Frames; open {
		t.Error("the frames go on")
	}
	h.Leave(w)
}

// TestOnlyABadGameIsComplainedOf: of a hint from another node nothing is said where all is
// well; that the log is away is told to the caller; only a game that cannot be read is
// complained of, and is no error.
func TestOnlyABadGameIsComplainedOf(t *testing.T) {
	t.Parallel()
	m := rook()
	h := hubOn(m)
	complaints := 0
	h.Complain(func(game.ClubID, game.GameID, error) { complaints++ })
	w, _ := watch(t, h, 0)
	defer h.Leave(w)
	hint := func(name string, away bool, want int) {
		t.Helper()
		err := h.Changed(ctx, pupil.Club, 1, len(m.acts)+1)
		if (err != nil) != away || away && game.KindOf(err) != game.Away || complaints != want {
			t.Errorf("%s: %v, %d complaints", name, err, complaints)
		}
	}
	hint("well", false, 0)
	m.cut(true)
	hint("away", true, 0)
	m.cut(false)
	m.acts = []practice.Act{{Seq: 1, Kind: practice.Back}}
	hint("bad", false, 1)
}
