package store

import (
	"context"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/practice"
	"drover/game/progress"

	"github.com/jackc/pgx/v5"
)

// Part is a part of a record that a page may need.
type Part int

// The parts of a record.
const (
	WithStages Part = iota
	WithHabits
	WithStandings // and bells
	WithTries
	WithTasks
	WithUnderWay // last parts and re-checks that are not ended
	WithSeconds  // of play today
	WithPlayed
	WithCheck
)

// read fills a part of the records.
func (r *reading) read(p Part) error {
	return [...]func() error{
		WithStages: r.stages, WithHabits: r.habits, WithStandings: r.standings, WithTries: r.tries, WithTasks: r.tasks,
		WithUnderWay: r.underWay, WithSeconds: r.secondsToday, WithPlayed: r.played, WithCheck: r.check,
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

// Records reads the records of all students of a club, by name, as far as the stage
// view looks at them: the stages, habits and tries of the last weeks, and the bells.
func (s *Store) Records(ctx context.Context, c game.ClubID) ([]progress.Record, error) {
	var out []progress.Record
	err := transact(ctx, s.pool, steady, func(tx pgx.Tx) (err error) {
		now := s.now()
		r := reading{ctx: ctx, tx: tx, club: c, now: now, since: now.Add(-progress.Window)}
		out, err = r.fill(r.stages, r.habits, r.bells, r.tries)
		return err
	})
	return out, err
}

// reading fills the records of some students, with a fixed number of queries
// whatever their number; but what is set, the day's seconds and the starting check are
// asked for student by student, and are read for one alone.
type reading struct {
	ctx   context.Context //nolint:containedctx // it lives as long as the transaction
	tx    pgx.Tx
	club  game.ClubID
	only  []game.PersonID // nil: all students of the club
	now   time.Time
	since time.Time // before it no stage is read
	by    map[game.PersonID]*progress.Record
}

// fill reads who there is, then what each of the parts adds.
func (r *reading) fill(parts ...func() error) ([]progress.Record, error) {
	const q = `select p.id, p.name, p.number, p.wording, c.zone from people p join clubs c on c.id = p.club_id
		where p.club_id = $1 and p.role = 'student' and p.archived_at is null and ($2::bigint[] is null or p.id = any($2))
		order by lower(p.name), p.id`
	rows, err := r.tx.Query(r.ctx, q, r.club, r.only)
	if err != nil {
		return nil, err
	}
	all, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (progress.Record, error) {
		p, zone := club.Person{Club: r.club, Role: game.Student}, ""
		err := row.Scan(&p.ID, &p.Name, &p.Number, &p.Wording, &zone)
		return progress.Record{
			Student: p, Now: club.Club{Zone: zone}.Local(r.now), Habits: progress.Habits{},
			Standings: map[progress.Key]progress.Standing{}, Bells: map[progress.Key]progress.Day{},
			Parts: map[game.AssignmentID]game.GameID{}, Rechecks: map[progress.Key]string{},
		}, err
	})
	if err != nil {
		return nil, err
	}
	r.by = map[game.PersonID]*progress.Record{}
	for i := range all {
		r.by[all[i].Student.ID] = &all[i]
	}
	for _, part := range parts {
		if err := part(); err != nil {
			return nil, err
		}
	}
	return all, nil
}

// each reads rows whose first column is the student, and calls add with the student's
// record for each.
func (r *reading) each(sql string, args, into []any, add func(*progress.Record)) error {
	rows, err := r.tx.Query(r.ctx, sql, append([]any{r.club, r.only}, args...)...)
	if err != nil {
		return err
	}
	var student game.PersonID
	_, err = pgx.ForEachRow(rows, append([]any{&student}, into...), func() error {
		if of := r.by[student]; of != nil {
			add(of)
		}
		return nil
	})
	return err
}

func (r *reading) stages() error {
	const q = `select student_id, ending, stage, clean, completed, ended_at, game_id, moves, bad, par, made, offered
		from stage_results where club_id = $1 and ($2::bigint[] is null or student_id = any($2))
			and ended_at > $3 and ended_at <= $4 order by student_id, ending, stage, ended_at, game_id`
	var p progress.StagePlayed
	into := []any{&p.Ending, &p.Stage, &p.Clean, &p.Completed, &p.Ended, &p.Game, &p.Moves, &p.Bad, &p.Par, &p.Made, &p.Offered}
	return r.each(q, []any{r.since, r.now}, into, func(of *progress.Record) {
		p.Student = of.Student.ID
		of.Stages = append(of.Stages, p)
		p.Made, p.Offered = nil, nil // the next row must not fill these again
	})
}

func (r *reading) habits() error {
	const q = `select g.student_id, g.ending, h.key, sum((h.value->>'n')::int)::int, sum((h.value->>'k')::int)::int
		from games g, jsonb_each(g.habits) h
		where g.club_id = $1 and ($2::bigint[] is null or g.student_id = any($2)) and g.ended_at > $3 and g.counts
			group by 1, 2, 3`
	var code string
	var habit practice.Habit
	var t practice.Tally
	return r.each(q, []any{r.now.Add(-progress.Window)}, []any{&code, &habit, &t.N, &t.K}, func(of *progress.Record) {
		if of.Habits[code] == nil {
			of.Habits[code] = map[practice.Habit]practice.Tally{}
		}
		of.Habits[code][habit] = t
	})
}

func (r *reading) bells() error {
	const q = `select student_id, ending, stage, rung_on from bells where club_id = $1 and ($2::bigint[] is null
		or student_id = any($2))`
	var k progress.Key
	var on time.Time
	return r.each(q, nil, []any{&k.Ending, &k.Stage, &on}, func(of *progress.Record) { of.Bells[k] = progress.DayOf(on) })
}

// standings reads bells and trials, from which dates are worked out each time: they
// follow whatever is noted of a game later.
func (r *reading) standings() error {
	if err := r.bells(); err != nil {
		return err
	}
	trials := map[game.PersonID][]progress.Trial{}
	var t progress.Trial
	var at time.Time
	into := []any{&at, &t.Ending, &t.From, &t.To, &t.Moves, &t.Result, &t.Clean}
	err := r.each(trialsQuery, nil, into, func(of *progress.Record) {
		t.Day = progress.DayOf(at.In(of.Now.Location()))
		trials[of.Student.ID] = append(trials[of.Student.ID], t)
		t.Clean = nil
	})
	for id, of := range r.by {
		of.Standings = progress.Standings(trials[id], of.Bells)
	}
	return err
}

// trialsQuery reads ended games in test mode, the oldest first. Games that were left
// say nothing.
const trialsQuery = `select g.student_id, g.ended_at, g.ending, coalesce(g.stage_from, g.target), g.target, g.moves,
	g.result,
		coalesce((select jsonb_object_agg(r.stage, r.clean) from stage_results r where r.club_id = g.club_id and r.game_id = g.id), '{}')
	from games g where g.club_id = $1 and ($2::bigint[] is null or g.student_id = any($2)) and g.mode = 'test' and g.counts
		and g.ended_at is not null and g.kind in ('drill', 'recheck') and g."end" <> 'left' order by g.ended_at, g.id`

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

// underWay reads the last parts and the re-checks that are not ended.
func (r *reading) underWay() error {
	const q = `select student_id, coalesce(assignment_id, 0), id, kind, ending, coalesce(stage_from, ''), start_fen
		from games
		where club_id = $1 and ($2::bigint[] is null or student_id = any($2)) and kind in ('part', 'recheck')
			and ended_at is null`
	var task game.AssignmentID
	var id game.GameID
	var kind GameKind
	var k progress.Key
	var start string
	return r.each(q, nil, []any{&task, &id, &kind, &k.Ending, &k.Stage, &start}, func(of *progress.Record) {
		if kind == OfPart {
			of.Parts[task] = id
		} else {
			of.Rechecks[k] = start
		}
	})
}

// secondsToday adds up the thought of the day, which begins at midnight in the club's
// own time.
func (r *reading) secondsToday() error {
	for id, of := range r.by {
		seconds, err := playedSince(r.ctx, r.tx, r.club, id, midnight(of.Now))
		if err != nil {
			return err
		}
		of.Seconds = seconds
	}
	return nil
}

func midnight(now time.Time) time.Time {
	return time.Date(now.Year(), now.Month(), now.Day(), 0, 0, 0, 0, now.Location())
}

// played reads the games that ended, the oldest first, with the time of thought.
func (r *reading) played() error {
	const q = `select g.student_id, g.ending, g.hold, g.ended_at, coalesce((select (sum(took) + 500) / 1000 from acts c
				where c.club_id = $1 and c.game_id = g.id), 0)::int, g.result, coalesce(g.failed_stage, ''), g."end"
		from games g where g.club_id = $1 and ($2::bigint[] is null or g.student_id = any($2))
			and g.ended_at is not null and g.counts order by g.ended_at, g.id`
	var p progress.Played
	into := []any{&p.Ending, &p.Hold, &p.Ended, &p.Seconds, &p.Result, &p.Failed, &p.End}
	return r.each(q, nil, into, func(of *progress.Record) { of.Played = append(of.Played, p) })
}

func (r *reading) check() error {
	for id, of := range r.by {
		var err error
		if of.Check, err = placement(r.ctx, r.tx, r.club, id); err != nil {
			return err
		}
	}
	return nil
}
