package store

import (
	"cmp"
	"context"
	"slices"

	"drover/game"
	"drover/game/club"
	"drover/game/progress"

	"github.com/jackc/pgx/v5"
)

// NextLine is a student with what comes next.
type NextLine struct {
	Student  club.Person
	Next     progress.Proposal
	Drill    int   // its place in Nexts.Shelf; -1: no drill of the shelf suits it
	Evidence int64 // the last game that has ended
}

// Nexts is what comes next for whom.
type Nexts struct {
	Lines []NextLine
	Full  []club.Person   // have as many drills open as a proposal adds up to
	Have  int             // students who have the drill that comes next already, open or for a later week
	Off   int             // students whose line was put off, or done without a game since
	Check int             // students who have the starting check before them, which says what comes next
	Shelf []club.Drill    // ready ones first
	Had   map[string]bool // codes of ready drills that the club has had
}

// Nexts reads what comes next for the students of one group or of all (0), by name.
func (s *Store) Nexts(ctx context.Context, a game.Actor, group game.GroupID) (n Nexts, err error) {
	err = transact(ctx, s.pool, steady, func(tx pgx.Tx) error {
		n, err = s.nexts(ctx, tx, a, group, nil)
		return err
	})
	return n, err
}

// nextRow is a student as the database gives what comes next.
type nextRow struct {
	club.Person
	Fresh    bool // no game has ended yet
	Next     *progress.Proposal
	Evidence int64
	Has      []game.DrillID // that are not done
	Open     int            // of those, which are open already
	Check    bool           // the starting check is under way, and nothing else was played
}

// lastEnded is the last game of the student p that has ended.
const lastEnded = `(select g.id
			from games g
			where g.club_id = p.club_id and g.student_id = p.id and g.ended_at is not null and g.counts
			order by g.id desc
			limit 1)`

// nexts reads it within a transaction: of the students of a group, or where some are named
// of those. Who waits for consent cannot play, and is left out.
func (s *Store) nexts(ctx context.Context, tx pgx.Tx, a game.Actor, group game.GroupID, only []game.PersonID) (n Nexts, err error) {
	const q = `with undone as (
			select e.student_id, array_agg(a.drill_id) as has, count(*) filter (where a.opens_at <= @now)::int as open
			from assignees e
			join assignments a on a.club_id = e.club_id and a.id = e.assignment_id
			where e.club_id = @club and e.passed_at is null and e.withdrawn_at is null and a.withdrawn_at is null
			group by e.club_id, e.student_id)
		select ` + studentColumns + `,
			o.student_id is null as fresh,
			nullif(o.said->'Next', 'null') as next,
			coalesce(l.id, 0) as evidence,
			coalesce(u.has, '{}') as has,
			coalesce(u.open, 0) as open,
			coalesce(nullif(o.said->'Cells', 'null'), '[]') = '[]' and exists (select from placements c
				where c.club_id = p.club_id and c.student_id = p.id and c.ended_at is null) as check
		from people p
		left join overviews o on o.club_id = p.club_id and o.student_id = p.id
		left join undone u on u.student_id = p.id
		left join lateral ` + lastEnded + ` l on true
		where p.club_id = @club and p.role = 'student' and p.archived_at is null and ` + mayPractise + `
			and (@only::bigint[] is null or p.id = any(@only))` + heldToGroup + `
		order by lower(p.name), p.id`
	rows, err := readAll[nextRow](ctx, tx, q, args{
		"club": a.Club, "reader": a.Person, "group": group, "only": only, "now": s.now(),
	})
	if err != nil {
		return n, err
	}
	known, err := n.stock(ctx, tx, a.Club, rows)
	if err != nil {
		return n, err
	}
	for _, row := range rows {
		n.add(row, known)
	}
	return n, s.leaveDone(ctx, tx, a, &n)
}

