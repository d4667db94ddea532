package store

import (
	"context"
	"time"

	"drover/game"
	"drover/game/club"
)

// GridTask is a column of what is set for a group: an assignment that somebody of it has.
type GridTask struct {
	club.Drill
	Task   game.AssignmentID
	Due    *time.Time
	Opens  time.Time
	Repeat bool // weeks of the same come after it
	Tasks  int  // how many there are in all
}

// GridCell is what one student has done of one assignment.
type GridCell struct {
	Task      game.AssignmentID
	Student   game.PersonID
	Passed    bool
	Withdrawn bool
	Begun     bool
	Bars      []int // of each start: 2 clean, 1 done but not clean, 0 to come
}

// GridRow is a student of the grid.
type GridRow struct {
	club.Person
	Last    *time.Time // when the last game ended
	Playing bool       // a game is under way
}

// Grid is what is set for a group, student by drill.
type Grid struct {
	Tasks []GridTask
	Rows  []GridRow
	Cells []GridCell
	More  int // students beside these
}

// The most that a grid shows.
const (
	mostGridTasks = 12
	mostGridRows  = 60
)

// SetGrid reads what is set for a group, or for all students (0): what somebody has open, or
// with done also what everybody has done.
func (s *Store) SetGrid(ctx context.Context, a game.Actor, group game.GroupID, done bool) (g Grid, err error) {
	if g.Tasks, err = s.gridTasks(ctx, a, group, done); err != nil {
		return g, translate(err)
	}
	if g.Rows, g.More, err = s.gridRows(ctx, a, group); err != nil {
		return g, translate(err)
	}
	ids, students := make([]game.AssignmentID, len(g.Tasks)), make([]game.PersonID, len(g.Rows))
	for i, t := range g.Tasks {
		ids[i] = t.Task
	}
	for i, row := range g.Rows {
		students[i] = row.ID
	}
	g.Cells, err = s.gridCells(ctx, a.Club, ids, students)
	return g, translate(err)
}

// gridTasks are the columns: what is due next stands first, what was due long ago last.
func (s *Store) gridTasks(ctx context.Context, a game.Actor, group game.GroupID, done bool) ([]GridTask, error) {
	const q = `select ` + drillColumns + `,
			a.id as task,
			a.due_on as due,
			a.opens_at as opens,
			exists (select from assignments l
				where l.club_id = a.club_id and l.series = a.series and l.opens_at > a.opens_at
					and l.withdrawn_at is null) as repeat,
			count(*) over () as tasks
		from assignments a
		join drills d on d.club_id = a.club_id and d.id = a.drill_id
		where a.club_id = @club and a.withdrawn_at is null and a.opens_at <= @soon and exists (select from assignees e
			join people p on p.club_id = e.club_id and p.id = e.student_id and p.archived_at is null
			where e.club_id = a.club_id and e.assignment_id = a.id and (@done::boolean or e.passed_at is null)
				and e.withdrawn_at is null` + heldToGroup + `)
		order by coalesce(a.due_on < @now::date - 14, false), a.opens_at > @now, a.due_on is null,
			case when @done::boolean then a.due_on end desc, a.due_on, a.id desc
		limit @most`
	return readAll[GridTask](ctx, s.pool, q, args{
		"club": a.Club, "reader": a.Person, "group": group, "now": s.now(), "soon": s.now().AddDate(0, 0, 7),
		"done": done, "most": mostGridTasks,
	})
}

// gridRows are the students, and how many more there are.
func (s *Store) gridRows(ctx context.Context, a game.Actor, group game.GroupID) (rows []GridRow, more int, err error) {
	const q = `select ` + studentColumns + `,
			(select max(g.ended_at) from games g where g.club_id = p.club_id and g.student_id = p.id) as last,
			exists (select from games g
				where g.club_id = p.club_id and g.student_id = p.id and g.ended_at is null and g.started_at > @begun
					and coalesce((select max(t.at) from acts t
						where t.club_id = g.club_id and t.game_id = g.id), g.started_at) > @since) as playing,
			(count(*) over ())::int as all
		from people p
		where p.club_id = @club and p.role = 'student' and p.archived_at is null` + heldToGroup + `
		order by lower(p.name), p.id
		limit @most`
	type counted struct {
		GridRow
		All int
	}
	found, err := readAll[counted](ctx, s.pool, q, args{
		"club": a.Club, "reader": a.Person, "group": group, "most": mostGridRows,
		"begun": s.now().Add(-24 * time.Hour), "since": s.now().Add(-playingFor),
	})
	for _, row := range found {
		rows, more = append(rows, row.GridRow), row.All-len(found)
	}
	return rows, more, err
}

// gridCells are what some students have done of some assignments.
func (s *Store) gridCells(ctx context.Context, c game.ClubID, tasks []game.AssignmentID,
	students []game.PersonID) ([]GridCell, error) {
	const q = `select
			e.assignment_id as task,
			e.student_id as student,
			e.passed_at is not null as passed,
			e.passed_at is null and e.withdrawn_at is not null as withdrawn,
			exists (select from games g where ` + ofTask + `) as begun,
			array(select coalesce(max(case
					when g.result = 'clean' then 2
					when g.result = any(` + counting + `) then 1
					else 0 end), 0)
				from generate_series(0, jsonb_array_length(d.starts) - 1) n
				left join games g on ` + ofTask + ` and g.start_no = n
				group by n
				order by n) as bars
		from assignees e
		join assignments a on a.club_id = e.club_id and a.id = e.assignment_id
		join drills d on d.club_id = a.club_id and d.id = a.drill_id
		where e.club_id = @club and e.assignment_id = any(@tasks) and e.student_id = any(@students)`
	return readAll[GridCell](ctx, s.pool, q, args{"club": c, "tasks": tasks, "students": students})
}
