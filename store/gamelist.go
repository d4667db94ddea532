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

// GamesOnPage is how many games of a student one page lists.
const GamesOnPage = 30

// GamesAsk says which of a student's games are asked for.
type GamesAsk struct {
	Ending   string       // with a stage: the ended games that the stage view counts there
	Stage    ending.Stage // empty: all
	From, To progress.Day // in the club's own time; 0: no bound. With a stage and without both: the weeks of the stage view
	Shelf    int64        // of a drill at this place on the shelf; 0: of any
	Page     int          // from 1
}

// GameList is a page of a student's games, the latest first.
type GameList struct {
	Rows  []GameLine
	Sum   GamesSum
	Drill string // the name of the drill that was asked for; empty: there is none
	Ended int    // all ended games of the student, whatever is asked for
}

// GamesSum counts all games that are asked for. Those from Alone on are ended and count
// for something.
type GamesSum struct {
	All, Clean                int // Clean: in the stage that is asked for
	Alone, Helped, Lost       int
	Watched, AloneWhenWatched int // of these, while a coach watched
}

// GameLine is a game with what a list says of it.
type GameLine struct {
	GameInfo
	GameFacts
}

// GameFacts are what a list says of a game besides.
type GameFacts struct {
	Seconds int                 // of thought
	Habits  []practice.Habitual // of each stage
	Hints   int                 // steps of help that were looked at
	Backs   int                 // moves that were taken back
	Someone bool                // somebody helped, as the child said
	Watched bool                // by a coach

	In      practice.StageResult `db:"-"` // the stage that is asked for
	Dearest int                  // the greatest cost of a move in it
}

// thought is the time that a game's acts took, in seconds.
const thought = `(coalesce(sum(t.took), 0) + 500) / 1000`

// gameLineRow is a GameLine as it is read.
type gameLineRow struct {
	gameRow
	GameFacts
	StageMoves, StageBad, StagePar, StageHelps int
	StageCompleted, StageClean                 bool
}

func (r gameLineRow) line(stage ending.Stage) GameLine {
	l := GameLine{r.info(), r.GameFacts}
	l.In = practice.StageResult{Stage: stage, Moves: r.StageMoves, Bad: r.StageBad, Par: r.StagePar, Helps: r.StageHelps,
		Completed: r.StageCompleted, Clean: r.StageClean}
	return l
}

// gamesAsked are the games that a GamesAsk asks for, with their stage. Drills are joined to
// them by gamesOf.
const gamesAsked = `
	left join stage_results r on r.club_id = g.club_id and r.game_id = g.id and r.stage = @stage
	where g.club_id = @club and g.student_id = @student
		and (@stage = '' or g.ending = @ending and r.par >= @least)
		and (@shelf::bigint = 0 or d.shelf_id = @shelf)
		and (@from::timestamptz is null or coalesce(g.ended_at, g.started_at) >= @from)
		and (@to::timestamptz is null or coalesce(g.ended_at, g.started_at) < @to)
		and g.kind not in ('trial', 'again', 'free')` + inScope

// Games lists the games of a student that a reader may see.
func (s *Store) Games(ctx context.Context, a game.Actor, student game.PersonID, ask GamesAsk) (GameList, error) {
	var out GameList
	err := transact(ctx, s.pool, steady, func(tx pgx.Tx) error {
		with, err := s.gamesAskedFor(ctx, tx, a, student, ask)
		if err != nil {
			return err
		}
		if ask.Shelf != 0 {
			if out.Drill, err = drillAt(ctx, tx, a.Club, ask.Shelf); err != nil {
				return err
			}
		}
		if out.Ended, err = endedGames(ctx, tx, a.Club, student); err != nil {
			return err
		}
		if out.Sum, err = readOne[GamesSum](ctx, tx, sumGames, with); err != nil {
			return err
		}
		with = maps.Clone(with)
		with["most"], with["skip"] = GamesOnPage, GamesOnPage*(max(ask.Page, 1)-1)
		rows, err := readAll[gameLineRow](ctx, tx, listGames, with)
		for _, r := range rows {
			out.Rows = append(out.Rows, r.line(ask.Stage))
		}
		return err
	})
	return out, translate(err)
}

