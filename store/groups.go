package store

import (
	"context"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

// heldToGroup holds the people p of a query to one group, @group; 0: none.
const heldToGroup = ` and (@group::bigint = 0 or exists (select from members m
			where m.club_id = p.club_id and m.group_id = @group and m.student_id = p.id))` + inScope

// GroupRow is a group with the number of its students.
type GroupRow struct {
	club.Group
	Students int
}

// Groups lists a club's groups by name.
func (s *Store) Groups(ctx context.Context, a game.Actor) ([]GroupRow, error) {
	const q = `select g.id, g.name, count(p.id) as students
		from groups g
		left join members m on m.club_id = g.club_id and m.group_id = g.id
		left join people p on p.club_id = m.club_id and p.id = m.student_id and p.archived_at is null
		where g.club_id = @club and g.archived_at is null
			and (not exists (select from people r where r.club_id = g.club_id and r.id = @reader and r.until_at is not null)
				or exists (select from substitutes t
					where t.club_id = g.club_id and t.coach_id = @reader and t.group_id = g.id))
		group by g.club_id, g.id
		order by lower(g.name), g.id`
	out, err := readAll[GroupRow](ctx, s.pool, q, args{"club": a.Club, "reader": a.Person})
	return out, translate(err)
}

// InGroups lists the students of some groups, each once.
func (s *Store) InGroups(ctx context.Context, c game.ClubID, groups []game.GroupID) ([]game.PersonID, error) {
	const q = `select distinct p.id
		from members m
		join groups g on g.club_id = m.club_id and g.id = m.group_id and g.archived_at is null
		join people p on p.club_id = m.club_id and p.id = m.student_id and p.archived_at is null
		where m.club_id = $1 and m.group_id = any($2)
		order by 1`
	rows, err := s.pool.Query(ctx, q, c, groups)
	if err != nil {
		return nil, translate(err)
	}
	out, err := pgx.CollectRows(rows, pgx.RowTo[game.PersonID])
	return out, translate(err)
}

// KeepGroup makes a group. If the form was sent before, it returns the group that was
// made then.
func (s *Store) KeepGroup(ctx context.Context, a game.Actor, name string, sent ...Sent) (game.GroupID, error) {
	name, err := club.ValidateGroup(name)
	if err != nil {
		return 0, err
	}
	id, err := s.once(ctx, a, sent, func(tx pgx.Tx, _ Sent) (int64, error) {
		id, err := insertGroup(ctx, tx, a, name)
		return int64(id), err
	})
	return game.GroupID(id), err
}

// insertGroup makes a group of a name that no other group of the club has.
func insertGroup(ctx context.Context, tx pgx.Tx, a game.Actor, name string) (id game.GroupID, err error) {
	if err := freeName(ctx, tx, a.Club, 0, name); err != nil {
		return 0, err
	}
	const q = `insert into groups (club_id, name) values ($1, $2) returning id`
	if err := tx.QueryRow(ctx, q, a.Club, name).Scan(&id); err != nil {
		return 0, err
	}
	return id, audit(ctx, tx, a, "group made", 0, "")
}

// freeName refuses the name of another group. It locks the club's row, so that of two who
// take a name at once the second is told.
func freeName(ctx context.Context, tx pgx.Tx, c game.ClubID, own game.GroupID, name string) error {
	if err := lockClub(ctx, tx, c); err != nil {
		return err
	}
	var taken bool
	const q = `select exists (select from groups
		where club_id = $1 and archived_at is null and id <> $2 and lower(name) = lower($3))`
	if err := tx.QueryRow(ctx, q, c, own, name).Scan(&taken); err != nil {
		return err
	}
	if taken {
		return club.Problems{"name": "There is a group with this name already. Choose another name."}.Err()
	}
	return nil
}

// RenameGroup gives a group another name; it can be undone.
func (s *Store) RenameGroup(ctx context.Context, a game.Actor, id game.GroupID, name string) (game.ChangeID, error) {
	name, err := club.ValidateGroup(name)
	if err != nil {
		return 0, err
	}
	return s.change(ctx, a, ofGroup, int64(id), func(tx pgx.Tx) error {
		if err := freeName(ctx, tx, a.Club, id, name); err != nil {
			return err
		}
		const q = `update groups set name = $3 where club_id = $1 and id = $2`
		_, err := tx.Exec(ctx, q, a.Club, id, name)
		return err
	})
}

// ArchiveGroup takes a group out of all lists; its students stay, and it can be undone.
func (s *Store) ArchiveGroup(ctx context.Context, a game.Actor, id game.GroupID) (game.ChangeID, error) {
	return s.change(ctx, a, ofGroup, int64(id), func(tx pgx.Tx) error {
		const q = `update groups set archived_at = $3 where club_id = $1 and id = $2`
		_, err := tx.Exec(ctx, q, a.Club, id, s.now())
		return err
	})
}

// PutInGroup puts students in a group, where they are not in it yet; it can be undone.
func (s *Store) PutInGroup(ctx context.Context, a game.Actor, id game.GroupID, students []game.PersonID) (game.ChangeID, error) {
	return s.change(ctx, a, ofGroup, int64(id), func(tx pgx.Tx) error {
		for _, p := range students {
			if _, err := pupil(ctx, tx, a.Club, p); err != nil {
				return err
			}
			const q = `insert into members (club_id, group_id, student_id) values ($1, $2, $3) on conflict do nothing`
			if _, err := tx.Exec(ctx, q, a.Club, id, p); err != nil {
				return err
			}
		}
		return nil
	})
}
