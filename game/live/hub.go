// Package live runs games that people watch. It takes commands, writes acts to
// the log, and passes them on to everybody who watches. It knows no HTTP and no
// SQL. A game here is a copy of its log behind a mutex of its own; the log
// alone decides what happened.
package live

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"time"

	"drover/game"
	"drover/game/ending"
	"drover/game/practice"
)

// Log is where acts are kept.
type Log interface {
	// Setup reads what a game is played under.
	Setup(ctx context.Context, c game.ClubID, id game.GameID) (practice.Setup, error)
	// Load reads the acts of a game after a number, in order.
	Load(ctx context.Context, c game.ClubID, id game.GameID, after int) ([]practice.Act, error)
	// Append writes an act and what it ended. won is false if another act has
	// that number; after an error of kind Away the outcome is unknown.
	Append(ctx context.Context, c game.ClubID, s practice.Setup, a practice.Act, o *practice.Outcome) (at time.Time,
		won bool, err error)
}

// Hub holds the games of this node.
type Hub struct {
	log   Log
	judge *ending.Judge
	now   game.Clock

	mu    sync.Mutex // taken for a moment, also while a table is locked; never the other way round
	games map[key]*table

	onlookers onlookers
	complain  func(c game.ClubID, id game.GameID, err error) // of a game that cannot be read
}

type key struct {
	club game.ClubID
	id   game.GameID
}

// table is one game with those who look at it.
type table struct {
	key
	mu       sync.Mutex
	loaded   bool
	state    practice.State
	sent     int         // the last act that the watchers have
	over     atomic.Bool // the game has ended; read without the lock
	watchers map[*Watcher]struct{}
}

// New makes a hub over a log.
func New(log Log, judge *ending.Judge, now game.Clock) *Hub {
	return &Hub{log: log, judge: judge, now: now, games: map[key]*table{}, onlookers: newOnlookers(),
		complain: func(game.ClubID, game.GameID, error) {}}
}

// Complain sets who is told of a game that cannot be read; call it before the hub
// hears of acts from elsewhere.
func (h *Hub) Complain(to func(c game.ClubID, id game.GameID, err error)) { h.complain = to }

// QueueLength is how many frames may wait for a slow reader before it is
// dropped; it comes back and asks for what it missed.
const QueueLength = 64

// Watcher receives the frames of one game. Frames is closed when the watcher
// is dropped for being slow.
type Watcher struct {
	Frames chan []byte
	table  *table
	gone   bool
}

// table finds or makes the node's copy of a game, locked. A copy that was let
// go of while we waited for its lock is not taken: nobody would tell it of acts.
func (h *Hub) table(k key) *table {
	for {
		h.mu.Lock()
		t, ok := h.games[k]
		if !ok {
			t = &table{key: k, watchers: map[*Watcher]struct{}{}}
			h.games[k] = t
		}
		h.mu.Unlock()
		t.mu.Lock()
		h.mu.Lock()
		current := h.games[k] == t
		h.mu.Unlock()
		if current {
			return t
		}
		t.mu.Unlock()
	}
}

// release unlocks a game, and lets go of it where nobody looks at it.
func (h *Hub) release(t *table) {
	if len(t.watchers) == 0 {
		h.mu.Lock()
		if h.games[t.key] == t {
			delete(h.games, t.key)
		}
		h.mu.Unlock()
	}
	t.mu.Unlock()
}

// load folds the log where the copy is not current, and passes on what the
// watchers do not have yet: another node may have been first.
func (h *Hub) load(ctx context.Context, t *table) error {
	if t.loaded {
		return nil
	}
	setup, err := h.log.Setup(ctx, t.club, t.id)
	if err != nil {
		return err
	}
	acts, err := h.log.Load(ctx, t.club, t.id, 0)
	if err != nil {
		return err
	}
	if t.state, err = practice.Folded(setup, acts); err != nil {
		return fmt.Errorf("game %d: %w", t.id, err)
	}
	t.loaded = true
	return h.publish(ctx, t)
}

