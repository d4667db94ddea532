package store

import (
	"context"

	"drover/game"
	"drover/game/progress"
)

// HoldsView reads how the draws of the counted hold drills went that are asked for.
func (s *Store) HoldsView(ctx context.Context, a game.Actor, ask StageAsk) ([]progress.HoldsPlayed, error) {
	const q = `select
			g.student_id as student,
			g.ending,
			array_agg(g.result = 'clean' order by g.ended_at, g.id) as alone,
			count(*) filter (where g.result in ('clean', 'helped')) as held
		from games g
		join people p on p.club_id = g.club_id and p.id = g.student_id and p.archived_at is null
		where g.counts and g.hold and g."end" <> 'left' and ` + inTerm + heldToGroup + `
		group by 1, 2
		order by 1, 2`
	out, err := readAll[progress.HoldsPlayed](ctx, s.pool, q,
		some(ask.with(a, s.now()), "club", "reader", "group", "since", "until", "drill"))
	return out, translate(err)
}
