package store

import (
	"context"
	"errors"
	"fmt"
	"runtime/debug"
	"slices"
	"time"

	"drover/game"
	"drover/game/board"
	"drover/game/club"
	"drover/game/practice"

	"github.com/jackc/pgx/v5"
)

// setupRow is a game with what of its setup is no column as it stands.
type setupRow struct {
	practice.Setup
	Black bool
	Hold  bool
}

const readSetup = `select
		g.id as game,
		g.student_id as student,
		g.ending,
		g.start_fen as start,
		g.side = 'b' as black,
		g.mode,
		g.hold,
		g.target,
		g.defender,
		g.seed,
		g.backs,
		g.allowance,
		g.budget,
		g.clock,
		g.increment,
		g.helps,
		g.kind = 'trial' as trial,
		g.kind in ('again', 'free') as loose,
		g.kind = 'newcomer' as quiet,
		p.wording
	from games g
	join people p on p.club_id = g.club_id and p.id = g.student_id
	where g.club_id = $1 and g.id = $2`

// Setup reads what a game of the club is played under.
func (s *Store) Setup(ctx context.Context, c game.ClubID, id game.GameID) (practice.Setup, error) {
	rows, err := s.quick.Query(ctx, readSetup, c, id)
	if err != nil {
		return practice.Setup{}, translate(err)
	}
	row, err := pgx.CollectExactlyOneRow(rows, pgx.RowToStructByNameLax[setupRow]) // lax: side and task follow
	if err != nil {
		return practice.Setup{}, translate(err)
	}
	if row.Black {
		row.Side = board.Black
	}
	row.Task = practice.TaskOf(row.Hold)
	return row.Setup, nil
}

const readActs = `select
		seq,
		kind,
		by_id as by,
		coalesce((select name from people p where p.club_id = $1 and p.id = by_id
			and kind in ('watch', 'hand', 'unseen') and role = 'coach'), '') as who,
		client_id as client,
		at,
		coalesce(move, '') as move,
		coalesce(reply, '') as reply,
		coalesce(grade, '') as grade,
		coalesce(cost, 0) as cost,
		coalesce(plies, 0) as plies,
		coalesce(stage, '') as stage,
		coalesce(par, 0) as par,
		coalesce(took, 0) as took,
		coalesce(help, 0) as help,
		coalesce("end", '') as "end"
	from acts
	where club_id = $1 and game_id = $2 and seq > $3
	order by seq`

// Load reads the acts of a game after a number, in order.
func (s *Store) Load(ctx context.Context, c game.ClubID, id game.GameID, after int) ([]practice.Act, error) {
	acts, err := readAll[practice.Act](ctx, s.quick, readActs, c, id, after)
	return acts, translate(err)
}

// entry is an act to be appended, with the outcome where the game has ended.
type entry struct {
	club    game.ClubID
	setup   practice.Setup
	act     practice.Act
	outcome *practice.Outcome
	node    string // that writes it; empty: it is imported
}

// Append writes an act and returns the time that the database gave it. The
// primary key alone decides: won is false if another act has that number
// already, and then nothing was written. After an error of kind Away the
// outcome is unknown; a repeat of the same command finds out.
func (s *Store) Append(ctx context.Context, c game.ClubID, set practice.Setup, a practice.Act,
	o *practice.Outcome) (at time.Time, won bool, err error) {
	return s.committer.append(ctx, entry{c, set, a, o, s.node})
}

// group is how many acts one transaction takes.
const group = 256

// committer writes acts, all that wait in one transaction: one commit serves
// many games. Each node has one. It uses no timer, and refuses an act at once when
// its queue is full.
type committer struct {
	store *Store
	queue chan *waiting
	quit  chan struct{}
	done  chan struct{}
}

type waiting struct {
	entry
	reply chan appended
}

// answer tells whoever waits, once.
func (w *waiting) answer(a appended) {
	select {
	case w.reply <- a:
	default: // told already
	}
}

// calmly turns a panic into an error: one bad row must not end the program.
func calmly(do func()) (err error) {
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("panic: %v\n%s", p, debug.Stack())
		}
	}()
	do()
	return nil
}

type appended struct {
	at  time.Time
	won bool
	err error
}

func newCommitter(s *Store) *committer {
	c := &committer{store: s, queue: make(chan *waiting, 4*group), quit: make(chan struct{}), done: make(chan struct{})}
	go c.run()
	return c
}

func (c *committer) stop() {
	select {
	case <-c.quit:
	default:
		close(c.quit)
	}
	<-c.done
}

