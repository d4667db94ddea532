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
	OfDrill     GameKind = "drill"    // a start of a drill
	OfRecheck   GameKind = "recheck"  // asks for a stage that a test was passed in
	OfPart      GameKind = "part"     // the last part, in place of a next try
	OfPlacement GameKind = "newcomer" // a task of the starting check; counts for nothing
	OfTrial     GameKind = "trial"    // a coach tries a drill out: the coach's own alone, counts for nothing
	OfAgain     GameKind = "again"    // a position of a game once more; counts for nothing
	OfFree      GameKind = "free"     // free practice; counts for nothing
)

// Counts says whether a game of the kind can count.
func (k GameKind) Counts() bool { return k != OfTrial && k != OfAgain && k != OfFree }

// mastery reads how far a student is with each stage, and the bells that are rung.
func mastery(ctx context.Context, tx pgx.Tx, c game.ClubID, student game.PersonID) (progress.Record, error) {
	r := reading{ctx: ctx, tx: tx, club: c, only: []game.PersonID{student}}
	all, err := r.fill(r.mastery)
	if err != nil || len(all) == 0 {
		return progress.Record{}, err
	}
	return all[0], nil
}

// inOrder gives stages in one order on every node, so that of two that write their
// rows at once neither waits for the other's second while it holds the first.
func inOrder(all map[progress.Key]progress.Mastery) []progress.Key {
	return slices.SortedFunc(maps.Keys(all), func(a, b progress.Key) int {
		return cmp.Or(cmp.Compare(a.Ending, b.Ending), cmp.Compare(a.Stage, b.Stage))
	})
}

// ring writes the bells that an ended game in test mode has brought. Rows are
// only ever added, so two games that end at once cannot undo each other.
func ring(ctx context.Context, tx pgx.Tx, e entry) error {
	if e.setup.Mode != practice.Test {
		return nil
	}
	of, err := mastery(ctx, tx, e.club, e.setup.Student)
	if err != nil {
		return err
	}
	now, rung := of.Mastery, of.Bells
	const q = `insert into bells (club_id, student_id, ending, stage, rung_on)
		values (@club, @student, @ending, @stage, date '1970-01-01' + @day::int)
		on conflict do nothing`
	for _, k := range inOrder(now) {
		if now[k].Mastered == 0 || rung[k] != 0 {
			continue
		}
		if _, err := tx.Exec(ctx, q, args{
			"club": e.club, "student": e.setup.Student, "ending": k.Ending, "stage": k.Stage, "day": int(now[k].Mastered),
		}); err != nil {
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
		const open = `select id from games
			where club_id = @club and student_id = @student and kind = 'recheck' and ending = @ending
				and stage_from = @stage and ended_at is null`
		err = tx.QueryRow(ctx, open, args{
			"club": a.Club, "student": a.Person, "ending": k.Ending, "stage": k.Stage,
		}).Scan(&id)
		if err == nil || !errors.Is(err, pgx.ErrNoRows) {
			return err
		}
		id, err = beginExtra(ctx, tx, a, extra{
			kind: OfRecheck, ending: k.Ending, from: k.Stage, to: k.Stage, fen: fen, mode: practice.Test, defender: defender,
			rule: club.RuleOf(practice.Test),
		}, s.now())
		return err
	})
	return id, err
}

// lockStudent makes two tabs of one student begin one game.
func lockStudent(ctx context.Context, tx pgx.Tx, a game.Actor) error {
	var id game.PersonID
	const q = `select id from people
		where club_id = $1 and id = $2 and role = 'student' and archived_at is null
		for update`
	return tx.QueryRow(ctx, q, a.Club, a.Person).Scan(&id)
}

// insertExtra takes the side from the start's FEN, and numbers the tries of one kind.
const insertExtra = `insert into games (
		club_id,
		student_id,
		assignment_id,
		kind,
		counts,
		start_no,
		try,
		side,
		ending,
		start_fen,
		mode,
		stage_from,
		target,
		defender,
		seed,
		backs,
		allowance,
		budget,
		helps,
		started_at
	)
	values (
		@club,
		@student,
		nullif(@task, 0),
		@kind,
		@kind <> 'newcomer',
		@start,
		1 + (select count(*) from games
			where club_id = @club and student_id = @student and assignment_id = @task and kind = @kind),
		split_part(@fen, ' ', 2),
		@ending,
		@fen,
		@mode,
		@from,
		@to,
		@defender,
		@seed,
		@backs,
		@allowance,
		@budget,
		@helps,
		@now
	)
	returning id`

func beginExtra(ctx context.Context, tx pgx.Tx, a game.Actor, x extra, now time.Time) (game.GameID, error) {
	start := -1 // none of a drill's
	if x.kind == OfPlacement {
		start = x.start
	}
	if err := mustPractise(ctx, tx, a); err != nil {
		return 0, err
	}
	var id game.GameID
	err := tx.QueryRow(ctx, insertExtra, args{
		"club": a.Club, "student": a.Person, "task": x.task, "kind": string(x.kind), "start": start, "ending": x.ending,
		"fen": x.fen, "mode": x.mode, "from": x.from, "to": x.to, "defender": x.defender, "seed": rand.Int64(),
		"backs": x.rule.Backs, "allowance": x.rule.Allowance, "budget": x.rule.Budget,
		"helps": practice.StepsOf(x.rule.Help...), "now": now,
	}).Scan(&id)
	return id, err
}
