package store

import (
	"context"
	"errors"
	"math/rand/v2"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"

	"github.com/jackc/pgx/v5"
)

// StartGame gives a student the game of an assignment: the one under way, or a
// new try at the next start.
func (s *Store) StartGame(ctx context.Context, a game.Actor, id game.AssignmentID) (game.GameID, error) {
	return s.startAfter(ctx, a, id, -1)
}

// NextGame is StartGame for a student who comes from a start. It takes the next
// start after it that is not won yet, and goes back to an earlier one only if
// there is none.
func (s *Store) NextGame(ctx context.Context, a game.Actor, from GameInfo) (game.GameID, error) {
	return s.startAfter(ctx, a, from.Task, from.Start)
}

func (s *Store) startAfter(ctx context.Context, a game.Actor, id game.AssignmentID, after int) (game.GameID, error) {
	tasks, err := s.Tasks(ctx, a)
	if err != nil {
		return 0, err
	}
	for _, t := range tasks {
		if t.ID != id {
			continue
		}
		if t.OpenGame != 0 {
			return t.OpenGame, nil
		}
		if t.Drill.OfFive() {
			return s.beginInTest(ctx, a, t)
		}
		next := t.Next
		for _, n := range t.Left {
			if n > after {
				next = n
				break
			}
		}
		return s.begin(ctx, a, t.Assignment, next)
	}
	return 0, missing()
}

// triedRow is a start of an assignment that was tried.
type triedRow struct {
	club.Drill
	Task  game.AssignmentID
	Start int
}

// Again gives a student a new try at the start of an ended game.
func (s *Store) Again(ctx context.Context, a game.Actor, id game.GameID) (game.GameID, error) {
	const q = `select ` + drillColumns + `,
			a.id as task,
			g.start_no as start
		from games g
		join assignments a on a.club_id = g.club_id and a.id = g.assignment_id
		join drills d on d.club_id = a.club_id and d.id = a.drill_id
		where g.club_id = $1 and g.id = $2 and g.student_id = $3`
	tried, err := readOne[triedRow](ctx, s.pool, q, a.Club, id, a.Person)
	if err != nil {
		return 0, translate(err)
	}
	return s.begin(ctx, a, club.Assignment{ID: tried.Task, Drill: tried.Drill}, tried.Start)
}

// begin opens a try at a start; a try that is still open is given again. Two
// tabs that begin at once meet the table's unique key and share one game.
func (s *Store) begin(ctx context.Context, a game.Actor, t club.Assignment, start int) (game.GameID, error) {
	var id game.GameID
	err := s.tx(ctx, func(tx pgx.Tx) error {
		var try int
		const open = `select coalesce(max(id) filter (where ended_at is null), 0), coalesce(max(try), 0)
			from games
			where club_id = @club and assignment_id = @task and student_id = @student and start_no = @start`
		of := args{"club": a.Club, "task": t.ID, "student": a.Person, "start": start}
		if err := tx.QueryRow(ctx, open, of).Scan(&id, &try); err != nil || id != 0 {
			return err
		}
		var err error
		id, err = insertGame(ctx, tx, a, t, start, try+1, s.now())
		if errors.Is(err, pgx.ErrNoRows) { // another tab was first
			return tx.QueryRow(ctx, open, of).Scan(&id, &try)
		}
		return err
	})
	return id, err
}

// insertTry takes the side from the start's FEN.
const insertTry = `insert into games (
		club_id,
		student_id,
		assignment_id,
		drill_id,
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
		hold,
		clock,
		increment,
		kind,
		counts,
		started_at
	)
	values (
		@club,
		@student,
		nullif(@task, 0),
		nullif(@drill, 0),
		@start,
		@try,
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
		@hold,
		@clock,
		@increment,
		@kind,
		@counts,
		@now
	)
	on conflict do nothing
	returning id`

func insertGame(ctx context.Context, tx pgx.Tx, a game.Actor, t club.Assignment, start, try int,
	now time.Time) (game.GameID, error) {
	return insertOf(ctx, tx, a, OfDrill, t, start, try, now)
}

// insertOf is insertGame for a kind of game.
func insertOf(ctx context.Context, tx pgx.Tx, a game.Actor, kind GameKind, t club.Assignment, start, try int,
	now time.Time) (game.GameID, error) {
	d := t.Drill
	if start < 0 || start >= len(d.Starts) {
		return 0, missing()
	}
	if err := mustPractise(ctx, tx, a); err != nil {
		return 0, err
	}
	var id game.GameID
	err := tx.QueryRow(ctx, insertTry, args{
		"club": a.Club, "student": a.Person, "task": t.ID, "drill": d.ID, "start": start, "try": try,
		"ending": d.Ending, "fen": d.Starts[start], "mode": d.Mode, "from": d.From, "to": d.To, "defender": d.Defender,
		"seed": rand.Int64(), "backs": d.Rule.Backs, "allowance": d.Rule.Allowance, "budget": d.Rule.Budget,
		"helps": practice.StepsOf(d.Rule.Help...), "hold": d.Hold, "clock": d.Rule.Clock,
		"increment": d.Rule.Increment, "kind": string(kind), "counts": kind.Counts(), "now": now,
	}).Scan(&id)
	return id, err
}

