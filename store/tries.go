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

// TriesAt lists the tries of a student at one assignment; the zero value where
// there is none yet.
func (s *Store) TriesAt(ctx context.Context, a game.Actor, task game.AssignmentID) (progress.TaskTries, error) {
	all, err := tries(ctx, s.pool, a.Club, []game.PersonID{a.Person}, task, s.now())
	if err != nil || len(all) == 0 {
		return progress.TaskTries{}, translate(err)
	}
	return all[0], nil
}

// tryRow is one try at an assignment.
type tryRow struct {
	club.Drill
	Student game.PersonID
	Person  string // the student's name
	Game    game.GameID
	Zone    string
	Ended   time.Time
	Start   int
	Played  GameKind
	Result  practice.Result
	Task    game.AssignmentID
	Due     *time.Time
}

func (r tryRow) try() progress.Try {
	return progress.Try{
		Day:   progress.DayOf(club.Club{Zone: r.Zone}.Local(r.Ended)),
		Start: r.Start,
		Won:   r.Result.Good(),
		Part:  r.Played == OfPart,
		Game:  r.Game,
	}
}

const readTries = `select ` + drillColumns + `,
		p.id as student,
		p.name as person,
		g.id as game,
		c.zone,
		g.ended_at as ended,
		g.start_no as start,
		g.kind as played,
		g.result,
		a.id as task,
		a.due_on as due
	from assignees e
	join assignments a on a.club_id = e.club_id and a.id = e.assignment_id
	join drills d on d.club_id = a.club_id and d.id = a.drill_id
	join people p on p.club_id = e.club_id and p.id = e.student_id and p.archived_at is null
	join clubs c on c.id = e.club_id
	join games g on g.club_id = e.club_id and g.assignment_id = e.assignment_id and g.student_id = e.student_id
	where e.club_id = @club
		and e.student_id = any(@only)
		and (@task = a.id or @task = 0 and e.passed_at is null and a.withdrawn_at is null and e.withdrawn_at is null)
		and g.ended_at > @since and g.counts and g."end" not in ('left', 'restarted')
	order by p.id, a.id, g.ended_at, g.id`

// tries lists the tries of the last weeks of some students at one
// assignment, or with 0 at those that are set and not yet done.
func tries(ctx context.Context, from querier, c game.ClubID, only []game.PersonID, task game.AssignmentID,
	now time.Time) ([]progress.TaskTries, error) {
	rows, err := readAll[tryRow](ctx, from, readTries, args{
		"club": c, "only": only, "task": task, "since": now.Add(-progress.Window),
	})
	var out []progress.TaskTries
	for _, r := range rows {
		if n := len(out); n == 0 || out[n-1].ID != r.Task || out[n-1].Student.ID != r.Student {
			out = append(out, progress.TaskTries{
				Assignment: club.Assignment{ID: r.Task, Drill: r.Drill, Due: r.Due},
				Student:    club.Person{ID: r.Student, Name: r.Person},
			})
		}
		last := &out[len(out)-1]
		last.Tries = append(last.Tries, r.try())
	}
	return out, err
}

// playedSince adds up a student's seconds of thought since a time.
func playedSince(ctx context.Context, from querier, c game.ClubID, student game.PersonID,
	since time.Time) (int, error) {
	const q = `select coalesce(sum(c.took), 0) / 1000
		from games g
		join acts c on c.club_id = g.club_id and c.game_id = g.id
		where g.club_id = $1 and g.student_id = $2
			and g.started_at > $3::timestamptz - interval '2 days' and c.at >= $3`
	var seconds int
	err := from.QueryRow(ctx, q, c, student, since).Scan(&seconds)
	return seconds, err
}

// Part begins the last part of an assignment, in place of a next try; the one
// under way is given again.
func (s *Store) Part(ctx context.Context, a game.Actor, t club.Assignment, fen string) (game.GameID, error) {
	var id game.GameID
	err := s.tx(ctx, func(tx pgx.Tx) error {
		if err := lockStudent(ctx, tx, a); err != nil {
			return err
		}
		const open = `select id from games
			where club_id = $1 and student_id = $2 and assignment_id = $3 and kind = 'part' and ended_at is null`
		err := tx.QueryRow(ctx, open, a.Club, a.Person, t.ID).Scan(&id)
		if err == nil || !errors.Is(err, pgx.ErrNoRows) {
			return err
		}
		id, err = beginExtra(ctx, tx, a, extra{
			kind: OfPart, task: t.ID, ending: t.Drill.Ending, from: t.Drill.From, to: t.Drill.To, fen: fen, mode: t.Drill.Mode,
			defender: t.Drill.Defender, rule: t.Drill.Rule,
		}, s.now())
		return err
	})
	return id, err
}
