package store

import (
	"cmp"
	"context"
	"fmt"
	"slices"

	"drover/game"
	"drover/game/club"

	"github.com/jackc/pgx/v5"
)

const planColumns = `p.id, p.title, p.from_on as "from", p.weeks`

// TermPlans lists a club's term plans, the latest first.
func (s *Store) TermPlans(ctx context.Context, c game.ClubID) ([]club.TermPlan, error) {
	const q = `select ` + planColumns + ` from plans p where p.club_id = $1 order by p.from_on desc, p.id desc`
	out, err := readAll[club.TermPlan](ctx, s.pool, q, c)
	return out, translate(err)
}

// TermPlan reads one plan.
func (s *Store) TermPlan(ctx context.Context, c game.ClubID, id game.PlanID) (club.TermPlan, error) {
	const q = `select ` + planColumns + ` from plans p where p.club_id = $1 and p.id = $2`
	out, err := readOne[club.TermPlan](ctx, s.pool, q, c, id)
	return out, translate(err)
}

// MakePlan makes a plan, with the cells of another one where it is a copy. What was given
// is not copied.
func (s *Store) MakePlan(ctx context.Context, a game.Actor, p club.TermPlan, of game.PlanID,
	sent ...Sent) (game.PlanID, error) {
	if err := p.Validate(); err != nil {
		return 0, err
	}
	id, err := s.once(ctx, a, sent, func(tx pgx.Tx, _ Sent) (id int64, err error) {
		const q = `insert into plans (club_id, title, from_on, weeks, made_by)
			values (@club, @title, @from, @weeks, @by)
			returning id`
		err = tx.QueryRow(ctx, q, args{
			"club": a.Club, "title": p.Title, "from": p.From, "weeks": p.Weeks, "by": a.Person,
		}).Scan(&id)
		if err != nil {
			return 0, err
		}
		const copied = `insert into plan_cells (club_id, plan_id, week, group_id, shelf_id, ending)
			select c.club_id, @id, c.week, c.group_id, c.shelf_id, c.ending
			from plan_cells c
			join groups g on g.club_id = c.club_id and g.id = c.group_id and g.archived_at is null
			where c.club_id = @club and c.plan_id = @of and c.week < @weeks`
		if _, err := tx.Exec(ctx, copied, args{"club": a.Club, "id": id, "of": of, "weeks": p.Weeks}); err != nil {
			return 0, err
		}
		return id, audit(ctx, tx, a, "plan made", 0, fmt.Sprintf("plan %d", id))
	})
	return game.PlanID(id), err
}

// PlanRow is a cell of a plan as it is read: the drill that is on the shelf, and what was
// given of it.
type PlanRow struct {
	club.PlanCell
	Given bool // and not withdrawn since
	Have  int  // students who were given it
	Done  int  // of those, who have done it
	// Drill is the version of now; it has no number where it is archived, or the cell has an ending.
	Drill club.Drill `db:"-"`
}

// PlanCells reads the cells of a plan, week after week.
func (s *Store) PlanCells(ctx context.Context, c game.ClubID, id game.PlanID) ([]PlanRow, error) {
	const cells = `select
			c.week,
			c.group_id as "group",
			coalesce(c.shelf_id, 0) as shelf,
			coalesce(c.ending, '') as ending,
			count(a.id) > 0 as given,
			count(distinct e.student_id)::int as have,
			count(distinct e.student_id) filter (where e.passed_at is not null)::int as done
		from plan_cells c
		left join plan_given g on g.club_id = c.club_id and g.plan_id = c.plan_id and g.week = c.week
			and g.group_id = c.group_id
		left join assignments a on a.club_id = g.club_id and a.id = g.assignment_id and a.withdrawn_at is null
		left join assignees e on e.club_id = a.club_id and e.assignment_id = a.id and e.withdrawn_at is null
		where c.club_id = $1 and c.plan_id = $2
		group by c.club_id, c.plan_id, c.week, c.group_id
		order by c.week, c.group_id`
	out, err := readAll[PlanRow](ctx, s.pool, cells, c, id)
	if err != nil {
		return nil, translate(err)
	}
	type shelved struct {
		club.Drill
		Shelf int64
	}
	const drills = `select ` + drillColumns + `,
			d.shelf_id as shelf
		from drills d
		where d.club_id = $1 and d.archived_at is null and d.shelf_id in (select shelf_id from plan_cells
			where club_id = $1 and plan_id = $2)`
	rows, err := readAll[shelved](ctx, s.pool, drills, c, id)
	there := map[int64]club.Drill{}
	for _, d := range rows {
		there[d.Shelf] = d.Drill
	}
	for i := range out {
		out[i].Drill = there[out[i].Shelf]
	}
	return out, translate(err)
}

