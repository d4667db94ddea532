package live

import (
	"context"
	"crypto/rand"
	"fmt"
	"sync"
	"time"

	"drover/game"
	"drover/game/practice"
)

// Grace is how long a coach's line that was cut may take to come back before the
// student is told that nobody watches any more.
const Grace = 30 * time.Second

// onlookers are the coaches who watch over this node: one look for each coach and
// game, however many pages show it.
type onlookers struct {
	mu    sync.Mutex
	open  map[onlookKey]*onlook
	grace time.Duration
	ended chan struct{}  // closed when the node stops
	busy  sync.WaitGroup // ends of looks that are being written
}

type onlookKey struct {
	key
	person game.PersonID
}

// onlook is one coach who watches one game.
type onlook struct {
	line  practice.Line
	mu    sync.Mutex // held while the act that begins it is written
	begun bool
	pages int         // under onlookers.mu
	timer *time.Timer // of the grace
}

func newOnlookers() onlookers {
	return onlookers{open: map[onlookKey]*onlook{}, grace: Grace, ended: make(chan struct{})}
}

// SetGrace sets another time of grace, for tests.
func (h *Hub) SetGrace(d time.Duration) { h.onlookers.grace = d }

// LookOn notes in the log that a coach watches, before any frame of the game goes
// out: where that cannot be written there is nothing to see. A game that has ended
// may be read without. leave is called once when the page has gone; cut says that
// its line broke, and may come back soon.
func (h *Hub) LookOn(ctx context.Context, a game.Actor, id game.GameID) (leave func(cut bool), err error) {
	k := onlookKey{key{a.Club, id}, a.Person}
	l := h.onlookers.enter(k)
	leave = func(cut bool) { h.onlookers.leave(h, k, l, a, cut) }
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.begun {
		return leave, nil
	}
	_, err = h.Do(ctx, a, id, practice.Command{Do: practice.Watch, ID: l.line.Begins()})
	if no, refused := practice.Refusal(err); refused && no == practice.Over {
		state, err := h.State(ctx, a.Club, id)
		if err != nil || state.End == "" {
			leave(false)
			return nil, game.Wrap(game.Gone, "This game has been watched very often. You can read it when it has ended.", err)
		}
		return leave, nil
	}
	if err != nil {
		leave(false)
		return nil, err
	}
	l.begun = true
	return leave, nil
}

// enter finds or makes a look, and counts one page more.
func (s *onlookers) enter(k onlookKey) *onlook {
	s.mu.Lock()
	defer s.mu.Unlock()
	l, ok := s.open[k]
	if !ok {
		l = &onlook{line: practice.Line{ID: rand.Text()[:16]}}
		s.open[k] = l
	}
	if l.timer != nil {
		l.timer.Stop()
		l.timer = nil
	}
	l.pages++
	return l
}

// leave counts a page less; the last one ends the look, at once or after the grace.
func (s *onlookers) leave(h *Hub, k onlookKey, l *onlook, a game.Actor, cut bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if l.pages--; l.pages > 0 {
		return
	}
	if cut {
		l.timer = time.AfterFunc(s.grace, func() { s.over(h, k, l, a) })
		return
	}
	s.end(h, k, l, a)
}

// over ends a look whose line has not come back.
func (s *onlookers) over(h *Hub, k onlookKey, l *onlook, a game.Actor) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if l.pages == 0 && s.open[k] == l {
		s.end(h, k, l, a)
	}
}

// end takes a look out and has its last act written; the lock is held.
func (s *onlookers) end(h *Hub, k onlookKey, l *onlook, a game.Actor) {
	delete(s.open, k)
	s.busy.Add(1)
	go func() {
		defer s.busy.Done()
		defer func() {
			if p := recover(); p != nil {
				h.complain(k.club, k.id, fmt.Errorf("panic: %v", p))
			}
		}()
		l.mu.Lock() // the act that begins it may still be on its way
		begun := l.begun
		l.mu.Unlock()
		if begun {
			h.lookAway(k, l.line, a)
		}
	}()
}

// lookAway writes that a coach no longer watches, again and again until it is
// written or the node stops: then another node finds this one silent, and writes it.
func (h *Hub) lookAway(k onlookKey, l practice.Line, a game.Actor) {
	for pause := 100 * time.Millisecond; ; pause = min(2*pause, 5*time.Second) {
		ctx, cancel := context.WithTimeout(context.Background(), 3*time.Second)
		err := h.LookAway(ctx, k.club, k.id, l, a.Person)
		cancel()
		if _, refused := practice.Refusal(err); err == nil || refused || game.KindOf(err) == game.Missing {
			return
		}
		select {
		case <-h.onlookers.ended:
			return
		case <-time.After(pause):
		}
	}
}

// LookAway writes the act that ends a line, for whoever began it.
func (h *Hub) LookAway(ctx context.Context, c game.ClubID, id game.GameID, l practice.Line, by game.PersonID) error {
	_, err := h.do(ctx, key{c, id}, practice.Command{Do: practice.Unseen, ID: l.Ends(), By: by, Coach: true, At: h.now()})
	return err
}

// Close ends all looks of this node and waits until that is written, or cannot be.
func (h *Hub) Close() {
	s := &h.onlookers
	s.mu.Lock()
	for k, l := range s.open {
		if l.timer != nil {
			l.timer.Stop()
		}
		if l.pages == 0 {
			s.end(h, k, l, game.Actor{Club: k.club, Person: k.person, Role: game.Coach})
		}
	}
	select {
	case <-s.ended:
	default:
		close(s.ended)
	}
	s.mu.Unlock()
	s.busy.Wait()
}
