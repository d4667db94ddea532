package store

import (
	"context"
	"errors"
	"fmt"
	"time"

	"drover/game"

	"github.com/jackc/pgx/v5"
)

// Erasure is that a child be erased with all that points at it: asked for, decided by the
// welfare officer, and then waited for. The times are the database's own.
type Erasure struct {
	ID        int64
	Student   game.PersonID
	Name      string // of the child; empty once it is gone
	Number    int
	Asked     time.Time
	By        string // who asked, for the officer alone; empty: gone, or not for who reads
	Role      game.Role
	Confirmed *time.Time
	Due       *time.Time
}

const openErasures = `select e.id, e.student_id as student, p.name, coalesce(p.number, 0) as number, e.asked_at as asked,
			coalesce(b.name, '') as by, coalesce(b.role, '') as role, e.confirmed_at as confirmed, e.due_at as due
		from erasures e
		join people p on p.club_id = e.club_id and p.id = e.student_id
		left join people b on b.club_id = e.club_id and b.id = e.asked_by
		where e.club_id = @club and e.stopped_at is null and e.done_at is null`

// Erasing says whether a child is to be erased; nil: nobody has asked, or it was stopped. Who
// asked is not in it.
func (s *Store) Erasing(ctx context.Context, c game.ClubID, student game.PersonID) (*Erasure, error) {
	e, err := readOne[Erasure](ctx, s.pool, openErasures+` and e.student_id = @student`, args{"club": c, "student": student})
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, nil //nolint:nilnil // it is no error that nobody has asked
	}
	e.By, e.Role = "", ""
	return &e, translate(err)
}

// Erasures lists what is asked for and what is waited for, for whoever decides.
func (s *Store) Erasures(ctx context.Context, a game.Actor) (out []Erasure, err error) {
	err = s.tx(ctx, func(tx pgx.Tx) error {
		if err := mustAppoint(ctx, tx, a); err != nil {
			return err
		}
		out, err = readAll[Erasure](ctx, tx, openErasures+` order by e.due_at nulls first, e.id`, args{"club": a.Club})
		return err
	})
	return out, err
}

// AskErasure asks that a child be erased: a guardian for the own child, a coach who does not
// stand in, or whoever decides. Where it is asked for already, nothing changes.
func (s *Store) AskErasure(ctx context.Context, a game.Actor, student game.PersonID) error {
	return s.tx(ctx, func(tx pgx.Tx) error {
		if err := anyPupil(ctx, tx, a.Club, student); err != nil {
			return err
		}
		var err error
		switch a.Role {
		case game.Guardian:
			err = guards(ctx, tx, a.Club, student, a.Person)
		case game.Welfare:
			err = mustAppoint(ctx, tx, a)
		case game.Coach, game.Student:
		}
		if err != nil {
			return err
		}
		const q = `insert into erasures (club_id, student_id, asked_by) values ($1, $2, $3) on conflict do nothing`
		made, err := tx.Exec(ctx, q, a.Club, student, a.Person)
		if err != nil || made.RowsAffected() == 0 {
			return err
		}
		return audit(ctx, tx, a, "erasure asked", student, "")
	})
}

// AskErasureOf is AskErasure by whoever decides, for the student with a number.
func (s *Store) AskErasureOf(ctx context.Context, a game.Actor, number int) error {
	var id game.PersonID
	err := s.tx(ctx, func(tx pgx.Tx) error {
		if err := mustAppoint(ctx, tx, a); err != nil {
			return err
		}
		const q = `select id from people where club_id = $1 and number = $2 and role = 'student'`
		return tx.QueryRow(ctx, q, a.Club, number).Scan(&id)
	})
	if err != nil {
		return err
	}
	return s.AskErasure(ctx, a, id)
}

// ConfirmErasure decides that a child is erased, in seven days from now.
func (s *Store) ConfirmErasure(ctx context.Context, a game.Actor, id int64) error {
	return s.tx(ctx, func(tx pgx.Tx) error {
		if err := mustAppoint(ctx, tx, a); err != nil {
			return err
		}
		const q = `update erasures set confirmed_by = $3
			where club_id = $1 and id = $2 and confirmed_by is null and stopped_at is null and done_at is null
			returning student_id`
		return s.decided(ctx, tx, a, "erasure confirmed", q, id)
	})
}