// State gives the state of a game as the log has it.
func (h *Hub) State(ctx context.Context, c game.ClubID, id game.GameID) (practice.State, error) {
	t := h.table(key{c, id})
	defer h.release(t)
	if err := h.load(ctx, t); err != nil {
		return practice.State{}, err
	}
	return t.state, nil
}

// Do carries out a command. The act goes to everybody who watches. A command
// that was carried out before and came again gets the frame of then returned;
// otherwise the frame is nil. A refusal changes nothing.
func (h *Hub) Do(ctx context.Context, a game.Actor, id game.GameID, c practice.Command) (frame []byte, err error) {
	c.By, c.At, c.Coach, c.Who = a.Person, h.now(), a.Role == game.Coach, a.Name
	return h.do(ctx, key{a.Club, id}, c)
}

// attempts is how often an act that lost its number to another is judged anew.
const attempts = 4

// do carries out a command on the node's copy of a game. Where practice rests, the game ends.
func (h *Hub) do(ctx context.Context, k key, c practice.Command) ([]byte, error) {
	t := h.table(k)
	defer h.release(t)
	frame, err := h.carryOut(ctx, t, c)
	if no, ok := practice.Refusal(err); ok && no == practice.Resting {
		err = errors.Join(err, h.stop(ctx, t))
	}
	return frame, err
}

func (h *Hub) carryOut(ctx context.Context, t *table, c practice.Command) ([]byte, error) {
	for range attempts {
		if err := h.load(ctx, t); err != nil {
			return nil, err
		}
		if c.By == t.state.Student { // a coach who tries a drill out
			c.Coach = false
		}
		if old, ok := t.state.Find(c.ID); ok {
			return h.repeat(ctx, t, old, c.ID)
		}
		if old, ok := t.state.HelpShown(ending.Help(c.Step)); ok && c.Do == practice.Help && c.Ply == t.state.Ply() &&
			c.By == t.state.Student {
			return h.repeat(ctx, t, old, c.ID) // shown already: looking again adds nothing
		}
		won, err := h.attempt(ctx, t, c)
		if err != nil {
			return nil, err
		}
		if won {
			return nil, h.publish(ctx, t)
		}
		t.loaded = false
	}
	return nil, game.Fail(game.Busy, "Two pages moved at the same time. Your move will be sent again in a moment.")
}

// attempt judges a command against the copy at hand and appends the act.
func (h *Hub) attempt(ctx context.Context, t *table, c practice.Command) (bool, error) {
	next, err := practice.Apply(ctx, h.judge, t.state, c)
	if err != nil {
		return false, err
	}
	var outcome *practice.Outcome
	if next.End != "" {
		o, err := practice.Summary(ctx, h.judge, next)
		if err != nil {
			return false, fmt.Errorf("game %d: summary: %w", t.id, err)
		}
		outcome = &o
	}
	at, won, err := h.log.Append(ctx, t.club, t.state.Setup, next.Last(), outcome)
	if err != nil {
		t.loaded = false // the outcome is unknown: the log will tell
		return false, err
	}
	if !won {
		return false, nil
	}
	next.Stamp(at)
	t.state = next
	return true, nil
}

// Over says whether the game that is watched has ended.
func (w *Watcher) Over() bool { return w.table.over.Load() }

// publish sends the acts that the watchers do not have yet.
func (h *Hub) publish(ctx context.Context, t *table) error {
	t.over.Store(t.state.End != "")
	after := t.sent
	t.sent = t.state.Seq()
	if len(t.watchers) == 0 || after >= t.sent {
		return nil
	}
	frames, err := h.since(ctx, t.state, after)
	if err != nil {
		t.sent = after
		return err
	}
	for _, f := range frames {
		for w := range t.watchers {
			w.send(f)
		}
	}
	return nil
}

// repeat answers a command that was carried out before with the frame of then,
// under the id of now.
func (h *Hub) repeat(ctx context.Context, t *table, old practice.Act, id string) ([]byte, error) {
	acts, err := h.actFrames(ctx, t.state, old.Seq-1)
	if err != nil || len(acts) == 0 {
		return nil, err
	}
	now, err := h.nowFrame(ctx, t.state)
	if err != nil {
		return nil, err
	}
	acts[0].ID = id
	return json.Marshal(reply{Act: &acts[0], Now: now})
}

