package live_test

import (
	"context"
	"fmt"
	"strings"
	"sync/atomic"
	"testing"
	"time"

	"drover/game"
	"drover/game/live"
	"drover/game/practice"
)

// looks are the acts of coaches in a log, in order.
func looks(m *memory) string {
	var kinds []string
	for _, a := range m.log() {
		if a.Kind == practice.Watch || a.Kind == practice.Unseen {
			kinds = append(kinds, fmt.Sprint(a.Kind, " ", a.By))
		}
	}
	return strings.Join(kinds, ", ")
}

// looksOn lets a coach look at the game.
func looksOn(t *testing.T, h *live.Hub, a game.Actor) func(cut bool) {
	t.Helper()
	leave, err := h.LookOn(ctx, a, 1)
	if err != nil {
		t.Fatal(err)
	}
	return leave
}

// TestOneLookForManyPages: however many pages of one coach show a game, it is one look,
// which ends with the last of them; another coach has a look of their own.
func TestOneLookForManyPages(t *testing.T) {
	t.Parallel()
	m := rook()
	h := hubOn(m)
	w, _ := watch(t, h, 0)
	other := onlooker
	other.Person = 10
	one, two, third := looksOn(t, h, onlooker), looksOn(t, h, onlooker), looksOn(t, h, other)
	one(false)
	two(false)
	for range 3 {
		<-w.Frames // two begin, and one ends
	}
	if got := looks(m); got != "watch 9, watch 10, unseen 9" {
		t.Errorf("with the other's page open: %s", got)
	}
	third(false)
	<-w.Frames
	h.Close()
	if got := looks(m); got != "watch 9, watch 10, unseen 9, unseen 10" {
		t.Errorf("when all have gone: %s", got)
	}
}

// TestOnePageOfTwoIsStillALook: the first of two pages that goes ends nothing.
func TestOnePageOfTwoIsStillALook(t *testing.T) {
	t.Parallel()
	m := rook()
	h := hubOn(m)
	one, two := looksOn(t, h, onlooker), looksOn(t, h, onlooker)
	one(false)
	three := looksOn(t, h, onlooker)
	two(false)
	if s, err := h.State(ctx, pupil.Club, 1); err != nil || len(s.Lines) != 1 || looks(m) != "watch 9" {
		t.Errorf("%d watch, %s, %v", len(s.Lines), looks(m), err)
	}
	three(false)
	h.Close()
	if got := looks(m); got != "watch 9, unseen 9" {
		t.Errorf("at the end: %s", got)
	}
}

// TestCutLineHasItsGrace: a line that was cut and comes back in time is the same look; one
// that does not come back ends it.
func TestCutLineHasItsGrace(t *testing.T) {
	t.Parallel()
	m := rook()
	h := hubOn(m)
	h.SetGrace(time.Hour)
	looksOn(t, h, onlooker)(true)
	back := looksOn(t, h, onlooker)
	if got := looks(m); got != "watch 9" {
		t.Errorf("after coming back: %s", got)
	}
	w, _ := watch(t, h, 0)
	h.SetGrace(time.Millisecond)
	back(true)
	<-w.Frames
	if got := looks(m); got != "watch 9, unseen 9" {
		t.Errorf("after the grace: %s", got)
	}
	again := looksOn(t, h, onlooker)
	again(false)
	h.Close()
	if got := looks(m); got != "watch 9, unseen 9, watch 9, unseen 9" {
		t.Errorf("a new look: %s", got)
	}
}

// TestLateGraceEndsNothing: a grace that runs out while its page is coming back, or when
// its look has long ended, ends no look.
func TestLateGraceEndsNothing(t *testing.T) {
	t.Parallel()
	back, ended := rook(), rook()
	h := hubOn(back)
	looksOn(t, h, onlooker)
	h.GraceOver(onlooker, 1)()
	h.Close() // waits for what is being written, and leaves an open page to its node
	if got := looks(back); got != "watch 9" {
		t.Errorf("with a page open: %s", got)
	}
	h = hubOn(ended)
	first := looksOn(t, h, onlooker)
	late := h.GraceOver(onlooker, 1)
	first(false)
	looksOn(t, h, onlooker)
	late()
	looksOn(t, h, onlooker) // a second page of the look that goes on
	h.Close()
	if got := looks(ended); strings.Count(got, "watch 9") != 2 || strings.Count(got, "unseen 9") != 1 {
		t.Errorf("with a new look: %s", got)
	}
}

