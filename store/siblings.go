package store

import (
	"context"
	"fmt"

	"drover/game"

	"github.com/jackc/pgx/v5"
)

// Kin is a guardian of a brother or sister, who can become one of a student too.
type Kin struct {
	ID   game.PersonID
	Name string
	Of   game.PersonID // the brother or sister
}

// KinOf lists the guardians of the child with a number who are not yet a student's. A coach who
// stands in finds only the children of the own groups.
func (s *Store) KinOf(ctx context.Context, a game.Actor, student game.PersonID, number int) ([]Kin, error) {
	const q = `select u.id, u.name, p.id as of
		from people p
		join guardians g on g.club_id = p.club_id and g.student_id = p.id
		join people u on u.club_id = g.club_id and u.id = g.guardian_id and u.archived_at is null
		where p.club_id = @club and p.number = @number and p.role = 'student' and p.archived_at is null and p.id <> @student` + inScope + `
			and not exists (select from guardians o
				where o.club_id = g.club_id and o.guardian_id = g.guardian_id and o.student_id = @student)
		order by u.id`
	out, err := readAll[Kin](ctx, s.pool, q, args{"club": a.Club, "number": number, "student": student, "reader": a.Person})
	return out, translate(err)
}

// AddKin makes a guardian of a brother or sister a guardian of a student too: one link leads to
// both children.
func (s *Store) AddKin(ctx context.Context, a game.Actor, student, guardian game.PersonID, number int) error {
	kin, err := s.KinOf(ctx, a, student, number)
	if err != nil {
		return err
	}
	for _, k := range kin {
		if k.ID == guardian {
			return s.tx(ctx, func(tx pgx.Tx) error {
				if _, err := pupil(ctx, tx, a.Club, student); err != nil {
					return err
				}
				const q = `insert into guardians (club_id, guardian_id, student_id) values ($1, $2, $3) on conflict do nothing`
				if _, err := tx.Exec(ctx, q, a.Club, guardian, student); err != nil {
					return err
				}
				return auditGuardian(ctx, tx, a, student, guardian)
			})
		}
	}
	return missing()
}

// auditGuardian notes that somebody becomes a guardian, so that it is found by the child, too:
// somebody else reads of this child from now on.
func auditGuardian(ctx context.Context, tx pgx.Tx, a game.Actor, student, guardian game.PersonID) error {
	if err := audit(ctx, tx, a, "guardian added", guardian, fmt.Sprintf("student %d", student)); err != nil {
		return err
	}
	return audit(ctx, tx, a, "guardian joined", student, fmt.Sprintf("guardian %d", guardian))
}

// PartGuardian says that somebody is no guardian of a student any more, who stays one of
// another child. What they have asked for of this child goes.
func (s *Store) PartGuardian(ctx context.Context, a game.Actor, student, guardian game.PersonID) error {
	return s.tx(ctx, func(tx pgx.Tx) error {
		if err := guards(ctx, tx, a.Club, student, guardian); err != nil {
			return err
		}
		const q = `delete from guardians g
			where g.club_id = @club and g.guardian_id = @guardian and g.student_id = @student
				and exists (select from guardians o
					where o.club_id = g.club_id and o.guardian_id = g.guardian_id and o.student_id <> g.student_id)`
		row, err := tx.Exec(ctx, q, args{"club": a.Club, "guardian": guardian, "student": student})
		if err != nil {
			return err
		}
		if row.RowsAffected() == 0 {
			return game.Fail(game.Conflict, "This is the only child of this guardian. Stop the link instead.")
		}
		if err := dropExports(ctx, tx, `e.club_id = @club and e.by_id = @who and e.student_id = @student`,
			args{"club": a.Club, "who": guardian, "student": student}); err != nil {
			return err
		}
		return audit(ctx, tx, a, "guardian parted", student, fmt.Sprintf("guardian %d", guardian))
	})
}
