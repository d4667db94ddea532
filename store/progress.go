package store

import (
	"context"

	"drover/game"
	"drover/game/progress"
)

// Failures counts, for each ending, the games in all (stage empty) and those
// not won by the stage in which the win went, over the same weeks as StageView.
func (s *Store) Failures(ctx context.Context, c game.ClubID) ([]progress.Failure, error) {
	const q = `select ending, coalesce(failed_stage, '') as stage, count(*) as games
		from games
		where club_id = $1 and ended_at > $2 and counts and not hold and "end" <> 'left'
		group by grouping sets ((ending), (ending, failed_stage))
		having grouping(failed_stage) = 1 or failed_stage is not null`
	out, err := readAll[progress.Failure](ctx, s.pool, q, c, s.now().Add(-progress.Window))
	return out, translate(err)
}
