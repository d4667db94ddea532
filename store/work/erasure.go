package work

import (
	"context"
	"time"

	"drover/store"

	"github.com/riverqueue/river"
)

// eraseEvery is how long whoever is due may have to wait, and a little more.
const eraseEvery = time.Minute

// erasureJob asks for whoever is due to be erased. It names nobody.
type erasureJob struct{}

// Kind names the job in the queue.
func (erasureJob) Kind() string { return "erasure" }

type erasure struct {
	river.WorkerDefaults[erasureJob]
	store *store.Store
}

// Work erases one after the other. Whom another node erases at the same instant is passed over.
func (w *erasure) Work(ctx context.Context, _ *river.Job[erasureJob]) error {
	return bitByBit(ctx, w.store.EraseDue)
}
