package store

import (
	"context"
	"slices"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"

	"github.com/jackc/pgx/v5"
)

// Line is a thing that needs a coach.
type Line struct {
	Kind     progress.LineKind
	Subject  int64 // the student, or of the kind late the assignment, of the kind plan the plan
	What     string
	Evidence int64
	Name     string            // the student's, the drill's, or the plan's
	Said     progress.Overview // of stuck, first and test
	Stuck    progress.StuckAt  // of stuck
	At       *time.Time        // of silent the last game, of link its end, of late the day it was due
	N, Of    int               // of late: who have done it, of how many; of plan: N is the week, from 0
	Guardian string            // of link
}

// Attended is what somebody has done about a line, or has put off.
type Attended struct {
	Kind    progress.LineKind
	Subject int64
	Name    string // of the student or the drill
	By      string
	At      time.Time
	Later   bool // put off
}

// Finished is a drill that a student has passed.
type Finished struct {
	Student game.PersonID
	Name    string
	Drill   string
	At      time.Time
	Game    game.GameID // the last one at it
	Moves   int
	Result  practice.Result
	End     practice.End
	Failed  ending.Stage
}

// Rung is a bell that was rung.
type Rung struct {
	progress.Key
	Name string
}

// ByFamily is what a guardian has done that a coach is told of.
type ByFamily struct {
	Name   string // the child's
	Action string // as the audit has it
	At     time.Time
}

// Since is what a coach reads first.
type Since struct {
	Before   *time.Time // when the coach last looked; nil: never
	Lines    []Line
	Finished []Finished
	Bells    []Rung
	Done     []Attended
	Family   []ByFamily
	Games    int // that ended since then
	Players  int // students who played them
	Next     int // students for whom something comes next
}

// silentDays is after how many days without a game a student counts as silent; days of
// holidays do not count.
const silentDays = 7

// visit is how long a coach may stay away without having left: within it a page that is
// loaded again shows the same.
const visit = 30 * time.Minute

// Looked notes that a coach looks, and says when they looked last before this visit.
func (s *Store) Looked(ctx context.Context, a game.Actor) (before *time.Time, err error) {
	const q = `update people set
			looked_before = case when looked_at < @left then looked_at else looked_before end,
			looked_at = @now
		where club_id = @club and id = @person
		returning looked_before`
	err = s.pool.QueryRow(ctx, q, args{
		"club": a.Club, "person": a.Person, "now": s.now(), "left": s.now().Add(-visit),
	}).Scan(&before)
	return before, translate(err)
}

// SinceLooked reads what needs a coach, and what happened since the coach last looked.
func (s *Store) SinceLooked(ctx context.Context, a game.Actor, before *time.Time) (Since, error) {
	out := Since{Before: before}
	from := s.now().AddDate(0, 0, -silentDays)
	if before != nil {
		from = *before
	}
	err := transact(ctx, s.pool, steady, func(tx pgx.Tx) error {
		for _, read := range []func(context.Context, pgx.Tx, game.Actor) ([]Line, error){
			s.found, s.silent, s.cardless, s.links, s.late, s.planned,
		} {
			lines, err := read(ctx, tx, a)
			if err != nil {
				return err
			}
			out.Lines = append(out.Lines, lines...)
		}
		var err error
		if out.Lines, err = s.unattended(ctx, tx, a, out.Lines); err != nil {
			return err
		}
		next, err := s.nexts(ctx, tx, a, 0, nil)
		if err != nil {
			return err
		}
		out.Next = len(next.Lines)
		return s.happened(ctx, tx, a, from, &out)
	})
	slices.SortStableFunc(out.Lines, func(a, b Line) int { return a.Kind.Rank() - b.Kind.Rank() })
	return out, err
}

// found are the lines of what is said of students: stuck, to be taught first, ready for a
// test.
func (s *Store) found(ctx context.Context, tx pgx.Tx, a game.Actor) ([]Line, error) {
	const q = readOverviews + ` and o.said is not null
			and (o.stuck or o.first_ending is not null or o.said->'Test' <> 'null') order by lower(p.name), p.id`
	all, err := overviews(ctx, tx, q, args{"club": a.Club, "reader": a.Person, "group": 0})
	if err != nil {
		return nil, err
	}
	var out []Line
	for _, o := range all {
		out = append(out, linesOf(o)...)
	}
	return out, nil
}

