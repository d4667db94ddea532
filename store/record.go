package store

import (
	"context"
	"maps"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"

	"github.com/jackc/pgx/v5"
)

// Part is a part of a record that a page may need.
type Part int

// The parts of a record.
const (
	WithStages  Part = iota
	WithMastery      // and bells
	WithTries
	WithTasks
	WithUnderWay // last parts and re-checks that are not ended
	WithSeconds  // of play today
	WithPlayed
	WithHolds
	WithPlacement
	WithSpent // time of the last weeks
)

// read fills a part of the records.
func (r *reading) read(p Part) error {
	return [...]func() error{
		WithStages: r.stages, WithMastery: r.mastery, WithTries: r.tries, WithTasks: r.tasks,
		WithUnderWay: r.underWay, WithSeconds: r.secondsToday, WithPlayed: r.played, WithHolds: r.holds, WithPlacement: r.placement,
		WithSpent: r.spent,
	}[p]()
}

// RecordOf reads the named parts of what is known of one student.
func (s *Store) RecordOf(ctx context.Context, c game.ClubID, student game.PersonID,
	parts ...Part) (progress.Record, error) {
	var out progress.Record
	err := transact(ctx, s.pool, steady, func(tx pgx.Tx) error {
		r := &reading{ctx: ctx, tx: tx, club: c, only: []game.PersonID{student}, now: s.now()}
		all, err := r.fill()
		for i := 0; err == nil && i < len(parts); i++ {
			err = r.read(parts[i])
		}
		if err == nil && len(all) == 0 {
			err = missing()
		}
		if err == nil {
			out = all[0]
		}
		return err
	})
	return out, err
}

// reading fills the records of some students, with a fixed number of queries
// whatever their number; but what is set, the day's seconds and the starting check are
// asked for student by student, and are read for one alone.
type reading struct {
	ctx  context.Context //nolint:containedctx // it lives as long as the transaction
	tx   pgx.Tx
	club game.ClubID
	only []game.PersonID // whose records they are
	now  time.Time
	by   map[game.PersonID]*progress.Record
}

// studentRow is a student with the club's time zone.
type studentRow struct {
	club.Person
	Zone string
}

// empty is a record of which no part is read yet.
func (r studentRow) empty(now time.Time) progress.Record {
	return progress.Record{
		Student: r.Person, Now: club.Club{Zone: r.Zone}.Local(now),
		Mastery: map[progress.Key]progress.Mastery{}, Bells: map[progress.Key]progress.Day{},
		Parts: map[game.AssignmentID]game.GameID{}, Rechecks: map[progress.Key]string{},
	}
}

// fill reads who there is, then what each of the parts adds.
func (r *reading) fill(parts ...func() error) ([]progress.Record, error) {
	const q = `select ` + studentColumns + `,
			c.zone
		from people p
		join clubs c on c.id = p.club_id
		where p.club_id = $1 and p.role = 'student' and p.archived_at is null
			and p.id = any($2)
		order by lower(p.name), p.id`
	rows, err := readAll[studentRow](r.ctx, r.tx, q, r.club, r.only)
	if err != nil {
		return nil, err
	}
	all := make([]progress.Record, len(rows))
	r.by = map[game.PersonID]*progress.Record{}
	for i, row := range rows {
		all[i] = row.empty(r.now)
		r.by[row.ID] = &all[i]
	}
	for _, part := range parts {
		if err := part(); err != nil {
			return nil, err
		}
	}
	return all, nil
}

// each reads rows of what the students of a reading have, and calls add for each with
// its student's record. The query names the club and the students, @club and @only.
func each[T interface{ of() game.PersonID }](r *reading, sql string, more args, add func(*progress.Record, T)) error {
	with := args{"club": r.club, "only": r.only}
	maps.Copy(with, more)
	rows, err := readAll[T](r.ctx, r.tx, sql, with)
	for _, row := range rows {
		if record := r.by[row.of()]; record != nil {
			add(record, row)
		}
	}
	return err
}

// owned is the column that says whose a row is.
type owned struct{ StudentID game.PersonID }

func (o owned) of() game.PersonID { return o.StudentID }

// playedStage is one stage of one ended game, which says itself whose it is.
type playedStage struct{ progress.StagePlayed }

func (p playedStage) of() game.PersonID { return p.Student }

func (r *reading) stages() error {
	const q = `select
			student_id as student,
			ending,
			stage,
			clean,
			completed,
			ended_at as ended,
			game_id as game,
			moves,
			bad,
			par,
			made,
			offered,
			habits
		from stage_results
		where club_id = @club and student_id = any(@only)
			and ended_at <= @now
		order by student_id, ending, stage, ended_at, game_id`
	return each(r, q, args{"now": r.now}, func(of *progress.Record, p playedStage) {
		of.Stages = append(of.Stages, p.StagePlayed)
	})
}

func (r *reading) bells() error {
	const q = `select student_id, ending, stage, rung_on
		from bells
		where club_id = @club and student_id = any(@only)`
	type row struct {
		owned
		progress.Key
		RungOn time.Time
	}
	return each(r, q, nil, func(of *progress.Record, b row) { of.Bells[b.Key] = progress.DayOf(b.RungOn) })
}

