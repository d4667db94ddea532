package store

import (
	"context"
	"fmt"
	"time"

	"github.com/jackc/pgx/v5"
)

const endGame = `update games set
		ended_at = coalesce(ended_at, @at),
		"end" = @end,
		result = @result,
		failed_stage = nullif(@failed, ''),
		moves = @moves,
		par = @par,
		counts = counts and not @uncounted
	where club_id = @club and id = @game
	returning ended_at`

const keepStage = `insert into stage_results (
		club_id,
		game_id,
		stage,
		student_id,
		ending,
		ended_at,
		moves,
		bad,
		par,
		slips,
		helps,
		seconds,
		completed,
		clean,
		made,
		offered,
		habits
	)
	select
		club_id,
		id,
		@stage,
		student_id,
		ending,
		@at,
		@moves,
		@bad,
		@par,
		@slips,
		@helps,
		@seconds,
		@completed,
		@clean,
		@made,
		@offered,
		coalesce(@habits::jsonb, '{}')
	from games
	where club_id = @club and id = @game and counts
	on conflict (club_id, game_id, stage) do update set
		moves = excluded.moves,
		bad = excluded.bad,
		slips = excluded.slips,
		helps = excluded.helps,
		seconds = excluded.seconds,
		completed = excluded.completed,
		clean = excluded.clean,
		made = excluded.made,
		offered = excluded.offered,
		habits = excluded.habits`

// project writes what the pages read of an ended game. It may run again for
// the same game: help can be noted after the end.
func project(ctx context.Context, tx pgx.Tx, e entry, at time.Time) error {
	o := e.outcome
	err := tx.QueryRow(ctx, endGame, args{
		"club": e.club, "game": e.setup.Game, "at": at, "end": o.End, "result": o.Result, "failed": string(o.Failed),
		"moves": o.Moves, "par": o.Par, "uncounted": o.Uncounted(),
	}).Scan(&at)
	if err != nil || e.setup.Trial {
		return err
	}
	for _, r := range o.Stages {
		if _, err := tx.Exec(ctx, keepStage, args{
			"club": e.club, "game": e.setup.Game, "at": at, "stage": r.Stage, "moves": r.Moves, "bad": r.Bad, "par": r.Par,
			"slips": r.Slips, "helps": r.Helps, "seconds": r.Seconds, "completed": r.Completed, "clean": r.Clean,
			"made": r.Weights.Made[:], "offered": r.Weights.Offered[:], "habits": r.Habits,
		}); err != nil {
			return err
		}
	}
	if err := ring(ctx, tx, e); err != nil {
		return fmt.Errorf("bells: %w", err)
	}
	if err := answered(ctx, tx, e, at); err != nil {
		return fmt.Errorf("starting check: %w", err)
	}
	if err := seenWhole(ctx, tx, e); err != nil {
		return fmt.Errorf("watched: %w", err)
	}
	return passed(ctx, tx, e)
}

// passed marks an assignment done for a student once as many starts as the
// drill's rule asks for have a game that counts; a test of five, once that is passed.
func passed(ctx context.Context, tx pgx.Tx, e entry) error {
	if five, ok, err := testPassed(ctx, tx, e); err != nil || five && !ok {
		return err
	} else if five {
		return done(ctx, tx, e)
	}
	const q = `update assignees a set passed_at = now()
		from games g, assignments s, drills d
		where g.club_id = $1 and g.id = $2
			and a.club_id = $1 and a.assignment_id = g.assignment_id and a.student_id = g.student_id
			and s.club_id = $1 and s.id = g.assignment_id
			and d.club_id = $1 and d.id = s.drill_id
			and a.passed_at is null
			and ` + needed + ` <= (select count(distinct start_no) from games w
				where w.club_id = $1 and w.assignment_id = g.assignment_id and w.student_id = g.student_id
					and w.kind = 'drill' and w.counts and w.result = any(` + counting + `))`
	_, err := tx.Exec(ctx, q, e.club, e.setup.Game)
	return err
}