// stock reads the drills of the shelf, and gives every drill that somebody has by its number.
func (n *Nexts) stock(ctx context.Context, tx pgx.Tx, c game.ClubID, rows []nextRow) (map[game.DrillID]club.Drill, error) {
	type stocked struct {
		club.Drill
		Ready string
		Old   bool // not on the shelf
	}
	var has []game.DrillID
	for _, row := range rows {
		has = append(has, row.Has...)
	}
	const q = `select ` + drillColumns + `,
			coalesce(d.ready, '') as ready,
			d.archived_at is not null as old
		from drills d
		where d.club_id = $1 and (d.archived_at is null or d.ready is not null or d.id = any($2))
		order by d.ready is null, d.id`
	all, err := readAll[stocked](ctx, tx, q, c, slices.Compact(slices.Sorted(slices.Values(has))))
	known := map[game.DrillID]club.Drill{}
	n.Had = map[string]bool{}
	for _, d := range all {
		known[d.ID] = d.Drill
		n.Had[d.Ready] = true
		if !d.Old {
			n.Shelf = append(n.Shelf, d.Drill)
		}
	}
	return known, err
}

// add adds what comes next for a student: of whom no game has ended nothing is known.
func (n *Nexts) add(row nextRow, known map[game.DrillID]club.Drill) {
	next := nextOf(row.Fresh, row.Next)
	switch {
	case next == nil:
	case row.Check:
		n.Check++
	case slices.ContainsFunc(row.Has, func(id game.DrillID) bool { return next.Suits(known[id]) > 0 }):
		n.Have++
	case row.Open >= progress.MostOpen:
		n.Full = append(n.Full, row.Person)
	default:
		n.Lines = append(n.Lines, NextLine{row.Person, *next, next.Best(n.Shelf), row.Evidence})
	}
}

// nextOf is what comes next: as an overview says it, and where there is none, for somebody of
// whom nothing is known.
func nextOf(fresh bool, said *progress.Proposal) *progress.Proposal {
	if !fresh {
		return said
	}
	p, ok := progress.Propose(progress.Known{})
	if !ok {
		return nil
	}
	return &p
}

// line is it as a line that can be put off, or done.
func (l NextLine) line() Line {
	return Line{Kind: progress.LineNext, Subject: int64(l.Student.ID), What: l.Next.Code(), Evidence: l.Evidence}
}

// leaveDone leaves the lines that nobody has done, or put off.
func (s *Store) leaveDone(ctx context.Context, tx pgx.Tx, a game.Actor, n *Nexts) error {
	lines := make([]Line, len(n.Lines))
	for i, l := range n.Lines {
		lines[i] = l.line()
	}
	lines, err := s.unattended(ctx, tx, a, lines)
	if err != nil {
		return err
	}
	left := map[int64]bool{}
	for _, l := range lines {
		left[l.Subject] = true
	}
	n.Off = len(n.Lines) - len(left)
	n.Lines = slices.DeleteFunc(n.Lines, func(l NextLine) bool { return !left[int64(l.Student.ID)] })
	return nil
}

// NextSeen is a line as a coach saw it.
type NextSeen struct {
	Student game.PersonID
	Drill   game.DrillID // 0: it is to be made
	Code    string       // of the proposal
}

// GiveNext gives what comes next, each line as it was seen; it can be undone at once. made
// has the drills that are not on the shelf yet, by the code of their proposal. Who has
// something else before them by now, has it already or has enough open gets nothing. It
// returns the first assignment, 0 where nobody got any; if the form was sent before, the one
// that was made then.
func (s *Store) GiveNext(ctx context.Context, a game.Actor, seen []NextSeen, made map[string]progress.Ready,
	sent ...Sent) (game.AssignmentID, error) {
	first, err := s.once(ctx, a, sent, func(tx pgx.Tx, _ Sent) (int64, error) {
		var drills []game.DrillID
		students := make([]game.PersonID, len(seen))
		for i, line := range seen {
			students[i] = line.Student
			drills = append(drills, line.Drill)
		}
		if err := lockClub(ctx, tx, a.Club); err != nil { // of two who give at once the second reads what the first gave
			return 0, err
		}
		const hold = `select from drills where club_id = $1 and id = any($2) order by id for no key update`
		if _, err := tx.Exec(ctx, hold, a.Club, drills); err != nil {
			return 0, err
		}
		if err := holdStudents(ctx, tx, a.Club, students); err != nil {
			return 0, err
		}
		now, err := s.nexts(ctx, tx, a, 0, students)
		if err != nil {
			return 0, err
		}
		gifts, err := now.gifts(ctx, tx, a, seen, made)
		if err != nil || len(gifts) == 0 {
			return 0, err
		}
		for i := range gifts {
			gifts[i].at = club.Span{Opens: s.now()}
		}
		ids, err := s.giveAll(ctx, tx, a, gifts)
		if err != nil {
			return 0, err
		}
		return ids[0], nil
	})
	return game.AssignmentID(first), err
}