// trialRow is a trial by the time at which it ended; its day depends on the zone.
type trialRow struct {
	owned
	ID       game.GameID
	EndedAt  time.Time
	Ending   string
	From, To ending.Stage
	Moves    int
	Result   practice.Result
	Clean    map[ending.Stage]bool
}

func (r trialRow) trial(zone *time.Location) progress.Trial {
	return progress.Trial{
		Game: r.ID, Day: progress.DayOf(r.EndedAt.In(zone)),
		Ending: r.Ending, From: r.From, To: r.To, Moves: r.Moves, Result: r.Result, Clean: r.Clean,
	}
}

// readTrials reads ended games in test mode, the oldest first, and what was kept of those that
// are gone. Games that were left say nothing.
const readTrials = `select
		g.student_id,
		g.id,
		g.ended_at,
		g.ending,
		coalesce(g.stage_from, g.target) as "from",
		g.target as "to",
		g.moves,
		g.result,
		coalesce((select jsonb_object_agg(r.stage, r.clean) from stage_results r
			where r.club_id = g.club_id and r.game_id = g.id), '{}') as clean
	from games g
	where g.club_id = @club and g.student_id = any(@only)
		and g.mode = 'test' and g.counts and g.ended_at is not null
		and g.kind in ('drill', 'recheck') and g."end" <> 'left'
	union all
	select
		k.student_id,
		k.game_id,
		k.ended_at,
		k.ending,
		k.stage_from,
		k.target,
		k.moves,
		k.result,
		coalesce((select jsonb_object_agg(r.stage, r.clean) from stage_results r
			where r.club_id = k.club_id and r.game_id = k.game_id), '{}')
	from kept_trials k
	where k.club_id = @club and k.student_id = any(@only)
	order by ended_at, id`

// mastery reads bells and trials, from which dates are worked out each time: they
// follow whatever is noted of a game later.
func (r *reading) mastery() error {
	if err := r.bells(); err != nil {
		return err
	}
	err := each(r, readTrials, nil, func(of *progress.Record, t trialRow) {
		of.Trials = append(of.Trials, t.trial(of.Now.Location()))
	})
	if err != nil {
		return err
	}
	holidays, err := readAll[club.Holiday](r.ctx, r.tx, readHolidays, r.club)
	for _, of := range r.by {
		of.Mastery = progress.MasteryOf(of.Trials, of.Bells)
		for k, m := range of.Mastery {
			m.Due = progress.AfterHolidays(m.Due, holidays)
			of.Mastery[k] = m
		}
	}
	return err
}

func (r *reading) tries() error {
	all, err := tries(r.ctx, r.tx, r.club, r.only, 0, r.now)
	for _, t := range all {
		if of := r.by[t.Student.ID]; of != nil {
			of.Tries = append(of.Tries, t)
		}
	}
	return err
}

func (r *reading) tasks() error {
	for id, of := range r.by {
		var err error
		if of.Tasks, err = tasks(r.ctx, r.tx, r.club, id, r.now); err != nil {
			return err
		}
	}
	return nil
}

// openRow is a last part or a re-check that is not ended.
type openRow struct {
	owned
	progress.Key
	Task  game.AssignmentID
	ID    game.GameID
	Kind  GameKind
	Start string
}

// underWay reads the last parts and the re-checks that are not ended.
func (r *reading) underWay() error {
	const q = `select
			student_id,
			coalesce(assignment_id, 0) as task,
			id,
			kind,
			ending,
			coalesce(stage_from, '') as stage,
			start_fen as start
		from games
		where club_id = @club and student_id = any(@only)
			and kind in ('part', 'recheck') and ended_at is null`
	return each(r, q, nil, func(of *progress.Record, g openRow) {
		if g.Kind == OfPart {
			of.Parts[g.Task] = g.ID
		} else {
			of.Rechecks[g.Key] = g.Start
		}
	})
}

// secondsToday adds up the thought of the day, which begins at midnight in the club's
// own time.
func (r *reading) secondsToday() error {
	for id, of := range r.by {
		seconds, err := playedSince(r.ctx, r.tx, r.club, id, club.Midnight(of.Now))
		if err != nil {
			return err
		}
		of.Seconds = seconds
	}
	return nil
}

// playedRow is an ended game and whose it is.
type playedRow struct {
	owned
	progress.Played
}

// played reads the games that ended, the oldest first, with the time of thought.
func (r *reading) played() error {
	const q = `select
			g.student_id,
			g.ending,
			g.hold,
			g.ended_at as ended,
			coalesce((select (sum(took) + 500) / 1000 from acts c
				where c.club_id = @club and c.game_id = g.id), 0) as seconds,
			g.result,
			coalesce(g.failed_stage, '') as failed,
			g."end"
		from games g
		where g.club_id = @club and g.student_id = any(@only)
			and g.ended_at is not null and g.counts
		order by g.ended_at, g.id`
	return each(r, q, nil, func(of *progress.Record, p playedRow) { of.Played = append(of.Played, p.Played) })
}

func (r *reading) placement() error {
	for id, of := range r.by {
		var err error
		if of.Placement, err = placement(r.ctx, r.tx, r.club, id); err != nil {
			return err
		}
	}
	return nil
}
