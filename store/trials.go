package store

import (
	"context"
	"math/rand/v2"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

// Trial begins a game in which a coach tries a drill out, at its first start; the one
// under way is given again. It is the coach's own alone: it counts for nothing, and no
// list has it. A drill that is not kept has the number of its draft in place of an id.
func (s *Store) Trial(ctx context.Context, a game.Actor, d club.Drill, draft int64) (game.GameID, error) {
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
		if id, err = insertOf(ctx, tx, a, OfTrial, club.Assignment{Drill: d}, 0, try+1, s.now()); err != nil || draft == 0 {
			return err
		}
		_, err = tx.Exec(ctx, `update games set draft = $3 where club_id = $1 and id = $2`, a.Club, id, draft)
		return err
	})
	return id, translate(err)
}

// TrialAgain begins a trial anew, by the rules of one that has ended.
func (s *Store) TrialAgain(ctx context.Context, a game.Actor, of game.GameID) (game.GameID, error) {
	const same = `club_id, student_id, drill_id, draft, kind, counts, start_no, side, ending, start_fen, mode, stage_from,
		target, defender, backs, allowance, budget, helps, hold, clock, increment`
	const q = `insert into games (` + same + `, try, seed, started_at)
		select ` + same + `, try + 1, @seed, @now
		from games
		where club_id = @club and id = @game and student_id = @coach and kind = 'trial'
		returning id`
	var id game.GameID
	err := s.pool.QueryRow(ctx, q, args{
		"club": a.Club, "game": of, "coach": a.Person, "seed": rand.Int64(), "now": s.now(),
	}).Scan(&id)
	return id, translate(err)
}
