package store

import (
	"context"
	"errors"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"

	"github.com/jackc/pgx/v5"
)

// BeginPlacement gives a student a starting check; one that is under way stays,
// and a form that was sent before begins no other.
func (s *Store) BeginPlacement(ctx context.Context, a game.Actor, student game.PersonID, tasks []progress.PickedTask,
	sent ...Sent) error {
	_, err := s.once(ctx, a, sent, func(tx pgx.Tx, _ Sent) (id int64, err error) {
		if _, err := pupil(ctx, tx, a.Club, student); err != nil {
			return 0, err
		}
		const q = `insert into placements (club_id, student_id, begun_by, begun_at)
			values (@club, @student, @by, @now)
			on conflict do nothing
			returning id`
		err = tx.QueryRow(ctx, q, args{"club": a.Club, "student": student, "by": a.Person, "now": s.now()}).Scan(&id)
		if errors.Is(err, pgx.ErrNoRows) {
			return 0, nil
		}
		if err != nil {
			return 0, err
		}
		const row = `insert into placement_tasks (club_id, placement_id, no, kind, fen, ending, target, budget)
			values (@club, @placement, @no, @kind, @fen, @ending, @target, @budget)`
		for i, t := range tasks {
			if _, err := tx.Exec(ctx, row, args{
				"club": a.Club, "placement": id, "no": i + 1, "kind": t.Code, "fen": t.FEN, "ending": t.Ending,
				"target": t.Target, "budget": t.Budget,
			}); err != nil {
				return 0, err
			}
		}
		return id, audit(ctx, tx, a, "starting check begun", student, "")
	})
	return err
}

// LatestPlacement is a student's last starting check; nil where there is none.
func (s *Store) LatestPlacement(ctx context.Context, c game.ClubID,
	student game.PersonID) (*progress.Placement, error) {
	var p *progress.Placement
	err := s.tx(ctx, func(tx pgx.Tx) (err error) {
		p, err = placement(ctx, tx, c, student)
		return err
	})
	return p, err
}

func placement(ctx context.Context, tx pgx.Tx, c game.ClubID, student game.PersonID) (*progress.Placement, error) {
	var p progress.Placement
	const q = `select id, begun_at, ended_at
		from placements
		where club_id = $1 and student_id = $2
		order by id desc
		limit 1`
	err := tx.QueryRow(ctx, q, c, student).Scan(&p.ID, &p.Begun, &p.Ended)
	if errors.Is(err, pgx.ErrNoRows) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	rows, err := tx.Query(ctx, readPlacementTasks, c, p.ID)
	if err != nil {
		return nil, err
	}
	p.Tasks, err = pgx.CollectRows(rows, pgx.RowToStructByNameLax[progress.PlacementTask]) // lax: what is asked follows
	for i := range p.Tasks {
		p.Tasks[i].Ask = progress.AskAt(i)
	}
	return &p, err
}

// readPlacementTasks reads the tasks in order; they are numbered from 1 without a gap.
const readPlacementTasks = `select
		t.kind as code,
		t.fen,
		t.ending,
		t.target,
		t.budget,
		coalesce(g.id, 0) as game,
		t.passed,
		t.took
	from placement_tasks t
	left join games g on g.club_id = t.club_id and g.id = t.game_id and (g.ended_at is null or t.passed is not null)
	where t.club_id = $1 and t.placement_id = $2
	order by t.no`

// PlayTask begins the game of the task that is asked now, or gives the one that
// is under way; a game that was left for a day is begun anew. It is 0 where no
// board is asked for.
func (s *Store) PlayTask(ctx context.Context, a game.Actor) (game.GameID, error) {
	var id game.GameID
	err := s.tx(ctx, func(tx pgx.Tx) error {
		if err := lockStudent(ctx, tx, a); err != nil {
			return err
		}
		p, err := placement(ctx, tx, a.Club, a.Person)
		if err != nil || p == nil || p.Next() < 0 || p.Tasks[p.Next()].Code == progress.Question {
			return err
		}
		t, no := p.Tasks[p.Next()], p.Next()+1
		if id = t.Game; id != 0 {
			return nil
		}
		id, err = beginExtra(ctx, tx, a, extra{
			kind: OfPlacement, start: no - 1, ending: t.Ending, from: t.Target, to: t.Target, fen: t.FEN, mode: practice.Test,
			defender: ending.HoldsOut, rule: club.Rule{Budget: t.Budget},
		}, s.now())
		if err != nil {
			return err
		}
		const q = `update placement_tasks set game_id = @game
			where club_id = @club and placement_id = @placement and no = @no`
		_, err = tx.Exec(ctx, q, args{"club": a.Club, "placement": p.ID, "no": no, "game": id})
		return err
	})
	return id, err
}

