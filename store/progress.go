package store

import (
	"context"
	"time"

	"drover/game"
	"drover/game/ending"
	"drover/game/practice"

	"github.com/jackc/pgx/v5"
)

// Window is how far back the stage view looks.
const Window = 8 * 7 * 24 * time.Hour

// StageCell is one stage of one ended game.
type StageCell struct {
	Student   game.PersonID
	Ending    string
	Stage     ending.Stage
	Clean     bool
	Completed bool
	Ended     time.Time
	Game      game.GameID
	Moves     int // own moves, and how many of them were bad
	Bad       int
	Par       int   // at the first entry
	Made      []int // own moves by class, and what was offered: see practice.Weights; empty in old rows
	Offered   []int
}

// Weights are the moves of the stage against what was possible.
func (c StageCell) Weights() practice.Weights {
	var w practice.Weights
	copy(w.Made[:], c.Made)
	copy(w.Offered[:], c.Offered)
	return w
}

// Shown says whether a page draws the stage: where there was next to nothing to
// do (par below 2) it does not, though the moves count for the diagnosis.
func (c StageCell) Shown() bool { return c.Par >= 2 }

// StageView reads the stages of all counted games of the last weeks, a
// student's oldest first.
func (s *Store) StageView(ctx context.Context, c game.ClubID) ([]StageCell, error) {
	const q = `select r.student_id, r.ending, r.stage, r.clean, r.completed, r.ended_at, r.game_id, r.moves, r.bad, r.par, r.made, r.offered
		from stage_results r join people p on p.club_id = r.club_id and p.id = r.student_id and p.archived_at is null
		where r.club_id = $1 and r.ended_at > $2 order by r.student_id, r.ending, r.stage, r.ended_at, r.game_id`
	rows, err := s.pool.Query(ctx, q, c, s.now().Add(-Window))
	if err != nil {
		return nil, translate(err)
	}
	out, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (StageCell, error) {
		var r StageCell
		err := row.Scan(&r.Student, &r.Ending, &r.Stage, &r.Clean, &r.Completed, &r.Ended, &r.Game, &r.Moves, &r.Bad, &r.Par, &r.Made, &r.Offered)
		return r, err
	})
	return out, translate(err)
}

// Failure counts the games of an ending that were lost in a stage.
type Failure struct {
	Ending string
	Stage  ending.Stage // empty: games of the ending in all
	Games  int
}

// Failures counts, for each ending, the games in all (stage empty) and those
// not won by the stage in which the win went, over the same weeks as StageView.
func (s *Store) Failures(ctx context.Context, c game.ClubID) ([]Failure, error) {
	const q = `select ending, coalesce(failed_stage, ''), count(*) from games where club_id = $1 and ended_at > $2 and counts and not hold and "end" <> 'left' and failed_stage is not null group by 1, 2
		union all select ending, '', count(*) from games where club_id = $1 and ended_at > $2 and counts and not hold and "end" <> 'left' group by 1`
	rows, err := s.pool.Query(ctx, q, c, s.now().Add(-Window))
	if err != nil {
		return nil, translate(err)
	}
	out, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (Failure, error) {
		var f Failure
		err := row.Scan(&f.Ending, &f.Stage, &f.Games)
		return f, err
	})
	return out, translate(err)
}

// Played is one ended game in a report.
type Played struct {
	Ending  string
	Hold    bool // a draw was defended
	Ended   time.Time
	Seconds int // of thought
	Result  practice.Result
	Failed  ending.Stage
	End     practice.End
}

// History lists a student's ended games, the oldest first, with the time of
// thought.
func (s *Store) History(ctx context.Context, c game.ClubID, student game.PersonID) ([]Played, error) {
	const q = `select g.ending, g.hold, g.ended_at, coalesce((select (sum(took) + 500) / 1000 from acts c where c.club_id = $1 and c.game_id = g.id), 0)::int, g.result, coalesce(g.failed_stage, ''), g."end"
		from games g where g.club_id = $1 and g.student_id = $2 and g.ended_at is not null and g.counts order by g.ended_at, g.id`
	rows, err := s.pool.Query(ctx, q, c, student)
	if err != nil {
		return nil, translate(err)
	}
	out, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (Played, error) {
		var p Played
		err := row.Scan(&p.Ending, &p.Hold, &p.Ended, &p.Seconds, &p.Result, &p.Failed, &p.End)
		return p, err
	})
	return out, translate(err)
}

// StagesOf lists the stages of one student's games up to a time, the oldest
// first.
func (s *Store) StagesOf(ctx context.Context, c game.ClubID, student game.PersonID, until time.Time) ([]StageCell, error) {
	const q = `select student_id, ending, stage, clean, completed, ended_at, game_id, moves, bad, par, made, offered from stage_results
		where club_id = $1 and student_id = $2 and ended_at <= $3 order by ending, stage, ended_at, game_id`
	rows, err := s.pool.Query(ctx, q, c, student, until)
	if err != nil {
		return nil, translate(err)
	}
	out, err := pgx.CollectRows(rows, pgx.RowToStructByPos[StageCell])
	return out, translate(err)
}

// HabitsView reads the habits of counted games of the last weeks, of one student
// or with 0 of all, summed for each student and ending.
func (s *Store) HabitsView(ctx context.Context, c game.ClubID, of game.PersonID) (map[game.PersonID]map[string]map[practice.Habit]practice.Tally, error) {
	const q = `select g.student_id, g.ending, h.key, sum((h.value->>'n')::int)::int, sum((h.value->>'k')::int)::int
		from games g, jsonb_each(g.habits) h where g.club_id = $1 and g.ended_at > $2 and g.counts and ($3 = 0 or g.student_id = $3) group by 1, 2, 3`
	rows, err := s.pool.Query(ctx, q, c, s.now().Add(-Window), of)
	if err != nil {
		return nil, translate(err)
	}
	out := map[game.PersonID]map[string]map[practice.Habit]practice.Tally{}
	var student game.PersonID
	var code string
	var habit practice.Habit
	var t practice.Tally
	_, err = pgx.ForEachRow(rows, []any{&student, &code, &habit, &t.N, &t.K}, func() error {
		if out[student] == nil {
			out[student] = map[string]map[practice.Habit]practice.Tally{}
		}
		if out[student][code] == nil {
			out[student][code] = map[practice.Habit]practice.Tally{}
		}
		out[student][code][habit] = t
		return nil
	})
	return out, translate(err)
}
