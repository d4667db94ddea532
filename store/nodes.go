package store

import (
	"context"
	"fmt"

	"drover/game"
	"drover/game/practice"

	"github.com/jackc/pgx/v5"
)

// silentFor is the number of seconds without a word after which a node counts
// as gone. Each node gives a word every five seconds.
const silentFor = 15

// Orphan is a line of a coach who watched over a node that is gone.
type Orphan struct {
	Club game.ClubID
	Game game.GameID
	By   game.PersonID
	Line practice.Line
}

// Orphans lists the lines in games that go on whose node has been silent for long,
// or has said goodbye.
func (s *Store) Orphans(ctx context.Context) ([]Orphan, error) {
	const q = `select w.club_id, w.game_id, w.by_id, substr(w.client_id, 2)
		from acts w
		join games g on g.club_id = w.club_id and g.id = w.game_id and g.ended_at is null
		where w.kind = 'watch' and w.node is not null and w.at < now() - $1 * interval '1 second'
			and not exists (select from nodes n
				where n.id = w.node and n.seen_at > now() - $1 * interval '1 second')
			and not exists (select from acts u
				where u.club_id = w.club_id and u.game_id = w.game_id and u.kind = 'unseen'
					and u.client_id = 'u' || substr(w.client_id, 2))
		order by w.club_id, w.game_id, w.seq
		limit 500`
	rows, err := s.quick.Query(ctx, q, silentFor)
	if err != nil {
		return nil, translate(err)
	}
	out, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (Orphan, error) {
		var o Orphan
		err := row.Scan(&o.Club, &o.Game, &o.By, &o.Line.ID)
		return o, err
	})
	return out, translate(err)
}

// Goodbye takes this node out; what it has left behind is orphaned.
func (s *Store) Goodbye(ctx context.Context) error {
	const q = `delete from nodes where id = $1 or seen_at < now() - interval '1 day'`
	if _, err := s.quick.Exec(ctx, q, s.node); err != nil {
		return fmt.Errorf("say goodbye: %w", translate(err))
	}
	return nil
}