// ofPlan is the cells of a plan, with what was given of each.
var ofPlan = thing{"plan", "", `select jsonb_build_object('weeks', p.weeks,
			'cells', (select coalesce(jsonb_agg(to_jsonb(c)), '[]') from plan_cells c
				where c.club_id = @club and c.plan_id = @id),
			'given', (select coalesce(jsonb_agg(to_jsonb(g)), '[]') from plan_given g
				where g.club_id = @club and g.plan_id = @id))
		from plans p
		where p.club_id = @club and p.id = @id
		for update of p`,
	[]string{`update plans set weeks = (@before::jsonb->>'weeks')::int where club_id = @club and id = @id`,
		`delete from plan_cells where club_id = @club and plan_id = @id`,
		`insert into plan_cells
			select c.* from jsonb_populate_recordset(null::plan_cells, @before::jsonb->'cells') c
			where c.club_id = @club and c.plan_id = @id`,
		`delete from plan_given where club_id = @club and plan_id = @id`,
		`insert into plan_given
			select g.* from jsonb_populate_recordset(null::plan_given, @before::jsonb->'given') g
			where g.club_id = @club and g.plan_id = @id`}}

// PutInPlan fills cells of a plan, each in place of what was there; it can be undone.
func (s *Store) PutInPlan(ctx context.Context, a game.Actor, id game.PlanID,
	cells ...club.PlanCell) (game.ChangeID, error) {
	return s.change(ctx, a, ofPlan, int64(id), func(tx pgx.Tx) error {
		var weeks int
		if err := tx.QueryRow(ctx, `select weeks from plans where club_id = $1 and id = $2`, a.Club, id).Scan(&weeks); err != nil {
			return err
		}
		for _, c := range cells {
			if err := c.Validate(weeks); err != nil {
				return err
			}
			const q = `insert into plan_cells (club_id, plan_id, week, group_id, shelf_id, ending)
				select @club, @plan, @week, g.id, nullif(@shelf::bigint, 0), nullif(@ending, '')
				from groups g
				where g.club_id = @club and g.id = @group and g.archived_at is null
					and (@shelf::bigint = 0 or exists (select from drills d
						where d.club_id = @club and d.shelf_id = @shelf))
				on conflict (club_id, plan_id, week, group_id) do update set
					shelf_id = excluded.shelf_id,
					ending = excluded.ending`
			row, err := tx.Exec(ctx, q, args{
				"club": a.Club, "plan": id, "week": c.Week, "group": c.Group, "shelf": c.Shelf, "ending": c.Ending,
			})
			if err != nil {
				return err
			}
			if row.RowsAffected() == 0 {
				return missing()
			}
		}
		return nil
	})
}

// EmptyCell takes out what is planned for a group in a week; it can be undone.
func (s *Store) EmptyCell(ctx context.Context, a game.Actor, id game.PlanID, week int,
	group game.GroupID) (game.ChangeID, error) {
	return s.change(ctx, a, ofPlan, int64(id), func(tx pgx.Tx) error {
		const q = `delete from plan_cells where club_id = $1 and plan_id = $2 and week = $3 and group_id = $4`
		row, err := tx.Exec(ctx, q, a.Club, id, week, group)
		if err == nil && row.RowsAffected() == 0 {
			err = missing()
		}
		return err
	})
}

// MovePlan moves weeks of a plan to others, which it may grow to; it can be undone. A plan of
// which something was given in these weeks is left as it is.
func (s *Store) MovePlan(ctx context.Context, a game.Actor, id game.PlanID, to map[int]int,
	weeks int) (game.ChangeID, error) {
	var from, into []int
	for week, next := range to {
		from, into = append(from, week), append(into, next)
	}
	return s.change(ctx, a, ofPlan, int64(id), func(tx pgx.Tx) error {
		var given bool
		const there = `select exists (select from plan_given g
			join assignments a on a.club_id = g.club_id and a.id = g.assignment_id and a.withdrawn_at is null
			where g.club_id = $1 and g.plan_id = $2 and g.week = any($3))`
		if err := tx.QueryRow(ctx, there, a.Club, id, from).Scan(&given); err != nil {
			return err
		}
		if given {
			return game.Fail(game.Conflict,
				"Something of these weeks is given already. Withdraw it first, or move a later week.")
		}
		if _, err := tx.Exec(ctx, `update plans set weeks = $3 where club_id = $1 and id = $2`, a.Club, id, weeks); err != nil {
			return err
		}
		for _, table := range []string{"plan_cells", "plan_given"} {
			for _, q := range []string{ // by way of numbers that no week has, since two weeks never share one
				`update ` + table + ` c set week = -1 - m.next
					from unnest($3::int[], $4::int[]) m(week, next)
					where c.club_id = $1 and c.plan_id = $2 and c.week = m.week`,
				`update ` + table + ` set week = -1 - week
					where club_id = $1 and plan_id = $2 and week < 0
						and $3::int[] is not null and $4::int[] is not null`} {
				if _, err := tx.Exec(ctx, q, a.Club, id, from, into); err != nil {
					return err
				}
			}
		}
		return nil
	})
}

