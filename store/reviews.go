package store

import (
	"cmp"
	"context"
	"errors"
	"maps"
	"math/rand/v2"
	"slices"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"

	"github.com/jackc/pgx/v5"
)

// GameKind says what a game was begun for.
type GameKind string

// The kinds of game.
const (
	OfDrill    GameKind = "drill"    // a start of a drill
	OfRecheck  GameKind = "recheck"  // asks for a stage that a test was passed in
	OfPart     GameKind = "part"     // the last part, in place of a next try
	OfNewcomer GameKind = "newcomer" // a task of the starting check; counts for nothing
)

// Standings reads how far a student is with each stage, and when it is asked
// for again. Dates are not kept but worked out from the games each time, so they
// follow whatever is noted of a game later; bells alone are kept.
func (s *Store) Standings(ctx context.Context, c game.ClubID, student game.PersonID) (map[progress.Key]progress.Standing, error) {
	var out map[progress.Key]progress.Standing
	err := s.tx(ctx, func(tx pgx.Tx) (err error) {
		out, _, err = standings(ctx, tx, c, student)
		return err
	})
	return out, err
}

func standings(ctx context.Context, tx pgx.Tx, c game.ClubID, student game.PersonID) (map[progress.Key]progress.Standing, map[progress.Key]progress.Day, error) {
	trials, err := trials(ctx, tx, c, student)
	if err != nil {
		return nil, nil, err
	}
	const q = `select student_id, ending, stage, rung_on from bells where club_id = $1 and student_id = $2`
	rows, err := tx.Query(ctx, q, c, student)
	if err != nil {
		return nil, nil, err
	}
	bells, err := bellDays(rows)
	if err != nil {
		return nil, nil, err
	}
	return progress.Standings(trials, bells[student]), bells[student], nil
}

// trials reads a student's ended games in test mode, the oldest first. Games
// that were left say nothing.
func trials(ctx context.Context, tx pgx.Tx, c game.ClubID, student game.PersonID) ([]progress.Trial, error) {
	const q = `select c.zone, g.ended_at, g.ending, coalesce(g.stage_from, g.target), g.target, g.moves, g.result,
			coalesce((select jsonb_object_agg(r.stage, r.clean) from stage_results r where r.club_id = g.club_id and r.game_id = g.id), '{}')
		from games g join clubs c on c.id = g.club_id where g.club_id = $1 and g.student_id = $2
			and g.mode = 'test' and g.counts and g.ended_at is not null and g.kind in ('drill', 'recheck') and g."end" <> 'left' order by g.ended_at, g.id`
	rows, err := tx.Query(ctx, q, c, student)
	if err != nil {
		return nil, err
	}
	return pgx.CollectRows(rows, func(row pgx.CollectableRow) (progress.Trial, error) {
		var t progress.Trial
		var zone string
		var at time.Time
		err := row.Scan(&zone, &at, &t.Ending, &t.From, &t.To, &t.Moves, &t.Result, &t.Clean)
		t.Day = progress.DayOf(club.Club{Zone: zone}.Local(at))
		return t, err
	})
}

func bellDays(rows pgx.Rows) (map[game.PersonID]map[progress.Key]progress.Day, error) {
	out := map[game.PersonID]map[progress.Key]progress.Day{}
	var student game.PersonID
	var k progress.Key
	var on time.Time
	_, err := pgx.ForEachRow(rows, []any{&student, &k.Ending, &k.Stage, &on}, func() error {
		if out[student] == nil {
			out[student] = map[progress.Key]progress.Day{}
		}
		out[student][k] = progress.DayOf(on)
		return nil
	})
	return out, err
}

// inOrder gives stages in one order on every node, so that of two that write their
// rows at once neither waits for the other's second while it holds the first.
func inOrder(all map[progress.Key]progress.Standing) []progress.Key {
	return slices.SortedFunc(maps.Keys(all), func(a, b progress.Key) int {
		return cmp.Or(cmp.Compare(a.Ending, b.Ending), cmp.Compare(a.Stage, b.Stage))
	})
}

// Bells reads the days on which the club's students mastered stages.
func (s *Store) Bells(ctx context.Context, c game.ClubID) (map[game.PersonID]map[progress.Key]progress.Day, error) {
	rows, err := s.pool.Query(ctx, `select student_id, ending, stage, rung_on from bells where club_id = $1`, c)
	if err != nil {
		return nil, translate(err)
	}
	out, err := bellDays(rows)
	return out, translate(err)
}

