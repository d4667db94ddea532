package store

import (
	"context"
	"fmt"

	"drover/game"
	"drover/game/club"
	"drover/game/progress"

	"github.com/jackc/pgx/v5"
)

const readOverviews = `select ` + studentColumns + `,
		o.said
	from people p
	left join overviews o on o.club_id = p.club_id and o.student_id = p.id
	where p.club_id = @club and p.role = 'student' and p.archived_at is null` + heldToGroup

// overviewRow is a student with the overview, null before the first game.
type overviewRow struct {
	club.Person
	Said *progress.Overview
}

func overviews(ctx context.Context, tx pgx.Tx, sql string, with args) ([]progress.Overview, error) {
	rows, err := readAll[overviewRow](ctx, tx, sql, with)
	out := make([]progress.Overview, len(rows))
	for i, row := range rows {
		if out[i] = (progress.Overview{Found: progress.Diagnosis{Missing: progress.Enough}}); row.Said != nil {
			out[i] = *row.Said
		}
		out[i].Student = row.Person
	}
	return out, err
}

// RefreshOverview works out a student's overview from the games as they stand, and keeps it.
// One is worked out after another, so that neither their order nor their number
// matters. done runs in the transaction, at its end.
func (s *Store) RefreshOverview(ctx context.Context, c game.ClubID, student game.PersonID, done func(pgx.Tx) error) error {
	return transact(ctx, s.quick, plain, func(tx pgx.Tx) error {
		const lock = `select pg_advisory_xact_lock(hashtextextended($1, 0))`
		if _, err := tx.Exec(ctx, lock, fmt.Sprintf("overview %d %d", c, student)); err != nil {
			return err
		}
		r := reading{ctx: ctx, tx: tx, club: c, only: []game.PersonID{student}, now: s.now()}
		records, err := r.fill(r.stages, r.mastery, r.tries, r.placement)
		if err != nil {
			return err
		}
		for _, of := range records { // none of a student who has left
			if err := keepOverview(ctx, tx, c, of.Overview()); err != nil {
				return err
			}
		}
		return done(tx)
	})
}

func keepOverview(ctx context.Context, tx pgx.Tx, c game.ClubID, o progress.Overview) error {
	const q = `insert into overviews (club_id, student_id, at, first_ending, first_habit, first_stage, stuck, said)
		values (@club, @student, now(), nullif(@ending, ''), nullif(@habit, ''), nullif(@stage, ''), @stuck, @said)
		on conflict (club_id, student_id) do update set
			at = excluded.at,
			first_ending = excluded.first_ending,
			first_habit = excluded.first_habit,
			first_stage = excluded.first_stage,
			stuck = excluded.stuck,
			said = excluded.said`
	var first progress.First
	if o.Found.First != nil {
		first = *o.Found.First
	}
	_, err := tx.Exec(ctx, q, args{
		"club": c, "student": o.Student.ID, "ending": first.Ending, "habit": string(first.Habit), "stage": string(first.Stage),
		"stuck": len(o.Stuck) > 0, "said": o,
	})
	return err
}

// OldOverviews finds, in all clubs, students whose overview is missing, old, of before a
// game that has ended since, or by a program that did not say what comes next; up to most of
// them.
func (s *Store) OldOverviews(ctx context.Context, most int) ([]OverviewJob, error) {
	const q = `select p.club_id as club, p.id as student
		from people p
		left join overviews o on o.club_id = p.club_id and o.student_id = p.id
		where p.role = 'student' and p.archived_at is null
			and (o.at is null and exists (select from games g
					where g.club_id = p.club_id and g.student_id = p.id and g.ended_at is not null)
				or o.at < $1 or not o.said ? 'Next'
				or exists (select from games g where g.club_id = p.club_id and g.ended_at > o.at and g.student_id = p.id))
		order by o.at nulls first
		limit $2`
	out, err := readAll[OverviewJob](ctx, s.pool, q, s.now().Add(-progress.OverviewFor), most)
	return out, translate(err)
}

// RefreshOverviews works out the overviews of all students of all clubs, and counts them.
func (s *Store) RefreshOverviews(ctx context.Context) (n int, err error) {
	const q = `select club_id as club, id as student from people where role = 'student' and archived_at is null`
	all, err := readAll[OverviewJob](ctx, s.pool, q)
	if err != nil {
		return 0, translate(err)
	}
	for _, o := range all {
		if err := s.RefreshOverview(ctx, o.Club, o.Student, func(pgx.Tx) error { return nil }); err != nil {
			return n, fmt.Errorf("student %d of club %d: %w", o.Student, o.Club, err)
		}
		n++
	}
	return n, nil
}