// Planned is a drill of a week that is given to some students of a group.
type Planned struct {
	Group    game.GroupID
	Drill    game.DrillID
	Students []game.PersonID
}

// GivePlan gives a week of a plan, all groups at once; it can be undone. What was given of
// it before is a conflict.
func (s *Store) GivePlan(ctx context.Context, a game.Actor, id game.PlanID, week int, at club.Span, what []Planned,
	sent ...Sent) (game.AssignmentID, error) {
	if len(what) == 0 {
		return 0, game.Fail(game.Bad, "Nothing of this week can be given. Put a drill into it first.")
	}
	first, err := s.once(ctx, a, sent, func(tx pgx.Tx, _ Sent) (int64, error) {
		return s.givePlan(ctx, tx, a, id, week, at, what)
	})
	return game.AssignmentID(first), err
}

func (s *Store) givePlan(ctx context.Context, tx pgx.Tx, a game.Actor, id game.PlanID, week int, at club.Span,
	what []Planned) (first int64, err error) {
	was, err := stateOf(ctx, tx, a.Club, ofPlan, int64(id)) // it holds the plan, so that a week is not given twice
	if err != nil {
		return 0, err
	}
	groups := make([]game.GroupID, len(what))
	for i, p := range what {
		groups[i] = p.Group
	}
	var given bool
	const there = `select exists (select from plan_given g
		join assignments a on a.club_id = g.club_id and a.id = g.assignment_id and a.withdrawn_at is null
		where g.club_id = $1 and g.plan_id = $2 and g.week = $3 and g.group_id = any($4))`
	if err := tx.QueryRow(ctx, there, a.Club, id, week, groups).Scan(&given); err != nil {
		return 0, err
	}
	if given {
		return 0, game.Fail(game.Conflict, "Somebody else has given this week meanwhile. Look at the plan again.")
	}
	slices.SortStableFunc(what, func(a, b Planned) int { return cmp.Compare(a.Drill, b.Drill) }) // held in one order
	all := make([]gift, len(what))
	for i, p := range what {
		d, _, _, err := onShelf(ctx, tx, a.Club, p.Drill)
		if err != nil {
			return 0, err
		}
		all[i] = gift{d, p.Students, at}
	}
	ids, err := s.giveAll(ctx, tx, a, all)
	if err != nil {
		return 0, err
	}
	for i, p := range what {
		const keep = `insert into plan_given (club_id, plan_id, week, group_id, assignment_id) values ($1, $2, $3, $4, $5)`
		if _, err := tx.Exec(ctx, keep, a.Club, id, week, p.Group, ids[i]); err != nil {
			return 0, err
		}
	}
	_, err = s.note(ctx, tx, a, ofPlan.what, int64(id), was) // an earlier change is undone no more
	return ids[0], err
}

// ReadyOnShelf finds the drills of the shelf that Drover brought, by their codes: of each
// the version that is there now, and its place.
func (s *Store) ReadyOnShelf(ctx context.Context, c game.ClubID) (map[string]ShelfPlace, error) {
	const q = `select r.ready, v.shelf_id as shelf, v.id as drill, v.name
		from drills r
		join drills v on v.club_id = r.club_id and v.shelf_id = r.shelf_id and v.archived_at is null
		where r.club_id = $1 and r.ready is not null`
	rows, err := readAll[ShelfPlace](ctx, s.pool, q, c)
	out := map[string]ShelfPlace{}
	for _, row := range rows {
		out[row.Ready] = row
	}
	return out, translate(err)
}

// ShelfPlace is a place on the shelf with the drill that is there.
type ShelfPlace struct {
	Ready string // the code of a drill that Drover brought
	Shelf int64
	Drill game.DrillID
	Name  string
}

// ShelfPlaces lists the places of the shelf by name.
func (s *Store) ShelfPlaces(ctx context.Context, c game.ClubID) ([]ShelfPlace, error) {
	const q = `select coalesce(d.ready, '') as ready, d.shelf_id as shelf, d.id as drill, d.name
		from drills d
		where d.club_id = $1 and d.archived_at is null
		order by lower(d.name), d.id`
	out, err := readAll[ShelfPlace](ctx, s.pool, q, c)
	return out, translate(err)
}
