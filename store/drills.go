package store

import (
	"context"
	"fmt"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/progress"

	"github.com/jackc/pgx/v5"
)

// KeepDrill puts a drill on the club's shelf. If the form was sent before, it
// returns the drill that was made then.
func (s *Store) KeepDrill(ctx context.Context, a game.Actor, d club.Drill, sent ...Sent) (game.DrillID, error) {
	if err := d.Check(); err != nil {
		return 0, err
	}
	id, err := s.once(ctx, a, sent, func(tx pgx.Tx, _ Sent) (id int64, err error) {
		const q = `insert into drills (club_id, shelf_id, name, ending, side, mode, stage_from, stage_to, defender, starts,
			rule, made_by)
			values ($1, currval(pg_get_serial_sequence('drills', 'id')), $2, $3, case when $4 then 'hold' else 'attack' end,
				$5, $6, $7, $8, $9, $10, $11) returning id`
		const next = `select nextval(pg_get_serial_sequence('drills', 'id'))`
		if _, err := tx.Exec(ctx, next); err != nil {
			return 0, err
		}
		if err := tx.QueryRow(ctx, q, a.Club, d.Name, d.Ending, d.Hold, d.Mode, d.From, d.To, d.Defender, d.Starts, d.Rule, a.Person).Scan(&id); err != nil {
			return 0, err
		}
		return id, audit(ctx, tx, a, "drill made", 0, "")
	})
	return game.DrillID(id), err
}

// needed is the number of starts that must count for the drill d to be passed,
// and counting the results that do: see club.Rule.
const (
	needed = `case when coalesce((d.rule->>'need')::int, 0) = 0 then jsonb_array_length(d.starts)
		else (d.rule->>'need')::int end`
	counting = `case when coalesce((d.rule->>'clean')::boolean, false) then '{clean}'::text[]
		else '{clean,over par,helped}'::text[] end`
)

const drillColumns = `d.id, d.name, d.ending, d.side = 'hold', d.mode, d.stage_from, d.stage_to, d.defender, d.starts,
	d.rule`

func drillFields(d *club.Drill) []any {
	return []any{&d.ID, &d.Name, &d.Ending, &d.Hold, &d.Mode, &d.From, &d.To, &d.Defender, &d.Starts, &d.Rule}
}

// Drill reads one drill.
func (s *Store) Drill(ctx context.Context, c game.ClubID, id game.DrillID) (club.Drill, error) {
	var d club.Drill
	const q = `select ` + drillColumns + ` from drills d where d.club_id = $1 and d.id = $2 and d.archived_at is null`
	err := s.pool.QueryRow(ctx, q, c, id).Scan(drillFields(&d)...)
	return d, translate(err)
}

// ShelfRow is one drill with who has it.
type ShelfRow struct {
	club.Drill
	Who     []string
	Has     int
	Through int
}

// Shelf lists a club's drills, the newest first.
func (s *Store) Shelf(ctx context.Context, c game.ClubID) ([]ShelfRow, error) {
	const q = `select ` + drillColumns + `, coalesce(array_agg(distinct p.name) filter (where p.id is not null), '{}'),
			count(distinct p.id), count(distinct p.id) filter (where e.passed_at is not null)
		from drills d
		left join assignments a on a.club_id = d.club_id and a.drill_id = d.id and a.withdrawn_at is null
		left join assignees e on e.club_id = a.club_id and e.assignment_id = a.id
		left join people p on p.club_id = e.club_id and p.id = e.student_id and p.archived_at is null
		where d.club_id = $1 and d.archived_at is null group by d.club_id, d.id order by d.id desc`
	rows, err := s.pool.Query(ctx, q, c)
	if err != nil {
		return nil, translate(err)
	}
	out, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (ShelfRow, error) {
		var r ShelfRow
		err := row.Scan(append(drillFields(&r.Drill), &r.Who, &r.Has, &r.Through)...)
		return r, err
	})
	return out, translate(err)
}

// Assign gives a drill to students of the club. If the form was sent before, it
// returns the assignment that was made then.
func (s *Store) Assign(ctx context.Context, a game.Actor, d game.DrillID, students []game.PersonID, due *time.Time,
	sent ...Sent) (game.AssignmentID, error) {
	if len(students) == 0 {
		return 0, club.Problems{"student": "Choose at least one student."}.Err()
	}
	id, err := s.once(ctx, a, sent, func(tx pgx.Tx, _ Sent) (id int64, err error) {
		const q = `insert into assignments (club_id, drill_id, given_by, opens_at, due_on) values ($1, $2, $3, $4, $5)
			returning id`
		if err := tx.QueryRow(ctx, q, a.Club, d, a.Person, s.now(), due).Scan(&id); err != nil {
			return 0, err
		}
		for _, p := range students {
			if _, err := pupil(ctx, tx, a.Club, p); err != nil {
				return 0, err
			}
			const e = `insert into assignees (club_id, assignment_id, student_id) values ($1, $2, $3) on conflict do nothing`
			if _, err := tx.Exec(ctx, e, a.Club, id, p); err != nil {
				return 0, err
			}
			if err := audit(ctx, tx, a, "drill given", p, fmt.Sprintf("assignment %d", id)); err != nil {
				return 0, err
			}
		}
		return id, audit(ctx, tx, a, "drill assigned", 0, fmt.Sprintf("assignment %d", id))
	})
	return game.AssignmentID(id), err
}