// linesOf are the lines of what is said of a student.
func linesOf(o progress.Overview) []Line {
	var out []Line
	line := Line{Subject: int64(o.Student.ID), Name: o.Student.Name, Said: o}
	add := func(kind progress.LineKind, what string, evidence int) {
		line.Kind, line.What, line.Evidence = kind, what, int64(evidence)
		out = append(out, line)
	}
	for _, at := range o.Stuck {
		line.Stuck = at
		add(progress.LineStuck, whatOf(at.Ending, at.Hold), max(int(at.Game), at.Lost)) // an old overview has no game
	}
	if f := o.Found.First; f != nil {
		what := f.Ending + " " + string(f.Habit)
		if f.Habit == "" {
			what += string(f.Stage)
		}
		add(progress.LineFirst, what, o.Games[f.Ending])
	}
	if o.Test != nil {
		add(progress.LineTest, o.Test.Ending, o.Games[o.Test.Ending])
	}
	return out
}

// whatOf names an ending that is won or held.
func whatOf(code string, hold bool) string {
	if hold {
		return HoldMark + code
	}
	return code
}

// silentSince is the time before which a last game is seven days of the club ago, holidays
// aside.
func (s *Store) silentSince(ctx context.Context, tx pgx.Tx, c game.ClubID) (time.Time, error) {
	holidays, err := readAll[club.Holiday](ctx, tx, readHolidays, c)
	if err != nil {
		return time.Time{}, err
	}
	at, err := s.localNow(ctx, tx, c)
	if err != nil {
		return time.Time{}, err
	}
	for counted := 0; counted < silentDays && s.now().Sub(at) < 200*24*time.Hour; {
		at = at.AddDate(0, 0, -1)
		if club.ValidateHolidays(club.CalendarDay(at), holidays) == nil {
			counted++
		}
	}
	return at, nil
}

// localNow is the time in a club.
func (s *Store) localNow(ctx context.Context, from querier, c game.ClubID) (time.Time, error) {
	var zone string
	err := from.QueryRow(ctx, `select zone from clubs where id = $1`, c).Scan(&zone)
	return club.Club{Zone: zone}.Local(s.now()), err
}

// silent are the students who have played nothing for seven days, and may play.
func (s *Store) silent(ctx context.Context, tx pgx.Tx, a game.Actor) ([]Line, error) {
	since, err := s.silentSince(ctx, tx, a.Club)
	if err != nil {
		return nil, err
	}
	const q = `select 'silent' as kind, p.id as subject, p.name, coalesce(last.id, 0) + 1 as evidence,
			last.started_at as at
		from people p
		left join lateral ` + lastBegun + ` last on true
		where p.club_id = @club and p.role = 'student' and p.archived_at is null and p.created_at < @since
			and ` + mayPractise + ` and not ` + hasNoCard + `
			and coalesce(last.started_at, p.created_at) < @since` + inScope + `
		order by last.started_at nulls first, lower(p.name), p.id`
	return readLines(ctx, tx, q, args{"club": a.Club, "reader": a.Person, "since": since})
}

// lineRow is a line as the database gives it.
type lineRow struct {
	Kind     progress.LineKind
	Subject  int64
	Name     string
	Evidence int64
	At       *time.Time
	What     string
	Guardian string
	N, Of    int
}

func readLines(ctx context.Context, tx pgx.Tx, sql string, with args) ([]Line, error) {
	rows, err := tx.Query(ctx, sql, with)
	if err != nil {
		return nil, err
	}
	found, err := pgx.CollectRows(rows, pgx.RowToStructByNameLax[lineRow])
	out := make([]Line, len(found))
	for i, r := range found {
		out[i] = Line{Kind: r.Kind, Subject: r.Subject, Name: r.Name, Evidence: r.Evidence, At: r.At, What: r.What,
			Guardian: r.Guardian, N: r.N, Of: r.Of}
	}
	return out, err
}

