package store

import (
	"context"
	"time"

	"drover/game"
	"drover/game/progress"

	"github.com/jackc/pgx/v5"
)

// StudentsOnPage is how many students one page of the stage view has.
const StudentsOnPage = 50

// mostStuck is how many stuck students, and how many who are ready for a test, are said one
// by one above the table.
const mostStuck = 12

// StageAsk says what of the stage view is asked for. The zero value is all that was played in
// the last eight weeks, with the students who have a finding first.
type StageAsk struct {
	Group  game.GroupID // 0: of all groups
	Drill  int64        // its place on the shelf; 0: all drills
	Since  time.Time    // games that ended from then on; zero: the last eight weeks
	Until  time.Time    // and before then; zero: until now
	Find   string       // part of a name, or a number; empty: all
	Stage  progress.Key // the column by which the students stand, the weakest first; zero: none
	ByName bool         // the students stand by name
	Page   int          // from 1; 0: all on one page
}

// StageTable is what one page of the stage view reads.
type StageTable struct {
	Total     int                 // of students who are asked for
	Rows      []progress.Overview // of the page; the cells are those that are asked for
	Same      []progress.Overview // the students who are to be taught the same first, where that is the most
	Stuck     []progress.Overview // students who are stuck, up to mostStuck
	More      int                 // stuck students beside these
	Tests     []progress.Overview // students who are ready for a test, up to mostStuck
	Uncounted int                 // games of the same weeks that do not count, since a coach played along
}

// with are the arguments of the queries.
func (ask StageAsk) with(a game.Actor, now time.Time) args {
	if ask.Since.IsZero() {
		ask.Since = now.Add(-progress.Window)
	}
	if ask.Until.IsZero() {
		ask.Until = now.Add(time.Microsecond)
	}
	with := args{
		"club": a.Club, "reader": a.Person, "group": ask.Group, "find": ask.Find, "drill": ask.Drill, "since": ask.Since,
		"until": ask.Until, "ending": ask.Stage.Ending, "stage": string(ask.Stage.Stage), "byname": ask.ByName,
		"most": nil, "from": 0, "held": ask.Drill != 0,
	}
	if ask.Page != 0 {
		with["most"], with["from"] = StudentsOnPage, (max(ask.Page, 1)-1)*StudentsOnPage
	}
	return with
}

// some are those arguments that a query names.
func some(with args, names ...string) args {
	out := args{}
	for _, name := range names {
		out[name] = with[name]
	}
	return out
}

// StageTable reads what is asked of the stage view, with a fixed number of queries.
func (s *Store) StageTable(ctx context.Context, a game.Actor, ask StageAsk) (StageTable, error) {
	var t StageTable
	with := ask.with(a, s.now())
	err := transact(ctx, s.pool, steady, func(tx pgx.Tx) error {
		same, err := together(ctx, tx, a, ask.Group)
		if err != nil {
			return err
		}
		with["same"] = same
		if err := t.say(ctx, tx, with); err != nil {
			return err
		}
		if err := t.count(ctx, tx, with); err != nil {
			return err
		}
		return t.rows(ctx, tx, with)
	})
	return t, err
}

// say reads what is said above the table.
func (t *StageTable) say(ctx context.Context, tx pgx.Tx, with args) (err error) {
	const (
		among = readOverviews + ` and p.id = any(@same) order by lower(p.name), p.id`
		stuck = readOverviews + ` and o.stuck order by lower(p.name), p.id limit @many`
		tests = readOverviews + ` and o.said->'Test' <> 'null' order by lower(p.name), p.id limit @many`
	)
	of := some(with, "club", "reader", "group", "same")
	if t.Same, err = overviews(ctx, tx, among, of); err != nil {
		return err
	}
	of = some(with, "club", "reader", "group")
	of["many"] = mostStuck
	if t.Stuck, err = overviews(ctx, tx, stuck, of); err != nil {
		return err
	}
	t.Tests, err = overviews(ctx, tx, tests, of)
	return err
}

// inTerm holds the games g to the weeks and the drill that are asked for.
const inTerm = `g.club_id = @club and g.ended_at >= @since and g.ended_at < @until
			and (@drill::bigint = 0 or exists (select from drills d
				where d.club_id = g.club_id and d.id = g.drill_id and d.shelf_id = @drill))`

func (t *StageTable) count(ctx context.Context, tx pgx.Tx, with args) error {
	const all = `select count(*) from people p
		where p.club_id = @club and p.role = 'student' and p.archived_at is null and ` + isFound + heldToGroup
	if err := tx.QueryRow(ctx, all, some(with, "club", "reader", "group", "find")).Scan(&t.Total); err != nil {
		return err
	}
	const stuck = `select greatest(0, count(*) - @many)
		from overviews o
		join people p on p.club_id = o.club_id and p.id = o.student_id and p.archived_at is null
		where o.club_id = @club and o.stuck` + heldToGroup
	of := some(with, "club", "reader", "group")
	of["many"] = mostStuck
	if err := tx.QueryRow(ctx, stuck, of).Scan(&t.More); err != nil {
		return err
	}
	const uncounted = `select count(*)
		from games g
		join people p on p.club_id = g.club_id and p.id = g.student_id and p.archived_at is null
		where not g.counts and g.kind in ('drill', 'part', 'recheck') and ` + inTerm + heldToGroup
	return tx.QueryRow(ctx, uncounted, some(with, "club", "reader", "group", "since", "until", "drill")).Scan(&t.Uncounted)
}

