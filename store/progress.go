package store

import (
	"context"

	"drover/game"
	"drover/game/progress"

	"github.com/jackc/pgx/v5"
)

// Failures counts, for each ending, the games in all (stage empty) and those
// not won by the stage in which the win went, over the same weeks as StageView.
func (s *Store) Failures(ctx context.Context, c game.ClubID) ([]progress.Failure, error) {
	const q = `select ending, coalesce(failed_stage, ''), count(*) from games where club_id = $1 and ended_at > $2
		and counts and not hold and "end" <> 'left' and failed_stage is not null group by 1, 2
		union all select ending, '', count(*) from games where club_id = $1 and ended_at > $2 and counts and not hold
			and "end" <> 'left' group by 1`
	rows, err := s.pool.Query(ctx, q, c, s.now().Add(-progress.Window))
	if err != nil {
		return nil, translate(err)
	}
	out, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (progress.Failure, error) {
		var f progress.Failure
		err := row.Scan(&f.Ending, &f.Stage, &f.Games)
		return f, err
	})
	return out, translate(err)
}