// send queues a frame and never waits: a full queue drops the watcher.
func (w *Watcher) send(frame []byte) {
	if w.gone {
		return
	}
	select {
	case w.Frames <- frame:
	default:
		w.drop()
	}
}

func (w *Watcher) drop() {
	w.gone = true
	delete(w.table.watchers, w)
	close(w.Frames)
}

// Join adds a watcher and returns the first frame: the game, or the acts after
// a number that the page has already.
func (h *Hub) Join(ctx context.Context, a game.Actor, id game.GameID, about About,
	after int) (*Watcher, []byte, error) {
	t := h.table(key{a.Club, id})
	defer h.release(t)
	if err := h.load(ctx, t); err != nil {
		return nil, nil, err
	}
	first, err := h.first(ctx, t.state, about, after)
	if err != nil {
		return nil, nil, err
	}
	w := &Watcher{Frames: make(chan []byte, QueueLength), table: t}
	t.watchers[w] = struct{}{}
	return w, first, nil
}

// Leave removes a watcher.
func (h *Hub) Leave(w *Watcher) {
	w.table.mu.Lock()
	if !w.gone {
		w.drop()
	}
	h.release(w.table)
}

// Changed is a hint from another node that a game has an act of that number:
// a copy here that is behind reads on. Only a database that is away is an error;
// a game that cannot be read is complained of, and costs the others nothing.
func (h *Hub) Changed(ctx context.Context, c game.ClubID, id game.GameID, seq int) error {
	err := h.changed(ctx, key{c, id}, seq)
	if err == nil || game.KindOf(err) == game.Away {
		return err
	}
	h.complain(c, id, err)
	return nil
}

func (h *Hub) changed(ctx context.Context, k key, seq int) error {
	h.mu.Lock()
	_, held := h.games[k]
	h.mu.Unlock()
	if !held {
		return nil
	}
	t := h.table(k)
	defer h.release(t)
	switch {
	case !t.loaded:
		return h.load(ctx, t)
	case t.state.Seq() >= seq:
		return nil
	}
	return h.readOn(ctx, t)
}

// Refresh reads on in every game that somebody watches: hints may have been
// lost.
func (h *Hub) Refresh(ctx context.Context) error {
	h.mu.Lock()
	var keys []key
	for k := range h.games {
		keys = append(keys, k)
	}
	h.mu.Unlock()
	for _, k := range keys {
		if err := h.Changed(ctx, k.club, k.id, 1<<30); err != nil {
			return err
		}
	}
	return nil
}

// readOn folds the acts that came from elsewhere and passes them on.
func (h *Hub) readOn(ctx context.Context, t *table) error {
	acts, err := h.log.Load(ctx, t.club, t.id, t.state.Seq())
	if err != nil {
		return err
	}
	for _, a := range acts {
		if t.state, err = t.state.Fold(a); err != nil {
			t.loaded = false
			return fmt.Errorf("game %d, act %d: %w", t.id, a.Seq, err)
		}
	}
	return h.publish(ctx, t)
}

// Abandon ends a game that was left.
func (h *Hub) Abandon(ctx context.Context, c game.ClubID, id game.GameID) error {
	_, err := h.do(ctx, key{c, id}, practice.Command{Do: practice.Left, At: h.now()})
	return err
}

// Stop ends a game whose student's practice rests.
func (h *Hub) Stop(ctx context.Context, c game.ClubID, id game.GameID) error {
	t := h.table(key{c, id})
	defer h.release(t)
	return h.stop(ctx, t)
}

// stop is Stop of a game whose copy is locked; one that has ended meanwhile is as good.
func (h *Hub) stop(ctx context.Context, t *table) error {
	_, err := h.carryOut(ctx, t, practice.Command{Do: practice.Stop, At: h.now()})
	if no, ok := practice.Refusal(err); ok && no == practice.Over {
		return nil
	}
	return err
}