// GameInfo is what pages say of a game beside its moves.
type GameInfo struct {
	ID       game.GameID
	Student  club.Person `db:"-"`
	Ending   string
	Hold     bool // the student defends a draw
	Mode     practice.Mode
	Kind     GameKind
	From     ending.Stage // the first stage that it is about
	To       ending.Stage // the last
	Defender string
	Drill    string            // its name
	DrillID  game.DrillID      // 0: none
	Draft    int64             // of the builder's form, where a coach tries out what is not kept
	Of       game.GameID       // the game whose position is played once more; 0: none
	Task     game.AssignmentID // 0: none
	Start    int               // from 0
	Starts   int               // of how many
	Try      int
	Began    time.Time
	Ended    *time.Time
	End      practice.End
	Result   practice.Result
	Failed   ending.Stage
	Moves    int
	Par      int
	Pace     int  // milliseconds before his reply is shown, as the player has it
	TaskOpen bool // the assignment is not done yet
	Counts   bool // false: a task of the starting check, or a game that a coach played along, or alone

	InTest int `db:"-"` // its number in a test of five games; 0: it is in none. Store.Game alone says it
}

// OfFive says whether the game is one of a test of five.
func (g GameInfo) OfFive() bool {
	d := club.Drill{Ending: g.Ending, Hold: g.Hold, Mode: g.Mode, Starts: make([]string, g.Starts)}
	return g.Kind == OfDrill && g.Task != 0 && d.OfFive()
}

// gameRow is a GameInfo, whose student is a field of its own there.
type gameRow struct {
	GameInfo
	Name    string
	Wording int
	Student game.PersonID
}

func (r gameRow) info() GameInfo {
	r.GameInfo.Student = club.Person{ID: r.Student, Name: r.Name, Wording: r.Wording}
	return r.GameInfo
}

// gameColumns are those of a gameRow.
const gameColumns = `
		g.id,
		g.student_id as student,
		p.name,
		p.wording,
		g.ending,
		g.hold,
		g.mode,
		g.kind,
		coalesce(g.stage_from, g.target) as "from",
		g.target as "to",
		g.defender,
		coalesce(d.name, '') as drill,
		coalesce(d.id, 0) as drill_id,
		coalesce(g.draft, 0) as draft,
		coalesce(g.again_of, 0) as of,
		coalesce(g.assignment_id, 0) as task,
		g.start_no as start,
		coalesce(jsonb_array_length(d.starts), 1) as starts,
		g.try,
		g.started_at as began,
		g.ended_at as ended,
		coalesce(g."end", '') as "end",
		coalesce(g.result, '') as result,
		coalesce(g.failed_stage, '') as failed,
		coalesce(g.moves, 0) as moves,
		coalesce(g.par, 0) as par,
		coalesce(o.pace, c.pace) as pace,
		exists (select from assignees e
			where e.club_id = g.club_id and e.assignment_id = g.assignment_id and e.student_id = g.student_id
				and e.passed_at is null) as task_open,
		g.counts`

// gamesOf are games with what gameColumns says of them.
const gamesOf = `
	from games g
	join people p on p.club_id = g.club_id and p.id = g.student_id
	join clubs c on c.id = g.club_id
	left join own_settings o on o.club_id = g.club_id and o.person_id = g.student_id
	left join drills d on d.club_id = g.club_id and d.id = g.drill_id`

// Game reads what pages say of one game.
func (s *Store) Game(ctx context.Context, c game.ClubID, id game.GameID) (GameInfo, error) {
	const q = `select` + gameColumns + gamesOf + `
		where g.club_id = @club and g.id = @game`
	row, err := readOne[gameRow](ctx, s.pool, q, args{"club": c, "game": id})
	g := row.info()
	if err == nil && g.OfFive() && g.Counts {
		g.InTest, err = s.inTest(ctx, c, g)
	}
	return g, translate(err)
}

// Beside finds the ended games of the same student before and after a game, in the order in
// which they were begun; 0: there is none. Only what a coach's list has is among them.
func (s *Store) Beside(ctx context.Context, c game.ClubID, g GameInfo) (before, after game.GameID, err error) {
	const q = `select coalesce((select b.id ` + beside + ` and (b.started_at, b.id) < (@began, @game)
				order by b.started_at desc, b.id desc limit 1), 0),
			coalesce((select b.id ` + beside + ` and (b.started_at, b.id) > (@began, @game)
				order by b.started_at, b.id limit 1), 0)`
	err = s.pool.QueryRow(ctx, q, args{"club": c, "student": g.Student.ID, "game": g.ID, "began": g.Began}).Scan(&before, &after)
	return before, after, translate(err)
}

const beside = `from games b
				where b.club_id = @club and b.student_id = @student and b.ended_at is not null
					and b.kind in ('drill', 'part', 'recheck')`

// StaleGame is an open game in which nothing has happened for long.
type StaleGame struct {
	Club game.ClubID
	Game game.GameID
}

// Stale lists up to 200 open games in which nothing has happened since a time.
// They are in order, and begin after the game given.
func (s *Store) Stale(ctx context.Context, since time.Time, after StaleGame) ([]StaleGame, error) {
	const q = `select g.club_id, g.id from games g
		where g.ended_at is null and g.started_at < $1 and (g.club_id, g.id) > ($2, $3)
			and not exists (select from acts a where a.club_id = g.club_id and a.game_id = g.id and a.at >= $1)
		order by 1, 2
		limit 200`
	rows, err := s.pool.Query(ctx, q, since, after.Club, after.Game)
	if err != nil {
		return nil, translate(err)
	}
	out, err := pgx.CollectRows(rows, pgx.RowToStructByPos[StaleGame])
	return out, translate(err)
}