// ring writes the bells that an ended game in test mode has brought. Rows are
// only ever added, so two games that end at once cannot undo each other.
func ring(ctx context.Context, tx pgx.Tx, e entry) error {
	if e.setup.Mode != practice.Test {
		return nil
	}
	now, rung, err := standings(ctx, tx, e.club, e.setup.Student)
	if err != nil {
		return err
	}
	const q = `insert into bells (club_id, student_id, ending, stage, rung_on) values ($1, $2, $3, $4, date '1970-01-01' + $5::int) on conflict do nothing`
	for _, k := range inOrder(now) {
		if now[k].Mastered == 0 || rung[k] != 0 {
			continue
		}
		if _, err := tx.Exec(ctx, q, e.club, e.setup.Student, k.Ending, k.Stage, int(now[k].Mastered)); err != nil {
			return err
		}
	}
	return nil
}

// extra is a game that is no try at a start of a drill.
type extra struct {
	kind     GameKind
	task     game.AssignmentID // 0: none
	start    int               // of a task of the starting check
	ending   string
	from, to ending.Stage
	fen      string
	mode     practice.Mode
	defender string
	rule     club.Rule
}

// Recheck begins the game that asks for a stage again; the one under way is
// given again.
func (s *Store) Recheck(ctx context.Context, a game.Actor, k progress.Key, fen, defender string) (game.GameID, error) {
	var id game.GameID
	err := s.tx(ctx, func(tx pgx.Tx) (err error) {
		if err := lockStudent(ctx, tx, a); err != nil {
			return err
		}
		const open = `select id from games where club_id = $1 and student_id = $2 and kind = 'recheck' and ending = $3 and stage_from = $4 and ended_at is null`
		err = tx.QueryRow(ctx, open, a.Club, a.Person, k.Ending, k.Stage).Scan(&id)
		if err == nil || !errors.Is(err, pgx.ErrNoRows) {
			return err
		}
		id, err = beginExtra(ctx, tx, a, extra{
			kind: OfRecheck, ending: k.Ending, from: k.Stage, to: k.Stage, fen: fen, mode: practice.Test, defender: defender, rule: club.RuleOf(practice.Test),
		}, s.now())
		return err
	})
	return id, err
}

// lockStudent makes two tabs of one student begin one game.
func lockStudent(ctx context.Context, tx pgx.Tx, a game.Actor) error {
	var id game.PersonID
	const q = `select id from people where club_id = $1 and id = $2 and role = 'student' and archived_at is null for update`
	return tx.QueryRow(ctx, q, a.Club, a.Person).Scan(&id)
}

func beginExtra(ctx context.Context, tx pgx.Tx, a game.Actor, x extra, now time.Time) (game.GameID, error) {
	const q = `insert into games (club_id, student_id, assignment_id, kind, counts, start_no, try, side, ending, start_fen, mode, stage_from, target, defender, seed, backs, allowance, budget, helps, started_at)
		values ($1, $2, nullif($3, 0), $4, $4 <> 'newcomer', $17, 1 + (select count(*) from games where club_id = $1 and student_id = $2 and assignment_id = $3 and kind = $4),
			split_part($6, ' ', 2), $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16) returning id`
	start := -1 // none of a drill's
	if x.kind == OfNewcomer {
		start = x.start
	}
	var id game.GameID
	err := tx.QueryRow(ctx, q, a.Club, a.Person, x.task, string(x.kind), x.ending, x.fen, x.mode, x.from, x.to, x.defender,
		rand.Int64(), x.rule.Backs, x.rule.Allowance, x.rule.Budget, practice.StepsOf(x.rule.Help...), now, start).Scan(&id)
	return id, err
}

// OpenChecks lists the re-checks that a student has under way.
func (s *Store) OpenChecks(ctx context.Context, a game.Actor) (map[progress.Key]string, error) {
	const q = `select ending, stage_from, start_fen from games where club_id = $1 and student_id = $2 and kind = 'recheck' and ended_at is null`
	rows, err := s.pool.Query(ctx, q, a.Club, a.Person)
	if err != nil {
		return nil, translate(err)
	}
	out := map[progress.Key]string{}
	var k progress.Key
	var fen string
	_, err = pgx.ForEachRow(rows, []any{&k.Ending, &k.Stage, &fen}, func() error { out[k] = fen; return nil })
	return out, translate(err)
}
