package web

import "context"

// FillSearches takes all places in which starts are searched and waited for; free
// gives them back.
func (s *Server) FillSearches() (free func()) {
	for range searchesAtOnce {
		s.searches.working <- struct{}{}
	}
	for range searchesWaiting {
		s.searches.waiting <- struct{}{}
	}
	return func() {
		for range searchesAtOnce {
			<-s.searches.working
		}
		for range searchesWaiting {
			<-s.searches.waiting
		}
	}
}

// Gate is a gate of its own.
type Gate struct{ g *gate }

// NewGate makes one.
func NewGate(working, waiting int) Gate { return Gate{newGate(working, waiting)} }

// Enter waits for a turn.
func (g Gate) Enter(ctx context.Context) (func(), error) { return g.g.enter(ctx) }

// Waiting is how many wait.
func (g Gate) Waiting() int { return len(g.g.waiting) }

// Readings gives what the audit says of each route that is classified; empty where
// it shows an adult nothing of a child.
func Readings() map[string]string {
	out := map[string]string{}
	for name, r := range readings {
		out[name] = r.what
	}
	return out
}
