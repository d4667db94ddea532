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

// OnceMore begins a game that counts for nothing anew, by the rules of one that is there: a
// trial, a position played again, or free practice; fen is another start, empty: the same. One
// that was begun so and has no move yet is given again.
func (s *Store) OnceMore(ctx context.Context, a game.Actor, of game.GameID, fen string) (game.GameID, error) {
	const same = `club_id, student_id, drill_id, draft, kind, counts, start_no, ending, mode, stage_from, target, defender, backs,
		allowance, budget, helps, hold, clock, increment, again_of`
	const whose = `select id from games
		where club_id = @club and id = @game and student_id = @own and not counts and kind in ('trial', 'again', 'free')
		for update` // so that two taps begin one game
	const open = `select coalesce(max(g.id), 0)
		from games g
		join games o on o.club_id = g.club_id and o.student_id = g.student_id and o.kind = g.kind and o.try + 1 = g.try
			and (o.ending, o.hold, o.defender, o.stage_from, o.side) = (g.ending, g.hold, g.defender, g.stage_from, g.side)
			and (o.drill_id, o.draft, o.again_of) is not distinct from (g.drill_id, g.draft, g.again_of)
			and (o.start_fen = g.start_fen) = (@fen = '')
		where g.club_id = @club and o.id = @game and g.ended_at is null
			and not exists (select from acts t where t.club_id = g.club_id and t.game_id = g.id)`
	const q = `insert into games (` + same + `, start_fen, side, try, seed, started_at)
		select ` + same + `, coalesce(nullif(@fen, ''), start_fen), split_part(coalesce(nullif(@fen, ''), start_fen), ' ', 2),
			try + 1, @seed, @now
		from games
		where club_id = @club and id = @game
		returning id`
	var id game.GameID
	err := s.tx(ctx, func(tx pgx.Tx) error {
		if err := tx.QueryRow(ctx, whose, args{"club": a.Club, "game": of, "own": a.Person}).Scan(&of); err != nil {
			return err
		}
		if err := tx.QueryRow(ctx, open, args{"club": a.Club, "game": of, "fen": fen}).Scan(&id); err != nil || id != 0 {
			return err
		}
		if err := mustPractise(ctx, tx, a); err != nil {
			return err
		}
		return tx.QueryRow(ctx, q, args{"club": a.Club, "game": of, "fen": fen, "seed": rand.Int64(), "now": s.now()}).Scan(&id)
	})
	return id, translate(err)
}

// FromHere begins a game from a position of a game of the student's own that has ended, before
// the own move of that number; one that was begun so and has no move yet is given again. It
// counts for nothing. The drill says what is played, and has the position as its start.
func (s *Store) FromHere(ctx context.Context, a game.Actor, of game.GameID, d club.Drill, move int) (game.GameID, error) {
	const whose = `select id from games
		where club_id = @club and id = @of and student_id = @own and ended_at is not null
		for update` // so that two taps begin one game
	return s.uncounted(ctx, a, OfAgain, d, move-1, of, whose)
}

// FreePractice begins a game of the student's own choice, which counts for nothing; one of the
// same choice that has no move yet is given again.
func (s *Store) FreePractice(ctx context.Context, a game.Actor, d club.Drill) (game.GameID, error) {
	const whose = `select id from people
		where club_id = @club and id = @own and @of = 0 and role = 'student' and archived_at is null
		for update`
	return s.uncounted(ctx, a, OfFree, d, 0, 0, whose)
}

// OpenFree is the student's free practice under way that was moved in last; 0: there is none.
func (s *Store) OpenFree(ctx context.Context, a game.Actor) (game.GameID, error) {
	const q = `select coalesce((select g.id
		from games g
		join acts t on t.club_id = g.club_id and t.game_id = g.id
		where g.club_id = $1 and g.student_id = $2 and g.kind = 'free' and g.ended_at is null
		order by t.at desc
		limit 1), 0)`
	var id game.GameID
	err := s.pool.QueryRow(ctx, q, a.Club, a.Person).Scan(&id)
	return id, translate(err)
}

// uncounted begins a game of a student's own that counts for nothing; whose is a query that
// finds what it hangs on, and holds it.
func (s *Store) uncounted(ctx context.Context, a game.Actor, kind GameKind, d club.Drill, no int, of game.GameID,
	whose string) (game.GameID, error) {
	var id game.GameID
	err := s.tx(ctx, func(tx pgx.Tx) error {
		var found int64
		if err := tx.QueryRow(ctx, whose, args{"club": a.Club, "own": a.Person, "of": of}).Scan(&found); err != nil {
			return err
		}
		const open = `select coalesce(max(g.id), 0)
			from games g
			where g.club_id = @club and g.student_id = @own and g.kind = @kind and g.ended_at is null
				and coalesce(g.again_of, 0) = @of and g.ending = @ending and g.hold = @hold and g.defender = @defender
				and g.stage_from = @from and (@of = 0 or g.start_fen = @fen)
				and split_part(g.start_fen, ' ', 2) = split_part(@fen, ' ', 2)
				and not exists (select from acts t where t.club_id = g.club_id and t.game_id = g.id)`
		err := tx.QueryRow(ctx, open, args{
			"club": a.Club, "own": a.Person, "kind": string(kind), "of": of, "ending": d.Ending, "hold": d.Hold, "defender": d.Defender,
			"from": d.From, "fen": d.Starts[0],
		}).Scan(&id)
		if err != nil || id != 0 {
			return err
		}
		if id, err = insertOf(ctx, tx, a, kind, club.Assignment{Drill: d}, 0, 1, s.now()); err != nil {
			return err
		}
		const where = `update games set start_no = $3, again_of = nullif($4::bigint, 0) where club_id = $1 and id = $2`
		_, err = tx.Exec(ctx, where, a.Club, id, no, of)
		return err
	})
	return id, translate(err)
}
