package store

import (
	"context"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

// ChangedSince is the error for a form whose thing somebody else has changed meanwhile.
const changedSince = "Somebody else has changed this since you opened it. What you typed is still here, beside how it is " +
	"now. Look at both, then save once more."

// takeTurn counts a change of a row, and refuses one that was made from an older state.
func takeTurn(ctx context.Context, tx pgx.Tx, q string, revision int, with args) error {
	with["revision"] = revision
	row, err := tx.Exec(ctx, q, with)
	if err != nil {
		return err
	}
	if row.RowsAffected() == 0 {
		return game.Fail(game.Conflict, changedSince)
	}
	return nil
}

// EditStudent changes a student's name, wording and groups; it can be undone. Where
// somebody else has changed the student since, nothing is changed.
func (s *Store) EditStudent(ctx context.Context, a game.Actor, id game.PersonID, e club.StudentEdit) (game.ChangeID, error) {
	if err := e.Validate(); err != nil {
		return 0, err
	}
	return s.change(ctx, a, ofStudent, int64(id), func(tx pgx.Tx) error {
		if _, err := pupil(ctx, tx, a.Club, id); err != nil {
			return err
		}
		if err := askTwice(ctx, tx, a.Club, id, e.Name, e.Same); err != nil {
			return err
		}
		const q = `update people set name = @name, wording = @wording, revision = revision + 1
			where club_id = @club and id = @id and revision = @revision`
		err := takeTurn(ctx, tx, q, e.Revision, args{"club": a.Club, "id": id, "name": e.Name, "wording": e.Wording})
		if err != nil {
			return err
		}
		return setGroups(ctx, tx, a.Club, id, e.Groups)
	})
}

// setGroups puts a student in these groups and in no other.
func setGroups(ctx context.Context, tx pgx.Tx, c game.ClubID, id game.PersonID, groups []game.GroupID) error {
	const out = `delete from members m
		using groups g
		where m.club_id = $1 and m.student_id = $2 and g.club_id = m.club_id and g.id = m.group_id
			and g.archived_at is null and not m.group_id = any($3)`
	if _, err := tx.Exec(ctx, out, c, id, groups); err != nil {
		return err
	}
	const in = `insert into members (club_id, group_id, student_id)
		select $1, g.id, $2 from groups g where g.club_id = $1 and g.id = any($3) and g.archived_at is null
		on conflict do nothing`
	_, err := tx.Exec(ctx, in, c, id, groups)
	return err
}

// ArchiveStudent takes a student out of all lists and ends the sessions; games, stages and
// the card stay. It can be undone, and taken back at any time.
func (s *Store) ArchiveStudent(ctx context.Context, a game.Actor, id game.PersonID) (game.ChangeID, error) {
	return s.change(ctx, a, ofStudent, int64(id), func(tx pgx.Tx) error {
		if _, err := pupil(ctx, tx, a.Club, id); err != nil {
			return err
		}
		return s.archive(ctx, tx, a.Club, id)
	})
}

func (s *Store) archive(ctx context.Context, tx pgx.Tx, c game.ClubID, id game.PersonID) error {
	const q = `update people set archived_at = $3, revision = revision + 1 where club_id = $1 and id = $2`
	if _, err := tx.Exec(ctx, q, c, id, s.now()); err != nil {
		return err
	}
	const end = `delete from keys where club_id = $1 and person_id = $2 and kind in ('session', 'device')`
	_, err := tx.Exec(ctx, end, c, id)
	return err
}

// TakeBack brings an archived student back to the lists; it can be undone.
func (s *Store) TakeBack(ctx context.Context, a game.Actor, id game.PersonID) (game.ChangeID, error) {
	return s.change(ctx, a, ofStudent, int64(id), func(tx pgx.Tx) error {
		const q = `update people set archived_at = null, revision = revision + 1
			where club_id = $1 and id = $2 and archived_at is not null`
		row, err := tx.Exec(ctx, q, a.Club, id)
		if err == nil && row.RowsAffected() == 0 {
			err = pgx.ErrNoRows
		}
		return err
	})
}

// RenameGuardian corrects a guardian's name; it can be undone.
func (s *Store) RenameGuardian(ctx context.Context, a game.Actor, student, guardian game.PersonID, name string) (game.ChangeID, error) {
	name, err := club.ValidateName("name", name)
	if err != nil {
		return 0, err
	}
	return s.change(ctx, a, ofGuardian, int64(guardian), func(tx pgx.Tx) error {
		if err := guards(ctx, tx, a.Club, student, guardian); err != nil {
			return err
		}
		const q = `update people set name = $3, revision = revision + 1 where club_id = $1 and id = $2`
		_, err := tx.Exec(ctx, q, a.Club, guardian, name)
		return err
	})
}

// RenewLink moves the end of a guardian's link that still works; after its end, or once it
// was stopped, only a new link helps.
func (s *Store) RenewLink(ctx context.Context, a game.Actor, student, guardian game.PersonID) error {
	return s.tx(ctx, func(tx pgx.Tx) error {
		if err := guards(ctx, tx, a.Club, student, guardian); err != nil {
			return err
		}
		const q = `update keys set expires_at = $3
			where club_id = $1 and person_id = $2 and kind = 'report' and expires_at > $4`
		row, err := tx.Exec(ctx, q, a.Club, guardian, s.now().AddDate(0, 0, LinkDays), s.now())
		if err != nil {
			return err
		}
		if row.RowsAffected() == 0 {
			return game.Fail(game.Gone, "This link has ended or was stopped, so it cannot be renewed. Make a new link.")
		}
		return audit(ctx, tx, a, "guardian's link renewed", guardian, "")
	})
}
