package store

import (
	"context"
	"fmt"

	"drover/game"
	"drover/game/practice"

	"github.com/jackc/pgx/v5"
)

// endedGame is a game that has ended and counts.
type endedGame struct {
	Club game.ClubID
	ID   game.GameID
}

// gamesAtOnce is how many games are read at a time where all of them are gone through.
const gamesAtOnce = 500

// RecountGames counts the moves of the ended games of all clubs anew, as the outcome of
// each says, and gives their number. Their results stay as they are. One that is forgotten
// meanwhile is passed over.
func (s *Store) RecountGames(ctx context.Context, outcome func(practice.State) (practice.Outcome, error)) (n int, err error) {
	for after := (endedGame{}); ; {
		games, err := s.endedGames(ctx, after)
		if err != nil {
			return n, err
		}
		for _, g := range games {
			after = g
			err := s.recount(ctx, g, outcome)
			if err == nil {
				n++
				continue
			}
			if _, gone := s.Setup(ctx, g.Club, g.ID); game.KindOf(gone) != game.Missing {
				return n, fmt.Errorf("game %d of club %d: %w", g.ID, g.Club, err)
			}
		}
		if len(games) < gamesAtOnce {
			return n, nil
		}
	}
}

// endedGames lists the games that follow a game and have stages, in the order of their keys.
func (s *Store) endedGames(ctx context.Context, after endedGame) ([]endedGame, error) {
	const q = `select club_id as club, id
		from games g
		where ended_at is not null and counts and (club_id, id) > ($1, $2)
			and exists (select from stage_results r where r.club_id = g.club_id and r.game_id = g.id)
		order by club_id, id
		limit $3`
	out, err := readAll[endedGame](ctx, s.pool, q, after.Club, after.ID, gamesAtOnce)
	return out, translate(err)
}

func (s *Store) recount(ctx context.Context, g endedGame, outcome func(practice.State) (practice.Outcome, error)) error {
	set, err := s.Setup(ctx, g.Club, g.ID)
	if err != nil {
		return err
	}
	acts, err := s.Load(ctx, g.Club, g.ID, 0)
	if err != nil {
		return err
	}
	state, err := practice.Folded(set, acts)
	if err != nil {
		return err
	}
	o, err := outcome(state)
	if err != nil {
		return err
	}
	return translate(transact(ctx, s.pool, plain, func(tx pgx.Tx) error { return keepCounts(ctx, tx, g, o.Stages) }))
}

func keepCounts(ctx context.Context, tx pgx.Tx, g endedGame, stages []practice.StageResult) error {
	const q = `update stage_results set made = @made, offered = @offered, habits = coalesce(@habits::jsonb, '{}')
		where club_id = @club and game_id = @game and stage = @stage`
	for _, r := range stages {
		if _, err := tx.Exec(ctx, q, args{
			"club": g.Club, "game": g.ID, "stage": r.Stage,
			"made": r.Weights.Made[:], "offered": r.Weights.Offered[:], "habits": r.Habits,
		}); err != nil {
			return err
		}
	}
	return nil
}
