package site

import (
	"sync"
	"time"
)

// said remembers what was logged, so that a failure that goes on does not fill the
// log.
type said struct {
	mu sync.Mutex
	at map[saidKey]time.Time
}

type saidKey struct {
	what string
	a, b int64
}

// often is how long the same thing is not said again, and mostSaid how many things
// are remembered.
const (
	often    = time.Minute
	mostSaid = 10_000
)

// again says whether a thing may be said now, and notes that it is.
func (s *said) again(k saidKey, pause time.Duration, now time.Time) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	if at, ok := s.at[k]; ok && (pause == 0 || now.Sub(at) < pause) {
		return false
	}
	if s.at == nil || len(s.at) >= mostSaid {
		s.at = map[saidKey]time.Time{}
	}
	s.at[k] = now
	return true
}

// SayOnce does something only the first time that it is about this thing.
func (s *Site) SayOnce(what string, a, b int64, do func()) {
	if s.said.again(saidKey{what, a, b}, 0, time.Now()) {
		do()
	}
}

// Seldom logs a warning, the same one at most once a minute.
func (s *Site) Seldom(what string, args ...any) {
	if s.said.again(saidKey{what: what}, often, time.Now()) {
		s.Log.Warn(what, args...)
	}
}