// TestLookAwayIsTriedAgain: while the log cannot be reached the end of a look is tried again
// after a pause that doubles, and is written when the log is back.
func TestLookAwayIsTriedAgain(t *testing.T) {
	t.Parallel()
	m := rook()
	m.asked = make(chan struct{}, 100)
	h := hubOn(m)
	leave := looksOn(t, h, onlooker)
	w, _ := watch(t, h, 0)
	m.cut(true)
	began := time.Now()
	leave(false)
	for range 3 { // the second, third and fourth try
		<-m.asked
	}
	if passed := time.Since(began); passed < 700*time.Millisecond {
		t.Errorf("four tries in %s", passed)
	}
	m.cut(false)
	<-w.Frames
	h.Close()
	if got := looks(m); got != "watch 9, unseen 9" {
		t.Errorf("%s", got)
	}
}

// lost is a log whose game is removed while somebody watches.
type lost struct {
	*memory
	gone atomic.Bool
}

// Append implements [live.Log].
func (l *lost) Append(c context.Context, k game.ClubID, s practice.Setup, a practice.Act,
	o *practice.Outcome) (time.Time, bool, error) {
	if l.gone.Load() {
		return time.Time{}, false, game.Fail(game.Missing, "There is no such game.")
	}
	return l.memory.Append(c, k, s, a, o)
}

// TestLookAwayEndsWithItsGame: the end of a look at a game that is there no more is given
// up, and not tried for ever.
func TestLookAwayEndsWithItsGame(t *testing.T) {
	t.Parallel()
	m := &lost{memory: rook()}
	h := live.New(m, judge, now)
	leave := looksOn(t, h, onlooker)
	m.gone.Store(true)
	leave(false)
	h.Settled()
	if got := looks(m.memory); got != "watch 9" {
		t.Errorf("%s", got)
	}
}

// TestStoppedNodeEndsItsLooks: a node that stops while a cut line may still come back ends
// the look.
func TestStoppedNodeEndsItsLooks(t *testing.T) {
	t.Parallel()
	m := rook()
	h := hubOn(m)
	h.SetGrace(time.Hour)
	looksOn(t, h, onlooker)(true)
	h.Close()
	h.Close() // stopping twice is as good
	if got := looks(m); got != "watch 9, unseen 9" {
		t.Errorf("%s", got)
	}
}

// TestWhoMayLookOn: a game that is over may be read without a note; one that was watched
// very often may not before it is; nobody but a coach watches, and nobody at a game that
// cannot be written to.
func TestWhoMayLookOn(t *testing.T) {
	t.Parallel()
	over, often, away := rook(), rook(), rook()
	if _, err := hubOn(over).Do(ctx, pupil, 1, practice.Command{Do: practice.Resign, ID: "r"}); err != nil {
		t.Fatal(err)
	}
	for i := range 2000 {
		l := practice.Line{ID: fmt.Sprint(i)}
		often.acts = append(often.acts, practice.Act{Seq: 2*i + 1, Kind: practice.Watch, By: 9, Client: l.Begins()},
			practice.Act{Seq: 2*i + 2, Kind: practice.Unseen, By: 9, Client: l.Ends()})
	}
	away.cut(true)
	for name, c := range map[string]struct {
		m    *memory
		who  game.Actor
		kind game.Kind
		ok   bool
	}{
		"over": {over, onlooker, game.Internal, true}, "very often": {often, onlooker, game.Gone, false},
		"a child": {rook(), pupil, game.Denied, false}, "away": {away, onlooker, game.Away, false},
	} {
		h, before := hubOn(c.m), len(c.m.log())
		leave, err := h.LookOn(ctx, c.who, 1)
		if (err == nil) != c.ok || (leave != nil) != c.ok || !c.ok && game.KindOf(err) != c.kind {
			t.Errorf("%s: %v", name, err)
		}
		if leave != nil {
			leave(false)
		}
		h.Close()
		if got := len(c.m.log()); got != before {
			t.Errorf("%s: %d acts were written", name, got-before)
		}
	}
}
