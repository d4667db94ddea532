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

const insertDrill = `insert into drills (
		club_id,
		shelf_id,
		name,
		ending,
		side,
		mode,
		stage_from,
		stage_to,
		defender,
		starts,
		rule,
		made_by
	)
	values (
		@club,
		currval(pg_get_serial_sequence('drills', 'id')),
		@name,
		@ending,
		case when @hold then 'hold' else 'attack' end,
		@mode,
		@from,
		@to,
		@defender,
		@starts,
		@rule,
		@by
	)
	returning id`

// KeepDrill puts a drill on the club's shelf. If the form was sent before, it
// returns the drill that was made then.
func (s *Store) KeepDrill(ctx context.Context, a game.Actor, d club.Drill, sent ...Sent) (game.DrillID, error) {
	if err := d.Validate(); err != nil {
		return 0, err
	}
	id, err := s.once(ctx, a, sent, func(tx pgx.Tx, _ Sent) (id int64, err error) {
		const next = `select nextval(pg_get_serial_sequence('drills', 'id'))`
		if _, err := tx.Exec(ctx, next); err != nil {
			return 0, err
		}
		err = tx.QueryRow(ctx, insertDrill, args{
			"club": a.Club, "by": a.Person, "name": d.Name, "ending": d.Ending, "hold": d.Hold, "mode": d.Mode,
			"from": d.From, "to": d.To, "defender": d.Defender, "starts": d.Starts, "rule": d.Rule,
		}).Scan(&id)
		if err != nil {
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

// drillColumns are those of a club.Drill.
const drillColumns = `
		d.id,
		d.name,
		d.ending,
		d.side = 'hold' as hold,
		d.mode,
		d.stage_from as "from",
		d.stage_to as "to",
		d.defender,
		d.starts,
		d.rule`

// Drill reads one drill.
func (s *Store) Drill(ctx context.Context, c game.ClubID, id game.DrillID) (club.Drill, error) {
	const q = `select ` + drillColumns + `
		from drills d
		where d.club_id = $1 and d.id = $2 and d.archived_at is null`
	d, err := readOne[club.Drill](ctx, s.pool, q, c, id)
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
func (s *Store) Shelf(ctx context.Context, a game.Actor) ([]ShelfRow, error) {
	const q = `select ` + drillColumns + `,
			coalesce(array_agg(distinct p.name) filter (where p.id is not null), '{}') as who,
			count(distinct p.id) as has,
			count(distinct p.id) filter (where e.passed_at is not null) as through
		from drills d
		left join assignments t on t.club_id = d.club_id and t.drill_id = d.id and t.withdrawn_at is null
		left join assignees e on e.club_id = t.club_id and e.assignment_id = t.id
		left join people p on p.club_id = e.club_id and p.id = e.student_id and p.archived_at is null` + inScope + `
		where d.club_id = @club and d.archived_at is null
		group by d.club_id, d.id
		order by d.id desc`
	out, err := readAll[ShelfRow](ctx, s.pool, q, args{"club": a.Club, "reader": a.Person})
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
		const q = `insert into assignments (club_id, drill_id, given_by, opens_at, due_on)
			values (@club, @drill, @by, @now, @due)
			returning id`
		err = tx.QueryRow(ctx, q, args{
			"club": a.Club, "drill": d, "by": a.Person, "now": s.now(), "due": due,
		}).Scan(&id)
		if err != nil {
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
func (s *Store) Given(ctx context.Context, a game.Actor, id game.AssignmentID) ([]string, error) {
	const q = `select p.name
		from assignees e
		join people p on p.club_id = e.club_id and p.id = e.student_id and p.archived_at is null
		where e.club_id = @club and e.assignment_id = @task` + inScope + `
		order by lower(p.name), p.id`
	rows, err := s.pool.Query(ctx, q, args{"club": a.Club, "task": id, "reader": a.Person})
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

// taskRow is a progress.Task, whose drill is a field of its own there.
type taskRow struct {
	club.Drill
	Task     game.AssignmentID
	Due      *time.Time
	Coach    string
	Done     int
	Next     int // of the game under way; -1: there is none
	Left     []int
	OpenGame game.GameID
	Wording  int
}

func (r taskRow) task() progress.Task {
	if r.Next < 0 && len(r.Left) > 0 {
		r.Next = r.Left[0]
	}
	return progress.Task{
		Assignment: club.Assignment{ID: r.Task, Drill: r.Drill, Due: r.Due},
		Coach:      r.Coach, Done: r.Done, Next: r.Next, Left: r.Left, OpenGame: r.OpenGame, Wording: r.Wording,
	}
}

const readTasks = `select ` + drillColumns + `,
		a.id as task,
		a.due_on as due,
		c.name as coach,
		(select count(distinct start_no) from games g where ` + ofTask + ` and g.result = any(` + counting + `)) as done,
		coalesce(o.start_no, -1) as next,
		coalesce((select array_agg(n order by n) from generate_series(0, jsonb_array_length(d.starts) - 1) n
			where not exists (select from games g
				where ` + ofTask + ` and g.start_no = n and g.result = any(` + counting + `))), '{}') as left,
		coalesce(o.id, 0) as open_game,
		p.wording
	from assignees e
	join assignments a on a.club_id = e.club_id and a.id = e.assignment_id
	join drills d on d.club_id = a.club_id and d.id = a.drill_id
	join people c on c.club_id = a.club_id and c.id = a.given_by
	join people p on p.club_id = e.club_id and p.id = e.student_id
	left join lateral (select g.id, g.start_no from games g
		where ` + ofTask + ` and g.ended_at is null
		order by g.id desc
		limit 1) o on true
	where e.club_id = $1 and e.student_id = $2 and (e.passed_at is null or o.id is not null)
		and a.withdrawn_at is null and a.opens_at <= $3
	order by a.due_on nulls last, a.id`

func tasks(ctx context.Context, from querier, c game.ClubID, student game.PersonID,
	now time.Time) ([]progress.Task, error) {
	rows, err := readAll[taskRow](ctx, from, readTasks, c, student, now)
	out := make([]progress.Task, len(rows))
	for i, r := range rows {
		out[i] = r.task()
	}
	return out, err
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
func (s *Store) DrillProgress(ctx context.Context, a game.Actor, d game.DrillID) ([]Progress, error) {
	const q = `select ` + studentColumns + `,
			l.id is not null as has,
			l.due_on as due,
			(select count(distinct start_no) from games g
				where g.club_id = @club and g.assignment_id = l.id and g.student_id = p.id
					and g.kind = 'drill' and g.counts and g.result = any(` + counting + `)) as done
		from people p
		join drills d on d.club_id = @club and d.id = @drill
		left join lateral (select a.id, a.due_on from assignees e
			join assignments a on a.club_id = e.club_id and a.id = e.assignment_id
			where e.club_id = @club and e.student_id = p.id and a.drill_id = @drill and a.withdrawn_at is null
			order by a.id desc
			limit 1) l on true
		where p.club_id = @club and p.role = 'student' and p.archived_at is null` + inScope + `
		order by lower(p.name), p.id`
	out, err := readAll[Progress](ctx, s.pool, q, args{"club": a.Club, "drill": d, "reader": a.Person})
	return out, translate(err)
}
