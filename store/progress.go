package store

import (
	"context"

	"drover/game"
	"drover/game/progress"
)

// Failures counts, for each ending, the games in all (stage empty) and those
// not won by the stage in which the win went, over the same weeks as StageView.
func (s *Store) Failures(ctx context.Context, a game.Actor, group game.GroupID) ([]progress.Failure, error) {
	const q = `select ending, coalesce(failed_stage, '') as stage, count(*) as games
		from games g
		join people p on p.club_id = g.club_id and p.id = g.student_id
		where g.club_id = @club and g.ended_at > @since and g.counts and not g.hold and g."end" <> 'left'` + heldToGroup + `
		group by grouping sets ((ending), (ending, failed_stage))
		having grouping(failed_stage) = 1 or failed_stage is not null`
	out, err := readAll[progress.Failure](ctx, s.pool, q, args{
		"club": a.Club, "reader": a.Person, "group": group, "since": s.now().Add(-progress.Window),
	})
	return out, translate(err)
}
