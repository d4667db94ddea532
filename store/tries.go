package store

import (
	"context"
	"errors"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/practice"
	"drover/game/progress"

	"github.com/jackc/pgx/v5"
)

// TaskTries is an assignment of a student with the tries at it that have ended,
// the oldest first.
type TaskTries struct {
	club.Assignment
	Student club.Person
	Tries   []progress.Try
}

// OpenTries lists the tries of the last weeks at assignments that are not
// through yet: of one student, or with 0 of all.
func (s *Store) OpenTries(ctx context.Context, c game.ClubID, student game.PersonID) ([]TaskTries, error) {
	return s.tries(ctx, c, student, 0)
}

// TriesAt lists the tries of a student at one assignment; the zero value where
// there is none yet.
func (s *Store) TriesAt(ctx context.Context, a game.Actor, task game.AssignmentID) (TaskTries, error) {
	all, err := s.tries(ctx, a.Club, a.Person, task)
	if err != nil || len(all) == 0 {
		return TaskTries{}, err
	}
	return all[0], nil
}

func (s *Store) tries(ctx context.Context, c game.ClubID, student game.PersonID, task game.AssignmentID) ([]TaskTries, error) {
	const q = `select p.id, p.name, c.zone, g.ended_at, g.start_no, g.kind, g.result, a.id, a.due_on, ` + drillColumns + `
		from assignees e join assignments a on a.club_id = e.club_id and a.id = e.assignment_id join drills d on d.club_id = a.club_id and d.id = a.drill_id
			join people p on p.club_id = e.club_id and p.id = e.student_id and p.archived_at is null join clubs c on c.id = e.club_id
			join games g on g.club_id = e.club_id and g.assignment_id = e.assignment_id and g.student_id = e.student_id
		where e.club_id = $1 and ($2 = 0 or e.student_id = $2) and ($3 = a.id or $3 = 0 and e.passed_at is null and a.withdrawn_at is null)
			and g.ended_at > $4 and g.counts and g."end" not in ('left', 'restarted') order by p.id, a.id, g.ended_at, g.id`
	rows, err := s.pool.Query(ctx, q, c, student, task, s.now().Add(-Window))
	if err != nil {
		return nil, translate(err)
	}
	var out []TaskTries
	var row TaskTries
	var zone string
	var at time.Time
	var try progress.Try
	var kind GameKind
	var result practice.Result
	into := []any{&row.Student.ID, &row.Student.Name, &zone, &at, &try.Start, &kind, &result, &row.ID, &row.Due}
	_, err = pgx.ForEachRow(rows, append(into, drillFields(&row.Drill)...), func() error {
		try.Day = progress.DayOf(club.Club{Zone: zone}.Local(at))
		try.Won, try.Part = result.Good(), kind == OfPart
		if n := len(out); n == 0 || out[n-1].ID != row.ID || out[n-1].Student.ID != row.Student.ID {
			out = append(out, row)
		}
		last := &out[len(out)-1]
		last.Tries = append(last.Tries, try)
		row.Drill = club.Drill{} // its slices must not be filled again
		return nil
	})
	return out, translate(err)
}

// PlayedSince adds up a student's seconds of thought since a time.
func (s *Store) PlayedSince(ctx context.Context, a game.Actor, since time.Time) (int, error) {
	const q = `select coalesce(sum(c.took), 0) / 1000 from games g join acts c on c.club_id = g.club_id and c.game_id = g.id
		where g.club_id = $1 and g.student_id = $2 and g.started_at > $3::timestamptz - interval '2 days' and c.at >= $3`
	var seconds int
	err := s.pool.QueryRow(ctx, q, a.Club, a.Person, since).Scan(&seconds)
	return seconds, translate(err)
}

// Part begins the last part of an assignment, in place of a next try; the one
// under way is given again.
func (s *Store) Part(ctx context.Context, a game.Actor, t club.Assignment, fen string) (game.GameID, error) {
	var id game.GameID
	err := s.tx(ctx, func(tx pgx.Tx) error {
		if err := lockStudent(ctx, tx, a); err != nil {
			return err
		}
		const open = `select id from games where club_id = $1 and student_id = $2 and assignment_id = $3 and kind = 'part' and ended_at is null`
		err := tx.QueryRow(ctx, open, a.Club, a.Person, t.ID).Scan(&id)
		if err == nil || !errors.Is(err, pgx.ErrNoRows) {
			return err
		}
		id, err = beginExtra(ctx, tx, a, extra{
			kind: OfPart, task: t.ID, ending: t.Drill.Ending, from: t.Drill.From, to: t.Drill.To, fen: fen, mode: t.Drill.Mode, defender: t.Drill.Defender, rule: t.Drill.Rule,
		}, s.now())
		return err
	})
	return id, err
}

// OpenParts are the last parts that a student has under way, by assignment.
func (s *Store) OpenParts(ctx context.Context, a game.Actor) (map[game.AssignmentID]game.GameID, error) {
	const q = `select assignment_id, id from games where club_id = $1 and student_id = $2 and kind = 'part' and ended_at is null`
	rows, err := s.pool.Query(ctx, q, a.Club, a.Person)
	if err != nil {
		return nil, translate(err)
	}
	out := map[game.AssignmentID]game.GameID{}
	var task game.AssignmentID
	var id game.GameID
	_, err = pgx.ForEachRow(rows, []any{&task, &id}, func() error { out[task] = id; return nil })
	return out, translate(err)
}