// Given lists the names of those to whom an assignment was given.
func (s *Store) Given(ctx context.Context, c game.ClubID, id game.AssignmentID) ([]string, error) {
	const q = `select p.name from assignees e join people p on p.club_id = e.club_id and p.id = e.student_id
		and p.archived_at is null
		where e.club_id = $1 and e.assignment_id = $2 order by lower(p.name), p.id`
	rows, err := s.pool.Query(ctx, q, c, id)
	if err != nil {
		return nil, translate(err)
	}
	names, err := pgx.CollectRows(rows, pgx.RowTo[string])
	return names, translate(err)
}

// Tasks lists what a student has to do: what is due first, then the oldest.
func (s *Store) Tasks(ctx context.Context, a game.Actor) ([]progress.Task, error) {
	out, err := tasks(ctx, s.pool, a.Club, a.Person, s.now())
	return out, translate(err)
}

func tasks(ctx context.Context, from querier, c game.ClubID, student game.PersonID,
	now time.Time) ([]progress.Task, error) {
	const q = `select a.id, a.due_on, c.name, ` + drillColumns + `,
			(select count(distinct start_no) from games g where ` + ofTask + ` and g.result = any(` + counting + `)),
			coalesce((select array_agg(n order by n) from generate_series(0, jsonb_array_length(d.starts) - 1) n where not exists
				(select from games g where ` + ofTask + ` and g.start_no = n and g.result = any(` + counting + `))), '{}'),
			coalesce(o.id, 0), coalesce(o.start_no, -1), p.wording
		from assignees e join assignments a on a.club_id = e.club_id and a.id = e.assignment_id
			join drills d on d.club_id = a.club_id and d.id = a.drill_id join people c on c.club_id = a.club_id
				and c.id = a.given_by
			join people p on p.club_id = e.club_id and p.id = e.student_id
			left join lateral (select g.id, g.start_no from games g where ` + ofTask + ` and g.ended_at is null
				order by g.id desc limit 1) o on true
		where e.club_id = $1 and e.student_id = $2 and (e.passed_at is null or o.id is not null) and a.withdrawn_at is null
			and a.opens_at <= $3
		order by a.due_on nulls last, a.id`
	rows, err := from.Query(ctx, q, c, student, now)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (progress.Task, error) {
		var t progress.Task
		into := append([]any{&t.ID, &t.Due, &t.Coach}, drillFields(&t.Drill)...)
		err := row.Scan(append(into, &t.Done, &t.Left, &t.OpenGame, &t.Next, &t.Wording)...)
		if t.Next < 0 && len(t.Left) > 0 {
			t.Next = t.Left[0]
		}
		return t, err
	})
}

// ofTask ties a game g to the assignment a and the assignee e around it.
// A game that counts for nothing leaves its start open.
const ofTask = `g.club_id = e.club_id and g.assignment_id = a.id and g.student_id = e.student_id and g.kind = 'drill'
	and g.counts`

// Progress says how far each student of the club is with a drill.
type Progress struct {
	club.Person
	Has  bool
	Done int
	Due  *time.Time
}

// DrillProgress lists the club's students with how far each is with a drill.
func (s *Store) DrillProgress(ctx context.Context, c game.ClubID, d game.DrillID) ([]Progress, error) {
	const q = `select p.id, p.name, p.number, p.wording, l.id is not null, l.due_on,
			(select count(distinct start_no) from games g where g.club_id = $1 and g.assignment_id = l.id
				and g.student_id = p.id and g.kind = 'drill' and g.counts and g.result = any(` + counting + `))
		from people p join drills d on d.club_id = $1 and d.id = $2 left join lateral (select a.id, a.due_on
			from assignees e join assignments a on a.club_id = e.club_id and a.id = e.assignment_id
			where e.club_id = $1 and e.student_id = p.id and a.drill_id = $2 and a.withdrawn_at is null order by a.id desc
				limit 1) l on true
		where p.club_id = $1 and p.role = 'student' and p.archived_at is null order by lower(p.name), p.id`
	rows, err := s.pool.Query(ctx, q, c, d)
	if err != nil {
		return nil, translate(err)
	}
	out, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (Progress, error) {
		r := Progress{Person: club.Person{Club: c, Role: game.Student}}
		err := row.Scan(&r.ID, &r.Name, &r.Number, &r.Wording, &r.Has, &r.Due, &r.Done)
		return r, err
	})
	return out, translate(err)
}