// StopErasure stops one that is asked for or waited for. It can be asked for anew.
func (s *Store) StopErasure(ctx context.Context, a game.Actor, id int64) error {
	return s.tx(ctx, func(tx pgx.Tx) error {
		if err := mustAppoint(ctx, tx, a); err != nil {
			return err
		}
		return s.stopErasure(ctx, tx, a, id)
	})
}

// StopErasureOf is StopErasure by any guardian of the child.
func (s *Store) StopErasureOf(ctx context.Context, a game.Actor, student game.PersonID) error {
	return s.tx(ctx, func(tx pgx.Tx) error {
		if err := guards(ctx, tx, a.Club, student, a.Person); err != nil {
			return err
		}
		var id int64
		const q = `select id from erasures where club_id = $1 and student_id = $2 and stopped_at is null and done_at is null`
		err := tx.QueryRow(ctx, q, a.Club, student).Scan(&id)
		if errors.Is(err, pgx.ErrNoRows) {
			return nil // the other guardian was first
		}
		if err != nil {
			return err
		}
		return s.stopErasure(ctx, tx, a, id)
	})
}

func (s *Store) stopErasure(ctx context.Context, tx pgx.Tx, a game.Actor, id int64) error {
	const q = `update erasures set stopped_by = $3
		where club_id = $1 and id = $2 and stopped_at is null and done_at is null
		returning student_id`
	return s.decided(ctx, tx, a, "erasure stopped", q, id)
}

// decided carries out a decision and audits it; one that came second is told.
func (s *Store) decided(ctx context.Context, tx pgx.Tx, a game.Actor, action, q string, id int64) error {
	var student game.PersonID
	err := tx.QueryRow(ctx, q, a.Club, id, a.Person).Scan(&student)
	if errors.Is(err, pgx.ErrNoRows) {
		const there = `select student_id from erasures where club_id = $1 and id = $2`
		if err := tx.QueryRow(ctx, there, a.Club, id).Scan(&student); err != nil {
			return err
		}
		return game.Fail(game.Conflict, "Somebody else was first: this was decided, stopped or carried out already. Look again.")
	}
	if err != nil {
		return err
	}
	return audit(ctx, tx, a, action, student, fmt.Sprintf("erasure %d", id))
}

// EraseDue erases one child whose erasure was confirmed and is due, or who left the club longer
// ago than the club keeps it. more says that there may be another one. It does no harm where
// another node does it at the same instant.
func (s *Store) EraseDue(ctx context.Context) (more bool, err error) {
	for _, q := range []string{`select erase_next()`, `select erase_left()`} {
		var id *int64
		if err := s.pool.QueryRow(ctx, q).Scan(&id); err != nil {
			return false, translate(err)
		}
		more = more || id != nil
	}
	return more, nil
}

// Erased says of every table that points at a person what the erasure of a child does to it:
// 'erased', 'cleared' where the row stays without what was the child's, 'ids stay', or
// 'adults' where it only points at coaches and officers, who are not erased.
var Erased = map[string]string{
	"people": "erased", "guardians": "erased", "consents": "erased", "keys": "erased", "members": "erased",
	"assignees": "erased", "games": "erased", "acts": "erased", "stage_results": "erased", "kept_trials": "erased",
	"bells": "erased", "placements": "erased", "placement_tasks": "erased", "overviews": "erased", "watched": "erased",
	"forms": "erased", "shown": "erased", "sheet_cards": "erased", "own_settings": "erased", "notices": "erased",
	"attended": "erased", "changes": "erased", "exports": "erased", "term_reports": "erased",
	"addresses": "erased", "letters": "erased", "concerns": "erased", "concern_notes": "erased", "reasons": "erased",
	"erasures": "ids stay", "audit": "ids stay",
	"drills": "cleared", "plans": "cleared", "groups": "cleared", "holidays": "cleared",
	"assignments": "adults", "sheets": "adults", "substitutes": "adults", "invites": "adults", "factors": "adults",
	"recoveries": "adults", "notice_texts": "adults", "bars": "adults",
}
