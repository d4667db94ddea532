package store

import (
	"context"
	"fmt"
	"time"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

// taskWas is how one assignment was before a change.
type taskWas struct {
	ID        int64      `json:"id"`
	Due       *string    `json:"due"`
	Withdrawn *time.Time `json:"withdrawn"`
}

// taskState is how an assignment was, with the weeks that were given with it.
type taskState struct {
	Rows []taskWas `json:"rows"`
}

// dayOf is a day as the database reads it.
func dayOf(t *time.Time) *string {
	if t == nil {
		return nil
	}
	text := day(*t)
	return &text
}

// ofAssignment is an assignment, named by the first of the weeks that were given with it. What a
// newly given one was before is withdrawn.
var ofAssignment = thing{"assignment", "", `select jsonb_build_object(
			'rows', (select jsonb_agg(jsonb_build_object('id', a.id, 'due', a.due_on, 'withdrawn', a.withdrawn_at))
				from assignments a
				where a.club_id = @club and (a.id = @id or a.series = @id)),
			'children', (select jsonb_agg(jsonb_build_object('task', e.assignment_id, 'student', e.student_id,
					'withdrawn', e.withdrawn_at))
				from assignees e
				join assignments a on a.club_id = e.club_id and a.id = e.assignment_id
				where e.club_id = @club and (a.id = @id or a.series = @id)))
		from assignments x
		where x.club_id = @club and x.id = @id
		for update of x`,
	[]string{`update assignments a set due_on = r.due, withdrawn_at = r.withdrawn
			from jsonb_to_recordset(@before::jsonb->'rows') r(id bigint, due date, withdrawn timestamptz)
			where a.club_id = @club and a.id = r.id and (a.id = @id or a.series = @id)`,
		`update assignees e set withdrawn_at = r.withdrawn
			from jsonb_to_recordset(coalesce(@before::jsonb->'children', '[]'))
				r(task bigint, student bigint, withdrawn timestamptz)
			where e.club_id = @club and e.assignment_id = r.task and e.student_id = r.student and @id::bigint > 0`}}

// firstOf is the first of the weeks that were given with an assignment.
func firstOf(ctx context.Context, tx pgx.Tx, c game.ClubID, id game.AssignmentID) (first int64, err error) {
	err = tx.QueryRow(ctx, `select coalesce(series, id) from assignments where club_id = $1 and id = $2`, c, id).Scan(&first)
	return first, err
}

// changeTask changes an assignment, so that it can be undone.
func (s *Store) changeTask(ctx context.Context, a game.Actor, id game.AssignmentID,
	do func(tx pgx.Tx) (int64, error)) (change game.ChangeID, err error) {
	err = s.tx(ctx, func(tx pgx.Tx) error {
		first, err := firstOf(ctx, tx, a.Club, id)
		if err != nil {
			return err
		}
		change, err = s.changeIn(ctx, tx, a, ofAssignment, first, func() error {
			n, err := do(tx)
			if err == nil && n == 0 {
				err = game.Fail(game.Conflict, "This was withdrawn or done meanwhile. Look at the page again.")
			}
			return err
		})
		return err
	})
	return change, err
}

// Withdraw takes an assignment back from everybody who has not done it; with the weeks that
// are to come after it, if later is set.
func (s *Store) Withdraw(ctx context.Context, a game.Actor, id game.AssignmentID, later bool) (game.ChangeID, error) {
	return s.changeTask(ctx, a, id, func(tx pgx.Tx) (int64, error) {
		const q = `update assignments a set withdrawn_at = @now
			from assignments x
			where x.club_id = @club and x.id = @id and a.club_id = x.club_id and a.withdrawn_at is null
				and (a.id = x.id or @later and a.series = x.series and a.opens_at > x.opens_at)`
		row, err := tx.Exec(ctx, q, args{"club": a.Club, "id": id, "now": s.now(), "later": later})
		return row.RowsAffected(), err
	})
}

// WithdrawFrom takes an assignment back from one student who has not done it.
func (s *Store) WithdrawFrom(ctx context.Context, a game.Actor, id game.AssignmentID,
	student game.PersonID) (game.ChangeID, error) {
	return s.changeTask(ctx, a, id, func(tx pgx.Tx) (int64, error) {
		const q = `update assignees set withdrawn_at = @now
			where club_id = @club and assignment_id = @id and student_id = @student and passed_at is null
				and withdrawn_at is null`
		row, err := tx.Exec(ctx, q, args{"club": a.Club, "id": id, "student": student, "now": s.now()})
		if err != nil {
			return 0, err
		}
		return row.RowsAffected(), audit(ctx, tx, a, "drill withdrawn", student, fmt.Sprintf("assignment %d", id))
	})
}

// ChangeDue moves the day on which an assignment is due; nil: it is due no more.
func (s *Store) ChangeDue(ctx context.Context, a game.Actor, id game.AssignmentID,
	due *time.Time) (game.ChangeID, error) {
	return s.changeTask(ctx, a, id, func(tx pgx.Tx) (int64, error) {
		const q = `update assignments set due_on = $3 where club_id = $1 and id = $2 and withdrawn_at is null`
		row, err := tx.Exec(ctx, q, a.Club, id, due)
		return row.RowsAffected(), err
	})
}

// TaskInScope is missing where a coach may not deal with everybody who has an assignment.
func (s *Store) TaskInScope(ctx context.Context, a game.Actor, id game.AssignmentID) error {
	const q = `select student_id from assignees where club_id = $1 and assignment_id = $2`
	rows, err := s.pool.Query(ctx, q, a.Club, id)
	if err != nil {
		return translate(err)
	}
	students, err := pgx.CollectRows(rows, pgx.RowTo[game.PersonID])
	switch {
	case err != nil:
		return translate(err)
	case len(students) == 0:
		return missing()
	}
	return s.InScope(ctx, a, students...)
}

// HaveOpen lists those of some students who have a drill already, in any version, and have
// not done it.
func (s *Store) HaveOpen(ctx context.Context, c game.ClubID, d game.DrillID,
	students []game.PersonID) ([]club.Person, error) {
	const q = `select ` + studentColumns + `
		from people p
		where p.club_id = @club and p.id = any(@students) and exists (select from assignees e
			join assignments a on a.club_id = e.club_id and a.id = e.assignment_id
			join drills v on v.club_id = a.club_id and v.id = a.drill_id
			join drills d on d.club_id = v.club_id and d.shelf_id = v.shelf_id and d.id = @drill
			where e.club_id = p.club_id and e.student_id = p.id and e.passed_at is null and e.withdrawn_at is null
				and a.withdrawn_at is null)
		order by lower(p.name), p.id`
	out, err := readAll[club.Person](ctx, s.pool, q, args{"club": c, "students": students, "drill": d})
	return out, translate(err)
}

// SetRow is one assignment of a student, of any state, with the last game at it.
type SetRow struct {
	club.Drill
	Task      game.AssignmentID
	By        string // the coach
	Opens     time.Time
	Due       *time.Time
	Passed    *time.Time
	Withdrawn bool
	Done, Of  int         // starts that count, and how many there are
	Game      game.GameID // the last one that has ended, 0: none
	Played    *time.Time
	Result    string
}

// SetFor lists what was set for a student, up to a number: what is open first, then what
// opens next, then the rest, each the latest first.
func (s *Store) SetFor(ctx context.Context, c game.ClubID, student game.PersonID, most int) ([]SetRow, error) {
	const q = `select ` + drillColumns + `,
			a.id as task,
			c.name as by,
			a.opens_at as opens,
			a.due_on as due,
			e.passed_at as passed,
			e.passed_at is null and (a.withdrawn_at is not null or e.withdrawn_at is not null) as withdrawn,
			(select count(distinct start_no)::int from games g
				where ` + ofTask + ` and g.result = any(` + counting + `)) as done,
			jsonb_array_length(d.starts) as of,
			coalesce(l.id, 0) as game,
			l.ended_at as played,
			coalesce(l.result, '') as result
		from assignees e
		join assignments a on a.club_id = e.club_id and a.id = e.assignment_id
		join drills d on d.club_id = a.club_id and d.id = a.drill_id
		join people c on c.club_id = a.club_id and c.id = a.given_by
		left join lateral ` + lastOfTask + ` l on true
		where e.club_id = @club and e.student_id = @student
		order by e.passed_at is not null or a.withdrawn_at is not null or e.withdrawn_at is not null, a.opens_at > @now,
			abs(extract(epoch from a.opens_at - @now)), a.id desc
		limit @most`
	out, err := readAll[SetRow](ctx, s.pool, q, args{"club": c, "student": student, "most": most, "now": s.now()})
	return out, translate(err)
}

// GivenAt is how an assignment was given.
type GivenAt struct {
	Change game.ChangeID // that gave it; 0: it can be undone no more
	Weeks  int           // in how many weeks
	Opens  time.Time     // the first of them
}

// GivenBy reads how an assignment was given.
func (s *Store) GivenBy(ctx context.Context, c game.ClubID, id game.AssignmentID) (GivenAt, error) {
	const q = `select
			coalesce((select case when count(*) = 1 and max(h.at) > $3 and max(h.undone_at) is null then max(h.id) end
				from changes h
				where h.club_id = $1 and h.what = 'assignment' and h.subject_id = $2), 0) as change,
			count(distinct a.opens_at)::int as weeks,
			min(a.opens_at) as opens
		from assignments a
		where a.club_id = $1 and (a.id = $2 or a.series = $2) and a.withdrawn_at is null
		having count(*) > 0`
	out, err := readOne[GivenAt](ctx, s.pool, q, c, id, s.now().Add(-UndoFor))
	return out, translate(err)
}
