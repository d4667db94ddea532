package store

import (
	"context"
	"time"

	"drover/game"

	"github.com/jackc/pgx/v5"
)

// ErasureFacts is what was done before an erasure is decided, for whoever decides.
type ErasureFacts struct {
	ID      int64
	Mine    bool       // who decides has asked for it
	Asked   *time.Time // when an export of the child was asked for last; nil: never
	Fetched *time.Time // and when one was fetched last
	Before  int        // how often an erasure of the child was asked for before, and stopped
	Last    *time.Time // when that was asked for last
	Stopper string     // and who stopped it; empty: nobody who is known
}

// ErasureFacts says of each open erasure what was done before, by its number.
func (s *Store) ErasureFacts(ctx context.Context, a game.Actor) (map[int64]ErasureFacts, error) {
	const q = `select e.id, e.asked_by = @reader as mine, x.asked, x.fetched, o.before, o.last, coalesce(o.stopper, '') as stopper
		from erasures e
		cross join lateral (select max(at) filter (where action = 'export asked') as asked,
				max(at) filter (where action = 'export fetched') as fetched
			from audit
			where club_id = e.club_id and subject_id = e.student_id and action in ('export asked', 'export fetched')) x
		cross join lateral (select count(*) as before, max(b.asked_at) as last, (array_agg(p.name order by b.id desc))[1] as stopper
			from erasures b
			left join people p on p.club_id = b.club_id and p.id = b.stopped_by
			where b.club_id = e.club_id and b.student_id = e.student_id and b.stopped_at is not null) o
		where e.club_id = @club and e.stopped_at is null and e.done_at is null`
	out := map[int64]ErasureFacts{}
	err := s.tx(ctx, func(tx pgx.Tx) error {
		if err := mustAppoint(ctx, tx, a); err != nil {
			return err
		}
		rows, err := readAll[ErasureFacts](ctx, tx, q, args{"club": a.Club, "reader": a.Person})
		for _, f := range rows {
			out[f.ID] = f
		}
		return err
	})
	return out, err
}