// ofStages holds the stages s of games to those that a page draws (see StagePlayed.Shown), of the
// weeks and the drill that are asked for.
const ofStages = `s.par >= 2 and s.ended_at >= @since and s.ended_at < @until
			and (@drill::bigint = 0 or exists (select from games g
				join drills d on d.club_id = g.club_id and d.id = g.drill_id
				where g.club_id = s.club_id and g.id = s.game_id and d.shelf_id = @drill))`

// rows reads the students of the page, with their cells.
func (t *StageTable) rows(ctx context.Context, tx pgx.Tx, with args) (err error) {
	const q = readOverviews + ` and ` + isFound + `
		order by
			(select (count(*) filter (where s.clean))::float / nullif(count(*), 0) from stage_results s
				where s.club_id = p.club_id and s.student_id = p.id and s.ending = @ending and s.stage = @stage
					and ` + ofStages + `),
			@held and not @byname and not exists (select from stage_results s
				where s.club_id = p.club_id and s.student_id = p.id and ` + ofStages + `),
			not @byname and p.id = any(@same) desc,
			not @byname and coalesce(o.stuck or o.first_ending is not null, false) desc,
			lower(p.name),
			p.id
		limit @most offset @from`
	if t.Rows, err = overviews(ctx, tx, q, with); err != nil {
		return err
	}
	return t.cells(ctx, tx, with)
}

// cellRow is a stage of a student: its games, and whether it is mastered.
type cellRow struct {
	owned
	progress.Key
	Clean []bool
	Bell  bool
}

// cells fills the rows with what was played of what is asked for, and the bells.
func (t *StageTable) cells(ctx context.Context, tx pgx.Tx, with args) error {
	const q = `select s.student_id, s.ending, s.stage, array_agg(s.clean order by s.ended_at, s.game_id) as clean, false as bell
		from stage_results s
		where s.club_id = @club and s.student_id = any(@only) and ` + ofStages + `
		group by 1, 2, 3
		union all
		select b.student_id, b.ending, b.stage, '{}', true from bells b where b.club_id = @club and b.student_id = any(@only)`
	at := map[game.PersonID]int{}
	var only []game.PersonID
	for i, row := range t.Rows {
		at[row.Student.ID], only = i, append(only, row.Student.ID)
	}
	of := some(with, "club", "since", "until", "drill")
	of["only"] = only
	found, err := readAll[cellRow](ctx, tx, q, of)
	if err != nil {
		return err
	}
	clean, bells := make([]map[progress.Key][]bool, len(only)), make([]map[progress.Key]progress.Day, len(only))
	for i := range only {
		clean[i], bells[i] = map[progress.Key][]bool{}, map[progress.Key]progress.Day{}
	}
	for _, c := range found {
		if i := at[c.StudentID]; c.Bell {
			bells[i][c.Key] = 0
		} else {
			clean[i][c.Key] = c.Clean
		}
	}
	for i := range only {
		t.Rows[i].Cells = progress.CellsOf(clean[i], bells[i])
	}
	return nil
}

// together finds the students who are to be taught the same thing first, where that is
// the most; among things with as many, that of the student who comes first by name.
func together(ctx context.Context, tx pgx.Tx, a game.Actor, group game.GroupID) ([]game.PersonID, error) {
	const q = `select array_agg(p.id)
		from overviews o
		join people p on p.club_id = o.club_id and p.id = o.student_id and p.archived_at is null
		where o.club_id = @club and o.first_ending is not null` + heldToGroup + `
		group by o.first_ending, o.first_habit, case when o.first_habit is null then o.first_stage end
		order by count(*) desc, min(lower(p.name)), min(p.id)
		limit 1`
	rows, err := tx.Query(ctx, q, args{"club": a.Club, "reader": a.Person, "group": group})
	if err != nil {
		return nil, err
	}
	found, err := pgx.CollectRows(rows, pgx.RowTo[[]game.PersonID])
	if err != nil || len(found) == 0 {
		return []game.PersonID{}, err
	}
	return found[0], nil
}

// PlayedDrill is a drill by which the stage view can be held.
type PlayedDrill struct {
	Shelf int64
	Name  string // of its latest version
}

// DrillsPlayed lists by name the drills that somebody has played in the last half year.
func (s *Store) DrillsPlayed(ctx context.Context, a game.Actor) ([]PlayedDrill, error) {
	const q = `select distinct on (d.shelf_id) d.shelf_id as shelf, d.name
		from drills d
		where d.club_id = @club and exists (select from drills v
			join games g on g.club_id = v.club_id and g.drill_id = v.id and g.counts and g.ended_at > @since
			join people p on p.club_id = g.club_id and p.id = g.student_id` + inScope + `
			where v.club_id = d.club_id and v.shelf_id = d.shelf_id)
		order by d.shelf_id, d.version desc`
	out, err := readAll[PlayedDrill](ctx, s.pool, q, args{"club": a.Club, "reader": a.Person, "since": s.now().AddDate(0, -6, 0)})
	return out, translate(err)
}
