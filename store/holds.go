package store

import (
	"context"

	"drover/game"
	"drover/game/progress"
)

// HoldsView reads how the draws of all counted hold drills went, over the same
// weeks as StageView.
func (s *Store) HoldsView(ctx context.Context, a game.Actor, group game.GroupID) ([]progress.HoldsPlayed, error) {
	const q = `select
			g.student_id as student,
			g.ending,
			array_agg(g.result = 'clean' order by g.ended_at, g.id) as alone,
			count(*) filter (where g.result in ('clean', 'helped')) as held
		from games g
		join people p on p.club_id = g.club_id and p.id = g.student_id and p.archived_at is null
		where g.club_id = @club and g.ended_at > @since and g.counts and g.hold and g."end" <> 'left'` + heldToGroup + `
		group by 1, 2
		order by 1, 2`
	out, err := readAll[progress.HoldsPlayed](ctx, s.pool, q, args{
		"club": a.Club, "reader": a.Person, "group": group, "since": s.now().Add(-progress.Window),
	})
	return out, translate(err)
}
