package store

import (
	"context"
	"slices"
	"strconv"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/practice"
	"drover/game/progress"

	"github.com/jackc/pgx/v5"
)

const attendedColumns = `t.kind, t.subject_id as subject, t.what, t.evidence, t.until_at as until`

// stands says whether what was done about a line t still is: an assignment may have been
// withdrawn since, from all or from the student.
const stands = `(t.task_id is null or exists (select from assignments a
			join assignees e on e.club_id = a.club_id and e.assignment_id = a.id and e.student_id = t.subject_id
			where a.club_id = t.club_id and a.id = t.task_id and a.withdrawn_at is null and e.withdrawn_at is null))`

// attendedKey names a line.
type attendedKey struct {
	kind    progress.LineKind
	subject int64
	what    string
}

// unattended leaves the lines that nobody has done, or put off for longer.
func (s *Store) unattended(ctx context.Context, tx pgx.Tx, a game.Actor, lines []Line) ([]Line, error) {
	type row struct {
		Kind     progress.LineKind
		Subject  int64
		What     string
		Evidence int64
		Until    *time.Time
	}
	var kinds []string
	for _, l := range lines {
		kinds = append(kinds, string(l.Kind))
	}
	slices.Sort(kinds)
	const q = `select ` + attendedColumns + ` from attended t where t.club_id = $1 and t.kind = any($2) and ` + stands
	rows, err := readAll[row](ctx, tx, q, a.Club, slices.Compact(kinds))
	if err != nil {
		return nil, err
	}
	seen := map[attendedKey]row{}
	for _, r := range rows {
		seen[attendedKey{r.Kind, r.Subject, r.What}] = r
	}
	return slices.DeleteFunc(lines, func(l Line) bool {
		r, is := seen[attendedKey{l.Kind, l.Subject, l.What}]
		switch {
		case !is:
			return false
		case r.Until != nil:
			return s.now().Before(*r.Until)
		}
		return !l.Kind.Returns(r.Evidence, l.Evidence)
	}), nil
}

// LaterFor is for how long a line is put off.
const LaterFor = 7 * 24 * time.Hour

// Later puts lines off for a week, for all coaches of the students. What somebody has done
// since they were seen stays done, and what is put off already stays so.
func (s *Store) Later(ctx context.Context, a game.Actor, lines ...Line) error {
	until := s.now().Add(LaterFor)
	return s.tx(ctx, func(tx pgx.Tx) error {
		if err := holdStudents(ctx, tx, a.Club, studentsOf(lines)); err != nil {
			return err
		}
		left, err := s.unattended(ctx, tx, a, slices.Clone(lines))
		if err != nil {
			return err
		}
		for _, l := range left {
			if err := s.attend(ctx, tx, a, l, &until, 0); err != nil {
				return err
			}
		}
		return nil
	})
}

// studentsOf are the students whom lines are about; a drill that was due and a week of a term
// plan are about none.
func studentsOf(lines []Line) []game.PersonID {
	var out []game.PersonID
	for _, l := range lines {
		if l.Kind != progress.LineLate && l.Kind != progress.LinePlan {
			out = append(out, game.PersonID(l.Subject))
		}
	}
	return out
}

// attend notes that a line is done (until nil), or put off; task is the assignment that does
// it, 0: none.
func (s *Store) attend(ctx context.Context, tx pgx.Tx, a game.Actor, l Line, until *time.Time, task int64) error {
	const q = `insert into attended (club_id, kind, subject_id, what, evidence, until_at, task_id, by_id, at)
		values (@club, @kind, @subject, @what, @evidence, @until, nullif(@task::bigint, 0), @by, @now)
		on conflict (club_id, kind, subject_id, what) do update set
			evidence = greatest(attended.evidence, excluded.evidence),
			until_at = excluded.until_at,
			task_id = excluded.task_id,
			by_id = excluded.by_id,
			at = excluded.at`
	_, err := tx.Exec(ctx, q, args{
		"club": a.Club, "kind": l.Kind, "subject": l.Subject, "what": l.What, "evidence": l.Evidence,
		"until": until, "task": task, "by": a.Person, "now": s.now(),
	})
	return err
}

// attendGiven notes what a drill does about the lines of a student to whom it is given: a
// finding or a test of its ending, tries that were not won, silence, and what comes next.
func (s *Store) attendGiven(ctx context.Context, tx pgx.Tx, a game.Actor, d club.Drill, student game.PersonID,
	task int64) error {
	type row struct {
		Said  *progress.Overview
		Last  int64
		When  time.Time // of the last game, or of the beginning
		Ended int64     // the last game that has ended
	}
	const q = `select o.said, coalesce(l.id, 0) + 1 as last, coalesce(l.started_at, p.created_at) as when, coalesce(e.id, 0) as ended
		from people p
		left join lateral ` + lastBegun + ` l on true
		left join lateral ` + lastEnded + ` e on true
		left join overviews o on o.club_id = p.club_id and o.student_id = p.id
		where p.club_id = $1 and p.id = $2`
	r, err := readOne[row](ctx, tx, q, a.Club, student)
	if err != nil {
		return err
	}
	var lines []Line
	if s.now().Sub(r.When) >= silentDays*24*time.Hour {
		lines = append(lines, Line{Kind: progress.LineSilent, Evidence: r.Last})
	}
	next := nextOf(r.Said == nil, nil)
	if r.Said != nil {
		next = r.Said.Next
		lines = append(lines, slices.DeleteFunc(linesOf(*r.Said), func(l Line) bool { return !l.doneBy(d) })...)
	}
	if next != nil && next.Suits(d) > 0 {
		lines = append(lines, NextLine{Next: *next, Evidence: r.Ended}.line())
	}
	for _, l := range lines {
		l.Subject = int64(student)
		if err := s.attend(ctx, tx, a, l, nil, task); err != nil {
			return err
		}
	}
	return nil
}

// doneBy says whether a drill does something about a line of an overview: it is of the
// same ending, and a test where it is about a test.
func (l Line) doneBy(d club.Drill) bool {
	switch l.Kind {
	case progress.LineStuck:
		return l.What == whatOf(d.Ending, d.Hold)
	case progress.LineFirst:
		return l.Said.Found.First.Ending == d.Ending && !d.Hold && d.Mode != practice.Test
	case progress.LineTest:
		return l.What == d.Ending && d.Mode == practice.Test
	case progress.LineSilent, progress.LineCard, progress.LineLink, progress.LineLate, progress.LinePlan, progress.LineNext:
	}
	return false
}

// LineOf reads a line's subject from what a page gave it, as a number.
func LineOf(kind, subject, what, evidence string) (l Line, ok bool) {
	l.Kind, l.What = progress.LineKind(kind), what
	var err1, err2 error
	l.Subject, err1 = strconv.ParseInt(subject, 10, 64)
	l.Evidence, err2 = strconv.ParseInt(evidence, 10, 64)
	return l, err1 == nil && err2 == nil && l.Kind.Known() && len(what) < 60
}
