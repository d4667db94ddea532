package store

import (
	"context"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

// Trial begins a game in which a coach tries a drill out, at its first start; the one
// under way is given again. It is the coach's own alone: it counts for nothing, and no
// list has it.
func (s *Store) Trial(ctx context.Context, a game.Actor, d club.Drill) (game.GameID, error) {
	var id game.GameID
	err := s.tx(ctx, func(tx pgx.Tx) error {
		const lock = `select id from people
			where club_id = $1 and id = $2 and role = 'coach' and archived_at is null
			for update`
		var coach game.PersonID
		if err := tx.QueryRow(ctx, lock, a.Club, a.Person).Scan(&coach); err != nil {
			return err
		}
		var try int
		const open = `select coalesce(max(id) filter (where ended_at is null), 0), coalesce(max(try), 0)
			from games
			where club_id = $1 and student_id = $2 and drill_id = $3 and kind = 'trial'`
		if err := tx.QueryRow(ctx, open, a.Club, a.Person, d.ID).Scan(&id, &try); err != nil || id != 0 {
			return err
		}
		var err error
		id, err = insertOf(ctx, tx, a, OfTrial, club.Assignment{Drill: d}, 0, try+1, s.now())
		return err
	})
	return id, translate(err)
}