// gamesAskedFor are the arguments of gamesAsked.
func (s *Store) gamesAskedFor(ctx context.Context, tx pgx.Tx, a game.Actor, student game.PersonID,
	ask GamesAsk) (args, error) {
	var c club.Club
	if err := tx.QueryRow(ctx, `select zone from clubs where id = $1`, a.Club).Scan(&c.Zone); err != nil {
		return nil, err
	}
	zone := c.Local(s.now()).Location()
	var from, to *time.Time
	if ask.From != 0 {
		t := ask.From.Begins(zone)
		from = &t
	}
	if ask.To != 0 {
		t := (ask.To + 1).Begins(zone)
		to = &t
	}
	if ask.Stage != "" && from == nil && to == nil {
		t := s.now().Add(-progress.Window)
		from = &t
	}
	return args{
		"club": a.Club, "reader": a.Person, "student": student, "ending": ask.Ending, "stage": string(ask.Stage),
		"least": progress.LeastPar, "shelf": ask.Shelf, "from": from, "to": to,
	}, nil
}

// drillAt names the drill that stands, or stood last, at a place on the shelf; empty where
// there is none.
func drillAt(ctx context.Context, tx pgx.Tx, c game.ClubID, shelf int64) (name string, err error) {
	const q = `select coalesce((select name from drills
			where club_id = $1 and shelf_id = $2
			order by archived_at desc nulls first, id desc
			limit 1), '')`
	err = tx.QueryRow(ctx, q, c, shelf).Scan(&name)
	return name, err
}

func endedGames(ctx context.Context, tx pgx.Tx, c game.ClubID, student game.PersonID) (n int, err error) {
	const q = `select count(*) from games where club_id = $1 and student_id = $2 and ended_at is not null`
	err = tx.QueryRow(ctx, q, c, student).Scan(&n)
	return n, err
}

// sumGames counts the games by how they ended. One that was left, or begun anew, is none.
const sumGames = `select
		count(*) as "all",
		count(*) filter (where clean) as clean,
		count(*) filter (where result in ('clean', 'over par')) as alone,
		count(*) filter (where result = 'helped') as helped,
		count(*) filter (where result in ('not won', 'not held')) as lost,
		count(*) filter (where result is not null and watched) as watched,
		count(*) filter (where result in ('clean', 'over par') and watched) as alone_when_watched
	from (select
			r.clean,
			case when g.counts and g."end" not in ('left', 'restarted') then g.result end as result,
			exists (select from acts t where t.club_id = g.club_id and t.game_id = g.id and t.kind = 'watch') as watched` +
	gamesOf + gamesAsked + `) g`

const listGames = `select` + gameColumns + `,
		t.seconds,
		t.hints,
		t.backs,
		t.someone,
		t.watched,
		t.dearest,
		coalesce((select jsonb_agg(h.habits) from stage_results h
			where h.club_id = g.club_id and h.game_id = g.id), '[]') as habits,
		coalesce(r.moves, 0) as stage_moves,
		coalesce(r.bad, 0) as stage_bad,
		coalesce(r.par, 0) as stage_par,
		coalesce(r.helps, 0) as stage_helps,
		coalesce(r.completed, false) as stage_completed,
		coalesce(r.clean, false) as stage_clean` + gamesOf + `
	cross join lateral (select
			` + thought + ` as seconds,
			count(*) filter (where t.kind = 'help') as hints,
			count(*) filter (where t.kind = 'back') as backs,
			count(*) filter (where t.kind = 'helped') > 0 as someone,
			count(*) filter (where t.kind = 'watch') > 0 as watched,
			coalesce(max(t.cost) filter (where t.kind = 'move' and t.stage = @stage), 0) as dearest
		from acts t
		where t.club_id = g.club_id and t.game_id = g.id) t
	left join stage_results r on r.club_id = g.club_id and r.game_id = g.id and r.stage = @stage
	where g.club_id = @club and g.id = any(array(select g.id` + gamesOf + gamesAsked + `
		` + latestFirst + `
		limit @most offset @skip))
	` + latestFirst

// latestFirst puts what goes on before all that has ended.
const latestFirst = `order by g.ended_at desc nulls first, g.id desc`