func (c *committer) append(ctx context.Context, e entry) (time.Time, bool, error) {
	w := &waiting{entry: e, reply: make(chan appended, 1)}
	select {
	case c.queue <- w:
	default:
		return time.Time{}, false, game.Fail(game.Busy,
			"Very many people are moving just now. Your move will be sent again in a moment.")
	}
	select {
	case r := <-w.reply:
		return r.at, r.won, r.err
	case <-c.done:
		return time.Time{}, false, away(errors.New("the committer has stopped"))
	case <-ctx.Done():
		return time.Time{}, false, away(ctx.Err())
	}
}

func (c *committer) run() {
	defer close(c.done)
	for {
		select {
		case <-c.quit:
			return
		case first := <-c.queue:
			batch := c.gather(first)
			if err := calmly(func() { c.commit(batch) }); err != nil {
				for _, w := range batch { // the one that it was about is among them
					_ = calmly(func() { answer([]*waiting{w}, nil, err) })
				}
			}
		}
	}
}

func (c *committer) gather(first *waiting) []*waiting {
	batch := []*waiting{first}
	for len(batch) < group {
		select {
		case w := <-c.queue:
			batch = append(batch, w)
		default:
			return batch
		}
	}
	return batch
}

// commit writes a batch, and once more row by row where one bad row failed the
// whole of it.
func (c *committer) commit(batch []*waiting) {
	ctx, cancel := context.WithTimeout(context.Background(), queryLimit)
	defer cancel()
	won, err := c.store.insert(ctx, batch)
	c.store.committed(err)
	if err == nil || game.KindOf(translate(err)) == game.Away || len(batch) == 1 {
		c.answer(ctx, batch, won, err)
		return
	}
	for _, w := range batch {
		won, err := c.store.insert(ctx, []*waiting{w})
		c.answer(ctx, []*waiting{w}, won, err)
	}
}

// answer tells everybody of a batch what came of it, and the other nodes what was written.
func (c *committer) answer(ctx context.Context, batch []*waiting, won map[actKey]time.Time, err error) {
	if err == nil {
		c.store.hints.add(won)
		c.rested(ctx, batch, won)
	}
	answer(batch, won, err)
}

// rested tells those whose act was not taken because practice rests; an act that lost its
// number to another is no such one.
func (c *committer) rested(ctx context.Context, batch []*waiting, won map[actKey]time.Time) {
	var clubs, games []int64
	for _, w := range batch {
		if _, ok := won[w.key()]; !ok {
			clubs, games = append(clubs, int64(w.club)), append(games, int64(w.setup.Game))
		}
	}
	if len(games) == 0 {
		return
	}
	const q = `select distinct g.club_id, g.id
		from unnest($1::bigint[], $2::bigint[]) t(club, game)
		join games g on g.club_id = t.club and g.id = t.game
		join people p on p.club_id = g.club_id and p.id = g.student_id and p.role = 'student'
		where not ` + probedPractise
	rows, err := c.store.writer.Query(ctx, q, clubs, games)
	if err != nil {
		return // the node reads the game again, and is told the next time
	}
	resting, _ := pgx.CollectRows(rows, pgx.RowToStructByPos[StaleGame])
	for _, w := range batch {
		if _, ok := won[w.key()]; !ok && slices.Contains(resting, StaleGame{w.club, w.setup.Game}) {
			w.answer(appended{err: practice.Refuse(practice.Resting, club.Rests)})
		}
	}
}

func answer(batch []*waiting, won map[actKey]time.Time, err error) {
	for _, w := range batch {
		at, ok := won[w.key()]
		if err != nil {
			w.answer(appended{err: translate(err)})
			continue
		}
		w.answer(appended{at: at, won: ok})
		delete(won, w.key()) // a repeat of the same act in one batch loses, and finds the act in the log
	}
}

type actKey struct {
	club   game.ClubID
	game   game.GameID
	seq    int
	client string // tells two acts apart that want the same number in one batch
}

func (w *waiting) key() actKey { return actKey{w.club, w.setup.Game, w.act.Seq, w.act.Client} }

