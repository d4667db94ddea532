package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"drover/game"
	"drover/game/practice"
	"drover/game/progress"

	"github.com/jackc/pgx/v5"
)

// NoteFor is how long a coach can note afterwards that they watched a test.
const NoteFor = 14 * 24 * time.Hour

// seenWhole notes the coaches who watched a game of a test from before its first move to its
// end. A look whose node has fallen silent, or that its coach began once more, may have been
// cut, and is not whole.
func seenWhole(ctx context.Context, tx pgx.Tx, e entry) error {
	if e.setup.Mode != practice.Test {
		return nil
	}
	const q = `insert into watched (club_id, game_id, by_id, noted, at)
		select distinct w.club_id, w.game_id, w.by_id, false, now()
		from acts w
		join games g on g.club_id = w.club_id and g.id = w.game_id and g.kind = 'drill'
		join acts z on z.club_id = w.club_id and z.game_id = w.game_id and z."end" is not null
		where w.club_id = @club and w.game_id = @game and w.kind = 'watch'
			and not exists (select from acts m
				where m.club_id = w.club_id and m.game_id = w.game_id and m.kind = 'move' and m.seq < w.seq)
			and not exists (select from acts u
				where u.club_id = w.club_id and u.game_id = w.game_id and u.seq > w.seq and u.seq < z.seq
					and (u.kind = 'unseen' and u.client_id = 'u' || substr(w.client_id, 2)
						or u.kind = 'watch' and u.by_id = w.by_id))
			and (w.node = @node or exists (select from nodes n
				where n.id = w.node and n.seen_at > now() - @silent * interval '1 second'))
		on conflict do nothing`
	_, err := tx.Exec(ctx, q, args{"club": e.club, "game": e.setup.Game, "node": e.node, "silent": silentFor})
	return err
}

// Watcher is a coach who watched a test.
type Watcher struct {
	ID   game.PersonID
	Name string
}

// Watched says of tests of five, by their last game, who watched them: each of their games from
// before its first move to its end, or as the coach noted afterwards. Names are in order.
func (s *Store) Watched(ctx context.Context, c game.ClubID, tests []progress.Sitting) (map[game.GameID][]Watcher, error) {
	out := map[game.GameID][]Watcher{}
	for _, t := range tests {
		if !t.Over() {
			continue
		}
		ids := make([]game.GameID, len(t.Games))
		for i, g := range t.Games {
			ids[i] = g.Game
		}
		const q = `select p.id, p.name
			from watched w
			join people p on p.club_id = w.club_id and p.id = w.by_id
			where w.club_id = @club and w.game_id = any(@games)
			group by p.id, p.name
			having count(*) filter (where not w.noted) = @all or bool_or(w.noted and w.game_id = @last)
			order by lower(p.name), p.id`
		by, err := readAll[Watcher](ctx, s.pool, q, args{"club": c, "games": ids, "all": len(ids), "last": t.Last()})
		if err != nil {
			return nil, translate(err)
		}
		out[t.Last()] = by
	}
	return out, nil
}

// ofWatched is what coaches noted of a test, named by its last game.
var ofWatched = thing{"watched", "", `select jsonb_build_object('rows', (select coalesce(jsonb_agg(w), '[]') from watched w
			where w.club_id = g.club_id and w.game_id = g.id and w.noted))
		from games g
		where g.club_id = @club and g.id = @id
		for update of g`,
	[]string{`delete from watched where club_id = @club and game_id = @id and noted`,
		`insert into watched
			select w.* from jsonb_populate_recordset(null::watched, @before::jsonb->'rows') w
			where w.club_id = @club and w.game_id = @id and w.noted`}}

// NoteWatched notes that a coach watched a test of a student that has ended with a game; it
// can be undone.
func (s *Store) NoteWatched(ctx context.Context, a game.Actor, student game.PersonID,
	last game.GameID) (game.ChangeID, error) {
	if err := s.InScope(ctx, a, student); err != nil {
		return 0, err
	}
	of, err := s.RecordOf(ctx, a.Club, student, WithMastery)
	if err != nil {
		return 0, err
	}
	test := progress.SittingWith(of.Trials, last)
	switch {
	case !test.Over():
		return 0, missing()
	case of.Today()-test.Day > progress.Day(NoteFor/(24*time.Hour)):
		return 0, game.Fail(game.Conflict, "That test is more than 14 days old, so it is not noted any more who watched it.")
	}
	change, err := s.noteWatched(ctx, a, student, last)
	if errors.Is(err, errNoted) { // sent twice: the first time counts
		const q = `select coalesce(max(id), 0) from changes
			where club_id = $1 and what = 'watched' and subject_id = $2 and by_id = $3`
		err = translate(s.pool.QueryRow(ctx, q, a.Club, last, a.Person).Scan(&change))
	}
	return change, err
}

// errNoted says that it stands there already.
var errNoted = errors.New("noted already")

func (s *Store) noteWatched(ctx context.Context, a game.Actor, student game.PersonID,
	last game.GameID) (game.ChangeID, error) {
	return s.change(ctx, a, ofWatched, int64(last), func(tx pgx.Tx) error {
		const q = `insert into watched (club_id, game_id, by_id, noted, at)
			values (@club, @game, @by, true, @now)
			on conflict do nothing`
		row, err := tx.Exec(ctx, q, args{"club": a.Club, "game": last, "by": a.Person, "now": s.now()})
		if err == nil && row.RowsAffected() == 0 {
			err = errNoted
		}
		if err != nil {
			return err
		}
		return audit(ctx, tx, a, "test watched", student, fmt.Sprintf("game %d", last))
	})
}