// gifts are the lines that are as they were seen, drill by drill. A drill that nobody has
// made meanwhile is put on the shelf.
func (n *Nexts) gifts(ctx context.Context, tx pgx.Tx, a game.Actor, seen []NextSeen, made map[string]progress.Ready) ([]gift, error) {
	by := map[game.PersonID]NextSeen{}
	for _, line := range seen {
		by[line.Student] = line
	}
	to := map[game.DrillID]*gift{}
	for _, l := range n.Lines {
		was := by[l.Student.ID]
		if was.Code != l.Next.Code() || l.Drill >= 0 && was.Drill != 0 && was.Drill != n.Shelf[l.Drill].ID {
			continue
		}
		at := l.Drill
		if at < 0 {
			at = l.Next.Best(n.Shelf) // what was made for a line before this one
		}
		if at < 0 {
			fresh, ok := made[was.Code]
			if !ok || was.Drill != 0 || n.Had[fresh.Code] && fresh.Code != "" {
				continue
			}
			id, err := putOnShelf(ctx, tx, a, fresh.Drill, place{version: 1, ready: fresh.Code})
			if err != nil {
				return nil, err
			}
			fresh.Drill.ID = game.DrillID(id)
			at, n.Shelf, n.Had[fresh.Code] = len(n.Shelf), append(n.Shelf, fresh.Drill), true
		}
		d := n.Shelf[at]
		if to[d.ID] == nil {
			to[d.ID] = &gift{drill: d}
		}
		to[d.ID].students = append(to[d.ID].students, l.Student.ID)
	}
	var out []gift
	for _, g := range to {
		out = append(out, *g)
	}
	slices.SortFunc(out, func(a, b gift) int { return cmp.Compare(a.drill.ID, b.drill.ID) })
	return out, nil
}

// holdStudents holds students until a transaction ends, in one order, so that of two who give
// them something the second counts what the first gave.
func holdStudents(ctx context.Context, tx pgx.Tx, c game.ClubID, ids []game.PersonID) error {
	const q = `select from people where club_id = $1 and id = any($2) order by id for no key update`
	_, err := tx.Exec(ctx, q, c, ids)
	return err
}

// NextGiven is a drill that was given as what came next.
type NextGiven struct {
	Drill string
	Who   []string
}

// NextGiven reads what was given with an assignment, and to whom.
func (s *Store) NextGiven(ctx context.Context, a game.Actor, id game.AssignmentID) ([]NextGiven, error) {
	const q = `select d.name as drill, array_agg(p.name order by lower(p.name), p.id) as who
		from assignments t
		join drills d on d.club_id = t.club_id and d.id = t.drill_id
		join assignees e on e.club_id = t.club_id and e.assignment_id = t.id and e.withdrawn_at is null
		join people p on p.club_id = e.club_id and p.id = e.student_id and p.archived_at is null` + inScope + `
		where t.club_id = @club and (t.id = @task or t.series = @task) and t.withdrawn_at is null
		group by t.club_id, t.id, d.name
		order by count(*) desc, t.id`
	out, err := readAll[NextGiven](ctx, s.pool, q, args{"club": a.Club, "reader": a.Person, "task": id})
	return out, translate(err)
}

// NotGiven lists those of some students who got nothing of what was given with an
// assignment; 0: of none.
func (s *Store) NotGiven(ctx context.Context, a game.Actor, id game.AssignmentID, students []game.PersonID) ([]club.Person, error) {
	const q = `select ` + studentColumns + `
		from people p
		where p.club_id = @club and p.role = 'student' and p.id = any(@students) and not exists (select from assignees e
			join assignments t on t.club_id = e.club_id and t.id = e.assignment_id
			where e.club_id = p.club_id and e.student_id = p.id and (t.id = @task or t.series = @task))` + inScope + `
		order by lower(p.name), p.id`
	out, err := readAll[club.Person](ctx, s.pool, q, args{"club": a.Club, "reader": a.Person, "task": id, "students": students})
	return out, translate(err)
}