// cardless are the students who may play and have no card.
func (s *Store) cardless(ctx context.Context, tx pgx.Tx, a game.Actor) ([]Line, error) {
	const q = `select 'card' as kind, p.id as subject, p.name, 1 as evidence
		from people p
		where p.club_id = @club and p.role = 'student' and p.archived_at is null
			and ` + mayPractise + ` and ` + hasNoCard + inScope + `
		order by lower(p.name), p.id`
	return readLines(ctx, tx, q, args{"club": a.Club, "reader": a.Person})
}

// links are the guardians' links that end within a week, or ended within the last thirty
// days.
func (s *Store) links(ctx context.Context, tx pgx.Tx, a game.Actor) ([]Line, error) {
	const q = `select 'link' as kind, p.id as subject, p.name, u.name as guardian, u.id::text as what,
			extract(epoch from max(k.expires_at))::bigint as evidence, max(k.expires_at) as at
		from keys k
		join guardians g on g.club_id = k.club_id and g.guardian_id = k.person_id
		join people u on u.club_id = g.club_id and u.id = g.guardian_id and u.archived_at is null
		join people p on p.club_id = g.club_id and p.id = g.student_id and p.archived_at is null` + inScope + `
		where k.club_id = @club and k.kind = 'report'
		group by p.club_id, p.id, p.name, u.id, u.name
		having max(k.expires_at) between @from and @to
		order by max(k.expires_at), p.id`
	return readLines(ctx, tx, q, args{
		"club": a.Club, "reader": a.Person, "from": s.now().AddDate(0, 0, -30), "to": s.now().AddDate(0, 0, 7),
	})
}

// late are the drills whose day was within the last two weeks, and which somebody has not
// done.
func (s *Store) late(ctx context.Context, tx pgx.Tx, a game.Actor) ([]Line, error) {
	const q = `select 'late' as kind, a.id as subject, d.name, extract(epoch from a.due_on)::bigint as evidence,
			a.due_on::timestamptz as at, count(*) filter (where e.passed_at is not null)::int as n, count(*)::int as of
		from assignments a
		join drills d on d.club_id = a.club_id and d.id = a.drill_id
		join assignees e on e.club_id = a.club_id and e.assignment_id = a.id and e.withdrawn_at is null
		join people p on p.club_id = e.club_id and p.id = e.student_id and p.archived_at is null` + inScope + `
		where a.club_id = @club and a.withdrawn_at is null and a.due_on < @today::date and a.due_on > @today::date - 14
		group by a.club_id, a.id, d.name
		having count(*) filter (where e.passed_at is null) > 0
		order by a.due_on desc, a.id desc`
	now, err := s.localNow(ctx, tx, a.Club)
	if err != nil {
		return nil, err
	}
	return readLines(ctx, tx, q, args{"club": a.Club, "reader": a.Person, "today": day(now)})
}

// planned are the weeks of term plans whose Monday has come, and of which something is not
// given yet; a coach who stands in has no plans.
func (s *Store) planned(ctx context.Context, tx pgx.Tx, a game.Actor) ([]Line, error) {
	const q = `select distinct 'plan' as kind, p.id as subject, p.title as name, c.week::text as what, c.week as n, 1 as evidence
		from plans p
		join plan_cells c on c.club_id = p.club_id and c.plan_id = p.id
		join groups g on g.club_id = c.club_id and g.id = c.group_id and g.archived_at is null
		where p.club_id = @club and c.week < p.weeks
			and p.from_on + 7 * c.week <= @today::date and p.from_on + 7 * c.week > @today::date - 7
			and not exists (select from people r where r.club_id = p.club_id and r.id = @reader and r.until_at is not null)
			and exists (select from members m
				join people s on s.club_id = m.club_id and s.id = m.student_id and s.archived_at is null
				where m.club_id = g.club_id and m.group_id = g.id)
			and (c.ending is not null or exists (select from drills d
				where d.club_id = c.club_id and d.shelf_id = c.shelf_id and d.archived_at is null))
			and not exists (select from plan_given v
				join assignments t on t.club_id = v.club_id and t.id = v.assignment_id and t.withdrawn_at is null
				where v.club_id = c.club_id and v.plan_id = c.plan_id and v.week = c.week and v.group_id = c.group_id)
		order by p.id, c.week`
	now, err := s.localNow(ctx, tx, a.Club)
	if err != nil {
		return nil, err
	}
	return readLines(ctx, tx, q, args{"club": a.Club, "reader": a.Person, "today": day(now)})
}

