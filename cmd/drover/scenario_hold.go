package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"drover/game"
	"drover/game/board"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/store"
)

// holders are the children who have practised to hold a draw, with the share of
// their moves that they see through.
var holders = []struct {
	name string
	sees float64
}{{"Sol", 0.95}, {"Bea", 0.8}}

// holdDraws plays a hold drill by two children, and counts the games.
func (s *scenario) holdDraws(ctx context.Context) (int, error) {
	h, ok := ending.HoldOf("KPK")
	if !ok {
		return 0, errors.New("no hold drill of king and pawn")
	}
	d := club.Drill{Ending: h.Code, Hold: true, Mode: practice.Practice, Rule: club.RuleOf(practice.Practice)}
	picked, err := s.judge.HoldStarts(ctx, h, ending.Wanted{Kind: ending.AtRandom, N: 5, Seed: 33})
	if err != nil {
		return 0, err
	}
	for _, p := range picked.Starts {
		d.Starts = append(d.Starts, p.FEN())
	}
	if err := d.Validate(); err != nil {
		return 0, err
	}
	if d.ID, err = s.store.KeepDrill(ctx, s.coach, d); err != nil {
		return 0, err
	}
	games := 0
	for _, c := range holders {
		task, err := s.give(ctx, c.name, d)
		if err != nil {
			return games, err
		}
		for i := range d.Starts {
			r, err := s.holdOne(ctx, s.person(c.name), task, i, c.sees)
			if err != nil {
				return games, fmt.Errorf("a draw held by %s: %w", c.name, err)
			}
			if err := s.store.Import(ctx, s.coach, []store.Record{r}); err != nil {
				return games, err
			}
			games++
		}
	}
	return games, nil
}

// holdOne plays one start of a hold drill.
func (s *scenario) holdOne(ctx context.Context, who game.Actor, task club.Assignment, start int,
	sees float64) (store.Record, error) {
	began := s.daysAgo(6, start)
	state, err := practice.Begin(practice.Setup{
		Student: who.Person, Ending: task.Drill.Ending, Task: practice.Hold{}, Start: task.Drill.Starts[start],
		Mode: task.Drill.Mode, Target: ending.HoldStage, Seed: int64(start), Wording: ending.Eight,
	})
	for at := began; err == nil && state.End == ""; {
		at = at.Add(7 * time.Second)
		c := practice.Command{Do: practice.Resign, ID: fmt.Sprintf("hold%d", state.Seq()), Ply: state.Ply(), Took: 7000,
			By: who.Person, At: at}
		if !state.Gone {
			c.Do = practice.Move
			if c.Move, err = s.holdMove(ctx, state.Pos, sees); err != nil {
				break
			}
		}
		if state, err = practice.Apply(ctx, s.judge, state, c); err != nil {
			break
		}
		state.Stamp(at)
	}
	if err != nil {
		return store.Record{}, err
	}
	o, err := practice.Summary(ctx, s.judge, state)
	return store.Record{Task: task, Start: start, Try: 1, Began: began, State: state, Outcome: o}, err
}

// holdMove is a move that holds, or now and then any move.
func (s *scenario) holdMove(ctx context.Context, p board.Position, sees float64) (string, error) {
	moves, err := s.judge.HoldingMoves(ctx, p)
	if err != nil {
		return "", err
	}
	if s.rng.Float64() >= sees || len(moves) == 0 {
		moves = p.Moves()
	}
	return moves[s.rng.IntN(len(moves))].UCI(), nil
}
