package store

import (
	"context"

	"drover/game"
	"drover/game/progress"

	"github.com/jackc/pgx/v5"
)

// HoldsView reads how the draws of all counted hold drills went, over the same
// weeks as StageView.
func (s *Store) HoldsView(ctx context.Context, c game.ClubID) ([]progress.HoldsPlayed, error) {
	const q = `select g.student_id, g.ending, array_agg(g.result = 'clean' order by g.ended_at, g.id),
		count(*) filter (where g.result in ('clean', 'helped'))::int
		from games g join people p on p.club_id = g.club_id and p.id = g.student_id and p.archived_at is null
		where g.club_id = $1 and g.ended_at > $2 and g.counts and g.hold and g."end" <> 'left' group by 1, 2 order by 1, 2`
	rows, err := s.pool.Query(ctx, q, c, s.now().Add(-progress.Window))
	if err != nil {
		return nil, translate(err)
	}
	out, err := pgx.CollectRows(rows, pgx.RowToStructByPos[progress.HoldsPlayed])
	return out, translate(err)
}