// happened reads what was finished and changed since a time.
func (s *Store) happened(ctx context.Context, tx pgx.Tx, a game.Actor, from time.Time, out *Since) error {
	with := args{"club": a.Club, "reader": a.Person, "from": from}
	const finished = `select
			p.id as student,
			p.name,
			d.name as drill,
			e.passed_at as at,
			coalesce(l.id, 0) as game,
			coalesce(l.moves, 0) as moves,
			coalesce(l.result, '') as result,
			coalesce(l."end", '') as "end",
			coalesce(l.failed_stage, '') as failed
		from assignees e
		join assignments a on a.club_id = e.club_id and a.id = e.assignment_id
		join drills d on d.club_id = a.club_id and d.id = a.drill_id
		join people p on p.club_id = e.club_id and p.id = e.student_id and p.archived_at is null` + inScope + `
		left join lateral ` + lastOfTask + ` l on true
		where e.club_id = @club and e.passed_at > @from
		order by e.passed_at desc
		limit 30`
	var err error
	if out.Finished, err = readAll[Finished](ctx, tx, finished, with); err != nil {
		return err
	}
	const bells = `select b.ending, b.stage, p.name
		from bells b
		join people p on p.club_id = b.club_id and p.id = b.student_id and p.archived_at is null` + inScope + `
		where b.club_id = @club and b.rung_on >= @day::date
		order by b.rung_on desc, lower(p.name)
		limit 30`
	zone, err := s.localNow(ctx, tx, a.Club)
	if err != nil {
		return err
	}
	since := day(from.In(zone.Location())) // a bell has a day of the club's, and no hour
	if out.Bells, err = readAll[Rung](ctx, tx, bells, args{"club": a.Club, "reader": a.Person, "day": since}); err != nil {
		return err
	}
	const done = `select t.kind, t.subject_id as subject, coalesce(p.name, '') as name, o.name as by, t.at,
			t.until_at is not null as later
		from attended t
		join people o on o.club_id = t.club_id and o.id = t.by_id
		left join people p on p.club_id = t.club_id and p.id = t.subject_id and t.kind not in ('late', 'plan')
		where t.club_id = @club and t.at > @from and ` + stands + `
			and (t.kind = 'late' or t.kind = 'plan' and not exists (select from people r
					where r.club_id = t.club_id and r.id = @reader and r.until_at is not null)
				or p.id is not null and p.archived_at is null` + inScope + `)
			and (t.kind <> 'next' or t.until_at is not null)
		order by t.at desc
		limit 30`
	if out.Done, err = readAll[Attended](ctx, tx, done, with); err != nil {
		return err
	}
	const family = `select p.name, t.action, t.at
		from audit t
		join people u on u.club_id = t.club_id and u.id = t.actor_id and u.role = 'guardian'
		join people p on p.club_id = t.club_id and p.id = t.subject_id and p.role = 'student' and p.archived_at is null` + inScope + `
		where t.club_id = @club and t.at > @from and t.action in ('card made', 'consent given', 'consent withdrawn')
		order by t.at desc
		limit 30`
	if out.Family, err = readAll[ByFamily](ctx, tx, family, with); err != nil {
		return err
	}
	const games = `select count(*), count(distinct g.student_id)
		from games g
		join people p on p.club_id = g.club_id and p.id = g.student_id and p.role = 'student'
			and p.archived_at is null` + inScope + `
		where g.club_id = @club and g.ended_at > @from and g.counts`
	return tx.QueryRow(ctx, games, with).Scan(&out.Games, &out.Players)
}
