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
		d.rule,
		d.kind,
		d.trains,
		d.level`

// Drill reads one version of a drill, also of one that is archived.
func (s *Store) Drill(ctx context.Context, c game.ClubID, id game.DrillID) (club.Drill, error) {
	const q = `select ` + drillColumns + `
		from drills d
		where d.club_id = $1 and d.id = $2`
	d, err := readOne[club.Drill](ctx, s.pool, q, c, id)
	return d, translate(err)
}

// Giving is a drill that is given: to whom, and when. Several spans are weeks of the same.
type Giving struct {
	Drill    game.DrillID
	Students []game.PersonID
	When     []club.Span
}

// Assign gives a drill to students of the club, from now on. If the form was sent before,
// it returns the assignment that was made then.
func (s *Store) Assign(ctx context.Context, a game.Actor, d game.DrillID, students []game.PersonID, due *time.Time,
	sent ...Sent) (game.AssignmentID, error) {
	return s.Give(ctx, a, Giving{Drill: d, Students: students, When: []club.Span{{Opens: s.now(), Due: due}}}, sent...)
}

// Give gives a drill, in one week or in several; it can be undone. It returns the first
// assignment. If the form was sent before, that is the one that was made then.
func (s *Store) Give(ctx context.Context, a game.Actor, g Giving, sent ...Sent) (game.AssignmentID, error) {
	if len(g.Students) == 0 {
		return 0, club.Problems{"student": "Choose at least one student."}.Err()
	}
	id, err := s.once(ctx, a, sent, func(tx pgx.Tx, _ Sent) (first int64, err error) {
		return s.give(ctx, tx, a, g)
	})
	return game.AssignmentID(id), err
}

func (s *Store) give(ctx context.Context, tx pgx.Tx, a game.Actor, g Giving) (first int64, err error) {
	d, _, _, err := onShelf(ctx, tx, a.Club, g.Drill)
	if err != nil {
		return 0, err
	}
	all := make([]gift, len(g.When))
	for i, at := range g.When {
		all[i] = gift{d, g.Students, at}
	}
	ids, err := s.giveAll(ctx, tx, a, all)
	if err != nil {
		return 0, err
	}
	return ids[0], nil
}

// gift is one assignment that is to be made.
type gift struct {
	drill    club.Drill
	students []game.PersonID
	at       club.Span
}

// giveAll makes assignments that belong together: they are one series, named by the first,
// and are undone at once, which withdraws them.
func (s *Store) giveAll(ctx context.Context, tx pgx.Tx, a game.Actor, all []gift) (ids []int64, err error) {
	var before taskState
	now := s.now()
	var who []game.PersonID
	for _, g := range all {
		who = append(who, g.students...)
	}
	if err := holdStudents(ctx, tx, a.Club, who); err != nil {
		return nil, err
	}
	type attended struct {
		drill   game.DrillID
		student game.PersonID
	}
	seen := map[attended]bool{} // of several weeks of a drill the first does something about a line
	for i, g := range all {
		series := int64(0)
		if i > 0 {
			series = ids[0]
		}
		id, err := s.giveOnce(ctx, tx, a, g, series)
		if err != nil {
			return nil, err
		}
		for _, p := range g.students {
			if seen[attended{g.drill.ID, p}] {
				continue
			}
			seen[attended{g.drill.ID, p}] = true
			if err := s.attendGiven(ctx, tx, a, g.drill, p, id); err != nil {
				return nil, err
			}
		}
		ids = append(ids, id)
		before.Rows = append(before.Rows, taskWas{ID: id, Due: dayOf(g.at.Due), Withdrawn: &now})
	}
	if len(all) > 1 {
		const lead = `update assignments set series = id where club_id = $1 and id = $2`
		if _, err := tx.Exec(ctx, lead, a.Club, ids[0]); err != nil {
			return nil, err
		}
	}
	_, err = s.note(ctx, tx, a, ofAssignment.what, ids[0], before)
	return ids, err
}

// giveOnce makes one assignment; series is the first of those that belong together, 0: this
// is it, or the only one.
func (s *Store) giveOnce(ctx context.Context, tx pgx.Tx, a game.Actor, g gift, series int64) (id int64, err error) {
	const q = `insert into assignments (club_id, drill_id, given_by, opens_at, due_on, series)
		values (@club, @drill, @by, @opens, @due, nullif(@series::bigint, 0))
		returning id`
	err = tx.QueryRow(ctx, q, args{
		"club": a.Club, "drill": g.drill.ID, "by": a.Person, "opens": g.at.Opens, "due": g.at.Due, "series": series,
	}).Scan(&id)
	if err != nil {
		return 0, err
	}
	if err := pupils(ctx, tx, a.Club, g.students); err != nil {
		return 0, err
	}
	const who = `with given as (insert into assignees (club_id, assignment_id, student_id)
			select @club, @task, unnest(@students::bigint[])
			on conflict do nothing
			returning student_id)
		insert into audit (club_id, actor_id, action, subject_id, detail)
		select @club, @by, 'drill given', student_id, @detail from given`
	if _, err := tx.Exec(ctx, who, args{
		"club": a.Club, "task": id, "students": g.students, "by": a.Person, "detail": fmt.Sprintf("assignment %d", id),
	}); err != nil {
		return 0, err
	}
	return id, audit(ctx, tx, a, "drill assigned", 0, fmt.Sprintf("assignment %d", id))
}

// pupils is missing where one of some people is no student of the club who is there.
func pupils(ctx context.Context, tx pgx.Tx, c game.ClubID, ids []game.PersonID) error {
	var all bool
	const q = `select count(*) = (select count(distinct i) from unnest($2::bigint[]) i)
		from people
		where club_id = $1 and role = 'student' and archived_at is null and id = any($2)`
	err := tx.QueryRow(ctx, q, c, ids).Scan(&all)
	if err == nil && !all {
		err = missing()
	}
	return err
}

// Given lists the names of those to whom an assignment was given, with what was given with it.
func (s *Store) Given(ctx context.Context, a game.Actor, id game.AssignmentID) ([]string, error) {
	const q = `select p.name
		from people p
		where p.club_id = @club and p.archived_at is null and exists (select from assignees e
			join assignments a on a.club_id = e.club_id and a.id = e.assignment_id
			where e.club_id = p.club_id and e.student_id = p.id and (a.id = @task or a.series = @task)
				and a.withdrawn_at is null and e.withdrawn_at is null)` + inScope + `
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
		and a.withdrawn_at is null and e.withdrawn_at is null and a.opens_at <= $3
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

// lastOfTask is the last game at the assignment a of the assignee e that has ended.
const lastOfTask = `(select g.id, g.ended_at, g.result, g.moves, g."end", g.failed_stage from games g
			where ` + ofTask + ` and g.ended_at is not null
			order by g.id desc
			limit 1)`

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
			where e.club_id = @club and e.student_id = p.id and a.drill_id in (select v.id from drills v
					where v.club_id = @club and v.shelf_id = d.shelf_id)
				and a.withdrawn_at is null and e.withdrawn_at is null
			order by a.opens_at <= now() desc, a.id desc
			limit 1) l on true
		where p.club_id = @club and p.role = 'student' and p.archived_at is null` + inScope + `
		order by lower(p.name), p.id`
	out, err := readAll[Progress](ctx, s.pool, q, args{"club": a.Club, "drill": d, "reader": a.Person})
	return out, translate(err)
}
