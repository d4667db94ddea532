package live

import "drover/game"

// GraceOver is what the timer of a coach's look does, whenever it comes to it.
func (h *Hub) GraceOver(a game.Actor, id game.GameID) func() {
	k := onlookKey{key{a.Club, id}, a.Person}
	h.onlookers.mu.Lock()
	defer h.onlookers.mu.Unlock()
	l := h.onlookers.open[k]
	return func() { h.onlookers.over(h, k, l, a) }
}

// Settled waits until the ends of looks are written, or given up.
func (h *Hub) Settled() { h.onlookers.busy.Wait() }
