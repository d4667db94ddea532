package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"drover/game/board"
	"drover/game/ending"
	"drover/game/practice"
)

// script is a start with the student's moves of a long game, known beforehand.
type script struct {
	setup practice.Setup
	moves []string
}

// length is how many moves a script has: the fifty-move rule ends the game after that.
const length = 49

// scripts finds long games of bishop and knight, each from another start.
func scripts(ctx context.Context, j *ending.Judge, n int) ([]script, error) {
	plan, _ := ending.PlanOf("KBNK") // it has one
	starts, err := j.Starts(ctx, plan, plan.Steps[0].Stage, 4*n, 7)
	if err != nil {
		return nil, fmt.Errorf("find starts: %w", err)
	}
	var out []script
	for i, p := range starts {
		set := practice.Setup{Student: 1, Ending: plan.Code, Start: p.FEN(), Side: board.White, Mode: practice.Guided,
			Target: ending.Mate, Defender: ending.HoldsOut, Seed: int64(i), Allowance: 3, Backs: 1, Wording: ending.Eight,
			Helps: practice.StepsOf(ending.HelpWish, ending.HelpCover, ending.HelpMan, ending.HelpMove)}
		moves, err := long(ctx, j, set)
		if err != nil {
			return nil, err
		}
		if len(moves) < length {
			continue // it ran out of ways not to come nearer
		}
		if out = append(out, script{set, moves}); len(out) == n {
			return out, nil
		}
	}
	if len(out) == 0 {
		return nil, errors.New("no long game was found")
	}
	return out, nil
}

// long is a game that is won all the time and comes no nearer: each move is the slowest
// that wins and leads to no position twice.
func long(ctx context.Context, j *ending.Judge, set practice.Setup) ([]string, error) {
	s, err := practice.Begin(set)
	if err != nil {
		return nil, fmt.Errorf("begin a long game: %w", err)
	}
	var moves []string
	seen := map[string]bool{}
	for len(moves) < length {
		seen[s.Pos.Key()] = true
		m, ok, err := slowest(ctx, j, s, seen)
		if err != nil {
			return nil, err
		}
		if !ok {
			break
		}
		c := practice.Command{Do: practice.Move, ID: "m", Ply: s.Ply(), Move: m.UCI(), Took: 2000,
			By: set.Student, At: time.Now()}
		next, err := practice.Apply(ctx, j, s, c)
		if err != nil {
			return nil, fmt.Errorf("play a long game: %w", err)
		}
		if s = next; s.End != "" {
			break
		}
		moves = append(moves, m.UCI())
	}
	return moves, nil
}

// slowest finds the move; ok is false if there is none.
func slowest(ctx context.Context, j *ending.Judge, s practice.State,
	seen map[string]bool) (best board.Move, ok bool, err error) {
	options, err := j.Options(ctx, s.Pos)
	if err != nil {
		return best, false, fmt.Errorf("look at the moves: %w", err)
	}
	plies := -1
	for _, o := range options {
		next := s.Pos.Play(o.Move)
		if !o.Wins() || o.After.Plies <= plies || len(next.Moves()) == 0 ||
			o.After.Plies+next.HalfMoves() > 100 { // the fifty-move rule would take the win
			continue
		}
		reply, err := j.Reply(ctx, next, s.Defender, s.Seed)
		if err != nil {
			return best, false, fmt.Errorf("look at the reply: %w", err)
		}
		if !seen[next.Play(reply).Key()] {
			best, plies = o.Move, o.After.Plies
		}
	}
	return best, plies >= 0, nil
}
