package main

import (
	"context"
	"errors"
	"fmt"
	"time"

	"drover/game"
	"drover/game/board"
	"drover/game/club"
	"drover/game/cohort"
	"drover/game/ending"
	"drover/game/live"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
)

// Three children show what the plan of practice does: one has mastered an ending
// and is asked for it again, one is stuck, and one has just come.
const (
	masters  = "Juniper"
	isStuck  = "Pim"
	newcomer = "Dot"
)

// showPlan plays what the pages of those three show, and some draws that were
// held, and counts the games.
func (s *scenario) showPlan(ctx context.Context) (int, error) {
	games := 0
	for _, part := range []func(context.Context) (int, error){s.master, s.getStuck, s.placeNewcomer, s.holdDraws} {
		n, err := part(ctx)
		if err != nil {
			return games, err
		}
		games += n
	}
	return games, nil
}

func (s *scenario) person(name string) game.Actor {
	for _, p := range s.people {
		if p.Name == name {
			return p
		}
	}
	return game.Actor{}
}

// master plays a test of five with the queen, a check a week later, and leaves
// the next check due today.
func (s *scenario) master(ctx context.Context) (int, error) {
	plan, ok := ending.PlanOf("KQK")
	if !ok {
		return 0, errors.New("no plan of the queen")
	}
	d := club.Drill{Ending: plan.Code, Mode: practice.Test, From: plan.Steps[0].Stage, To: ending.Mate,
		Defender: progress.Tester(plan.Code), Rule: club.RuleOf(practice.Test)}
	if err := s.keep(ctx, plan, &d, 6, 31); err != nil {
		return 0, err
	}
	task, err := s.give(ctx, masters, d)
	if err != nil {
		return 0, err
	}
	games := 0
	for i, days := range []int{29, 29, 29, 29, 29, 21} { // the next check comes 21 days after that
		passes := func(o practice.Outcome) bool {
			clean := map[ending.Stage]bool{}
			for _, r := range o.Stages {
				clean[r.Stage] = r.Clean
			}
			return progress.Trial{Ending: plan.Code, From: d.From, To: d.To, Moves: o.Moves, Result: o.Result,
				Clean: clean}.Passed()
		}
		if err := s.playUntil(ctx, masters, task, i, 1, 0.97, s.daysAgo(days, i), passes); err != nil {
			return games, err
		}
		games++
	}
	return games, nil
}

// getStuck plays three tries in a row at one start that are not won.
func (s *scenario) getStuck(ctx context.Context) (int, error) {
	plan, ok := ending.PlanOf("KRK")
	if !ok {
		return 0, errors.New("no plan of the rook")
	}
	d := club.Drill{Ending: plan.Code, Mode: practice.Guided, From: ending.Edge, To: ending.Mate,
		Defender: progress.Trainer(progress.Key{Ending: plan.Code, Stage: ending.Edge}), Rule: club.RuleOf(practice.Guided)}
	if err := s.keep(ctx, plan, &d, 4, 32); err != nil {
		return 0, err
	}
	task, err := s.give(ctx, isStuck, d)
	if err != nil {
		return 0, err
	}
	const tries = 3
	for i := range tries {
		lost := func(o practice.Outcome) bool { return o.Result == practice.NotWon }
		if err := s.playUntil(ctx, isStuck, task, 0, i+1, 0.1, s.daysAgo(1, i), lost); err != nil {
			return i, err
		}
	}
	return tries, nil
}

// give assigns a drill to one child.
func (s *scenario) give(ctx context.Context, name string, d club.Drill) (club.Assignment, error) {
	task := club.Assignment{Drill: d}
	var err error
	task.ID, err = s.store.Assign(ctx, s.coach, d.ID, []game.PersonID{s.person(name).Person}, nil)
	return task, err
}

// daysAgo is the i-th quarter of an hour of an afternoon some days ago.
func (s *scenario) daysAgo(days, i int) time.Time {
	day := s.now().AddDate(0, 0, -days)
	return time.Date(day.Year(), day.Month(), day.Day(), 16, 15*i, 0, 0, time.UTC)
}

// playUntil plays a start by a student of some skill until a game turns out as
// the story has it, and keeps that one.
func (s *scenario) playUntil(ctx context.Context, name string, task club.Assignment, start, try int, skill float64,
	began time.Time, fits func(practice.Outcome) bool) error {
	d := task.Drill
	for range 50 {
		set := practice.Setup{
			Student: s.person(name).Person, Ending: d.Ending, Start: d.Starts[start], Side: board.White, Mode: d.Mode,
			Target:   d.To,
			Defender: d.Defender, Seed: s.rng.Int64(), Backs: d.Rule.Backs, Allowance: d.Rule.Allowance,
		}
		state, err := cohort.Play(ctx, s.judge, set, cohort.Student{Name: name, Skill: skill}, s.rng, began)
		if err != nil {
			return err
		}
		outcome, err := practice.Summary(ctx, s.judge, state)
		if err != nil {
			return err
		}
		if fits(outcome) {
			return s.store.Import(ctx, s.coach, []store.Record{{Task: task, Start: start, Try: try, Began: began, State: state,
				Outcome: outcome}})
		}
	}
	return fmt.Errorf("no game of %s at start %d turns out as wanted", name, start+1)
}

// placeNewcomer plays a starting check: all is found up to the queen, the rook
// and the pawn are not.
func (s *scenario) placeNewcomer(ctx context.Context) (int, error) {
	who := s.person(newcomer)
	tasks, err := progress.PickPlacement(ctx, s.judge, s.rng.Int64())
	if err != nil {
		return 0, err
	}
	if err := s.store.BeginPlacement(ctx, s.coach, who.Person, tasks); err != nil {
		return 0, err
	}
	hub := live.New(s.store, s.judge, s.now)
	games := 0
	for _, t := range tasks {
		p, err := board.ParseFEN(t.FEN)
		if err != nil {
			return games, err
		}
		if t.Code == progress.Question {
			if err := s.store.AnswerTask(ctx, who, progress.Answer(p), true); err != nil {
				return games, err
			}
			continue
		}
		g, err := s.store.PlayTask(ctx, who)
		if err != nil {
			return games, err
		}
		if err := s.playTask(ctx, hub, who, g, t.Code != "KRK" && t.Code != "KPK"); err != nil {
			return games, err
		}
		games++
	}
	return games, nil
}

// playTask plays a task's game to its end: with the best moves, or else giving
// up after the first.
func (s *scenario) playTask(ctx context.Context, hub *live.Hub, who game.Actor, g game.GameID, well bool) error {
	for {
		state, err := hub.State(ctx, who.Club, g)
		if err != nil || state.End != "" {
			return err
		}
		c := practice.Command{Do: practice.Move, ID: fmt.Sprintf("sim%d", state.Seq()), Ply: state.Ply(),
			Took: 6000 + s.rng.IntN(9000)}
		best, ok, err := s.judge.Best(ctx, state.Pos)
		if err != nil {
			return err
		}
		if c.Move = best.Move.UCI(); !ok || !well && state.Seq() > 0 {
			c.Do = practice.Resign
		}
		if _, err := hub.Do(ctx, who, g, c); err != nil {
			return err
		}
	}
}
