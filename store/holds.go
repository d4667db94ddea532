package store

import (
	"context"

	"drover/game"
	"drover/game/progress"
)

// heldColumns are how the draws of a student went in one ending.
const heldColumns = `
			g.student_id as student,
			g.ending,
			array_agg(g.result = 'clean' order by g.ended_at, g.id) as alone,
			count(*) filter (where g.result in ('clean', 'helped')) as held`

// HoldsView reads how the draws of the counted hold drills went that are asked for.
func (s *Store) HoldsView(ctx context.Context, a game.Actor, ask StageAsk) ([]progress.HoldsPlayed, error) {
	const q = `select ` + heldColumns + `
		from games g
		join people p on p.club_id = g.club_id and p.id = g.student_id and p.archived_at is null
		where g.counts and g.hold and g."end" <> 'left' and ` + inTerm + heldToGroup + `
		group by 1, 2
		order by 1, 2`
	out, err := readAll[progress.HoldsPlayed](ctx, s.pool, q,
		some(ask.with(a, s.now()), "club", "reader", "group", "since", "until", "drill"))
	return out, translate(err)
}

// heldRow is a student's draws of one ending, which say themselves whose they are.
type heldRow struct{ progress.HoldsPlayed }

func (h heldRow) of() game.PersonID { return h.Student }

// holds reads how the draws went that the students have defended, in all their games that count.
func (r *reading) holds() error {
	const q = `select ` + heldColumns + `
		from games g
		where g.club_id = @club and g.student_id = any(@only) and g.ended_at is not null and g.counts and g.hold
			and g."end" <> 'left'
		group by 1, 2
		order by 1, 2`
	return each(r, q, nil, func(of *progress.Record, h heldRow) { of.Holds = append(of.Holds, h.HoldsPlayed) })
}