// AnswerTask notes the answer to the question that is asked now; to another task
// it changes nothing.
func (s *Store) AnswerTask(ctx context.Context, a game.Actor, answer string, passed bool) error {
	return s.tx(ctx, func(tx pgx.Tx) error {
		if err := lockStudent(ctx, tx, a); err != nil {
			return err
		}
		if err := mustPractise(ctx, tx, a); err != nil {
			return err
		}
		p, err := placement(ctx, tx, a.Club, a.Person)
		if err != nil || p == nil || p.Next() < 0 || p.Tasks[p.Next()].Code != progress.Question {
			return err
		}
		const q = `update placement_tasks set answer = @answer, passed = @passed
			where club_id = @club and placement_id = @placement and no = @no and passed is null`
		if _, err := tx.Exec(ctx, q, args{
			"club": a.Club, "placement": p.ID, "no": p.Next() + 1, "answer": answer, "passed": passed,
		}); err != nil {
			return err
		}
		if err := endPlacement(ctx, tx, a, s.now()); err != nil {
			return err
		}
		return s.jobs.put(ctx, tx, OverviewJob{a.Club, a.Person}) // what comes next follows from the check
	})
}

// answered notes what came of the game of a task, and ends a check that is over.
// A game that was left or stopped answers nothing.
func answered(ctx context.Context, tx pgx.Tx, e entry, at time.Time) error {
	if !e.setup.Quiet || e.outcome.End == practice.Abandoned || e.outcome.End == practice.Stopped {
		return nil
	}
	const q = `update placement_tasks set
			passed = $3,
			took = (select coalesce(sum(took), 0) / 1000 from acts where club_id = $1 and game_id = $2)
		where club_id = $1 and game_id = $2 and passed is null`
	if _, err := tx.Exec(ctx, q, e.club, e.setup.Game, e.outcome.Result != practice.NotWon); err != nil {
		return err
	}
	return endPlacement(ctx, tx, game.Actor{Club: e.club, Person: e.setup.Student}, at)
}

func endPlacement(ctx context.Context, tx pgx.Tx, a game.Actor, at time.Time) error {
	p, err := placement(ctx, tx, a.Club, a.Person)
	if err != nil || p == nil || p.Ended != nil {
		return err
	}
	seconds := 0
	for _, t := range p.Tasks {
		seconds += t.Took
	}
	if !progress.PlacementOver(p.Passed(), seconds) {
		return nil
	}
	const q = `update placements set ended_at = $3 where club_id = $1 and id = $2`
	if _, err := tx.Exec(ctx, q, a.Club, p.ID, at); err != nil {
		return err
	}
	return audit(ctx, tx, a, "starting check ended", a.Person, "")
}

// FirstTime says whether a student sees the cards before the first game: no game was begun yet,
// but for the starting check, and they were not put away.
func (s *Store) FirstTime(ctx context.Context, a game.Actor) (bool, error) {
	const q = `select not p.cards_left and not exists (select from games g
			where g.club_id = p.club_id and g.student_id = p.id and g.kind <> 'newcomer')
		from people p
		where p.club_id = $1 and p.id = $2`
	var first bool
	err := s.pool.QueryRow(ctx, q, a.Club, a.Person).Scan(&first)
	return first, translate(err)
}

// LeaveCards puts the cards before the first game away.
func (s *Store) LeaveCards(ctx context.Context, a game.Actor) error {
	const q = `update people set cards_left = true where club_id = $1 and id = $2 and role = 'student'`
	_, err := s.pool.Exec(ctx, q, a.Club, a.Person)
	return translate(err)
}
