package store

import (
	"context"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

// How much is forgotten at a time.
const (
	gamesForgotten = 200
	auditForgotten = 5000
)

// ForgetOld deletes what clubs keep no longer: games with their acts, and rows of the audit. more
// says that there may be more of it. Concerns never go by themselves.
func (s *Store) ForgetOld(ctx context.Context) (more bool, err error) {
	for _, q := range []struct {
		sql  string
		most int
	}{{`select forget_games($1)`, gamesForgotten}, {`select forget_audit($1)`, auditForgotten}} {
		var n int
		if err := s.pool.QueryRow(ctx, q.sql, q.most).Scan(&n); err != nil {
			return false, translate(err)
		}
		more = more || n == q.most
	}
	return more, nil
}

// Keeping reads for how long a club keeps things.
func (s *Store) Keeping(ctx context.Context, c game.ClubID) (club.Keeping, error) {
	const q = `select keep_games as games, keep_left as "left", keep_audit as audit, keeping_revision as revision
		from clubs
		where id = $1`
	k, err := readOne[club.Keeping](ctx, s.pool, q, c)
	return k, translate(err)
}

// KeepKeeping changes for how long a club keeps things. Only an owner does; of two the second
// is told.
func (s *Store) KeepKeeping(ctx context.Context, a game.Actor, k club.Keeping) error {
	if err := k.Validate(); err != nil {
		return err
	}
	return s.tx(ctx, func(tx pgx.Tx) error {
		if err := mustOwn(ctx, tx, a); err != nil {
			return err
		}
		const q = `update clubs set keep_games = @games, keep_left = @left, keep_audit = @audit,
				keeping_revision = keeping_revision + 1
			where id = @club and keeping_revision = @revision`
		err := takeTurn(ctx, tx, q, k.Revision, args{"club": a.Club, "games": k.Games, "left": k.Left, "audit": k.Audit})
		if err != nil {
			return err
		}
		return audit(ctx, tx, a, "keeping changed", 0, "")
	})
}

// Going is what goes within the next month, if nothing is changed.
type Going struct {
	Games    int
	Students int // whose games they are
	Left     int // students who have left the club, and are erased
	Audit    int
}

// GoingSoon counts what goes within the next month. Who left longer ago is counted no more, also
// where the erasure is held, which is the officer's alone to know.
func (s *Store) GoingSoon(ctx context.Context, c game.ClubID) (Going, error) {
	const q = `select
			(select count(*)::int from games g where ` + goneSoon + `) as games,
			(select count(distinct g.student_id)::int from games g where ` + goneSoon + `) as students,
			(select count(*)::int from people p
				where p.club_id = c.id and p.role = 'student'
					and p.archived_at < now() + interval '1 month' - make_interval(months => c.keep_left)
					and p.archived_at >= now() - make_interval(months => c.keep_left)) as "left",
			(select count(*)::int from audit t
				where t.club_id = c.id and t.at < now() + interval '1 month' - make_interval(months => c.keep_audit)) as audit
		from clubs c
		where c.id = $1`
	g, err := readOne[Going](ctx, s.pool, q, c)
	return g, translate(err)
}

const goneSoon = `g.club_id = c.id
				and coalesce(g.ended_at, g.started_at) < now() + interval '1 month' - make_interval(months => c.keep_games)`