// insert writes acts in the order of the key (others deadlock) and, for those
// that ended a game, its projections; all in one transaction. The transaction is
// bare: commit has one time limit for a group and its second pass, and reads from
// the error whether the outcome is unknown (then nothing is written again), whether
// there was space, and whether one bad row failed the whole of it.
func (s *Store) insert(ctx context.Context, batch []*waiting) (map[actKey]time.Time, error) {
	if !slices.ContainsFunc(batch, func(w *waiting) bool { return w.outcome != nil }) {
		return s.insertActs(ctx, s.writer.Pool, batch) // one statement is a transaction of its own
	}
	var won map[actKey]time.Time
	err := transact(ctx, s.writer, bare, func(tx pgx.Tx) (err error) {
		if won, err = s.insertActs(ctx, tx, batch); err != nil {
			return err
		}
		done := map[actKey]bool{}
		for _, w := range batch {
			at, ok := won[w.key()]
			if !ok || w.outcome == nil || done[w.key()] {
				continue
			}
			done[w.key()] = true
			if err := project(ctx, tx, w.entry, at); err != nil {
				return fmt.Errorf("project game %d: %w", w.setup.Game, err)
			}
			if w.setup.Trial { // nothing is said of a coach
				continue
			}
			if err := s.jobs.put(ctx, tx, OverviewJob{w.club, w.setup.Student}); err != nil {
				return err
			}
		}
		return nil
	})
	return won, err
}

// insertActs writes acts alone, and gives those whose number was free.
func (s *Store) insertActs(ctx context.Context, on querier, batch []*waiting) (map[actKey]time.Time, error) {
	rows, err := on.Query(ctx, insertQuery, columns(batch, s.node)...)
	if err != nil {
		return nil, err
	}
	won := map[actKey]time.Time{}
	var k actKey
	var at time.Time
	into := []any{&k.club, &k.game, &k.seq, &k.client, &at}
	_, err = pgx.ForEachRow(rows, into, func() error { won[k] = at; return nil })
	return won, err
}

// insertQuery takes a group's acts column by column, as columns has them. Its arguments
// and its answer go by position: this is the one statement that every move waits for. It
// takes no act of a student whose practice rests but what ends the game, or a look at it.
const insertQuery = `insert into acts (
		club_id,
		game_id,
		seq,
		kind,
		by_id,
		client_id,
		move,
		reply,
		grade,
		cost,
		plies,
		stage,
		par,
		took,
		"end",
		help,
		node
	)
	select
		club,
		game,
		seq,
		kind,
		by_id,
		client,
		nullif(move, ''),
		nullif(reply, ''),
		nullif(grade, ''),
		cost,
		plies,
		nullif(stage, ''),
		par,
		took,
		nullif("end", ''),
		nullif(help, 0),
		case when kind = 'watch' then $17 end
	from unnest($1::bigint[], $2::bigint[], $3::int[], $4::text[], $5::bigint[], $6::text[], $7::text[], $8::text[],
			$9::text[], $10::int[], $11::int[], $12::text[], $13::int[], $14::int[], $15::text[], $16::int[])
		as t(club, game, seq, kind, by_id, client, move, reply, grade, cost, plies, stage, par, took, "end", help)
	where t."end" = 'stopped' or t.kind in ('left', 'unseen') or coalesce((select p.role <> 'student' or ` + probedPractise + `
		from games g
		join people p on p.club_id = g.club_id and p.id = g.student_id
		where g.club_id = t.club and g.id = t.game), true) -- a game that is not there fails by its key
	order by 1, 2, 3
	on conflict do nothing
	returning club_id, game_id, seq, client_id, at`

// columns turns acts into one array a column; node is the one that writes them.
func columns(batch []*waiting, node string) []any {
	n := len(batch)
	ints := func(f func(*waiting) int64) []int64 {
		out := make([]int64, n)
		for i, w := range batch {
			out[i] = f(w)
		}
		return out
	}
	texts := func(f func(*waiting) string) []string {
		out := make([]string, n)
		for i, w := range batch {
			out[i] = f(w)
		}
		return out
	}
	return []any{
		ints(func(w *waiting) int64 { return int64(w.club) }),
		ints(func(w *waiting) int64 { return int64(w.setup.Game) }),
		ints(func(w *waiting) int64 { return int64(w.act.Seq) }),
		texts(func(w *waiting) string { return string(w.act.Kind) }),
		ints(func(w *waiting) int64 { return int64(w.act.By) }),
		texts(func(w *waiting) string { return w.act.Client }),
		texts(func(w *waiting) string { return w.act.Move }),
		texts(func(w *waiting) string { return w.act.Reply }),
		texts(func(w *waiting) string { return string(w.act.Grade) }),
		ints(func(w *waiting) int64 { return int64(w.act.Cost) }),
		ints(func(w *waiting) int64 { return int64(w.act.Plies) }),
		texts(func(w *waiting) string { return string(w.act.Stage) }),
		ints(func(w *waiting) int64 { return int64(w.act.Par) }),
		ints(func(w *waiting) int64 { return int64(w.act.Took) }),
		texts(func(w *waiting) string { return string(w.act.End) }),
		ints(func(w *waiting) int64 { return int64(w.act.Help) }),
		node,
	}
}
