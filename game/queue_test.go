package game_test

import (
	"context"
	"errors"
	"runtime"
	"sync"
	"sync/atomic"
	"testing"

	"drover/game"
)

// TestQueueWaitsItsTurn: no more than two work at once, those that wait come
// next, one too many is refused at once, and who stops waiting makes room.
func TestQueueWaitsItsTurn(t *testing.T) {
	t.Parallel()
	g := game.NewQueue(2, 3, "Come back.")
	var working, most atomic.Int64
	var wg sync.WaitGroup
	hold := make(chan struct{})
	for range 5 {
		wg.Add(1)
		go func() {
			defer wg.Done()
			leave, err := g.Enter(t.Context())
			if err != nil {
				t.Error(err)
				return
			}
			defer leave()
			n := working.Add(1)
			for m := most.Load(); n > m && !most.CompareAndSwap(m, n); m = most.Load() {
				continue
			}
			<-hold
			working.Add(-1)
		}()
	}
	for g.Waiting() < 3 || working.Load() < 2 {
		runtime.Gosched()
	}
	if _, err := g.Enter(t.Context()); game.KindOf(err) != game.Busy || game.Saying(err) != "Come back." {
		t.Errorf("one too many: %v", err)
	}
	close(hold)
	wg.Wait()
	if most.Load() > 2 {
		t.Errorf("%d at once", most.Load())
	}
	a, _ := g.Enter(t.Context())
	b, _ := g.Enter(t.Context())
	gone, cancel := context.WithCancel(t.Context())
	cancel()
	if _, err := g.Enter(gone); !errors.Is(err, context.Canceled) || g.Waiting() != 0 {
		t.Errorf("whose request is over: %v, %d wait", err, g.Waiting())
	}
	a()
	b()
}
