package web

import (
	"context"
	"hash/fnv"
	"strconv"
	"time"

	"drover/game"
	"drover/game/board"
	"drover/game/club"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
)

// plenty is what a child reads in place of a fourth try.
const plenty = "Three tries is plenty. Let's do just the last part."

// turns is what decides over a student's next tries: the day, what was played on
// it, and the tries at what is open.
type turns struct {
	today   progress.Day
	seconds int // of play today
	tries   map[game.AssignmentID][]progress.Try
	parts   map[game.AssignmentID]game.GameID // last parts under way
}

func (t turns) of(task store.Task) progress.Turn {
	return progress.NextTurn(t.tries[task.ID], t.today, t.seconds, task.Drill.Mode == practice.Test)
}

func (s *Server) turns(ctx context.Context, c club.Club, a game.Actor) (turns, error) {
	t := turns{today: progress.DayOf(local(c, s.now())), tries: map[game.AssignmentID][]progress.Try{}}
	all, err := s.store.OpenTries(ctx, a.Club, a.Person)
	if err != nil {
		return t, err
	}
	for _, row := range all {
		t.tries[row.ID] = row.Tries
	}
	if t.parts, err = s.store.OpenParts(ctx, a); err != nil {
		return t, err
	}
	t.seconds, err = s.playedToday(ctx, c, a)
	return t, err
}

func (s *Server) playedToday(ctx context.Context, c club.Club, a game.Actor) (int, error) {
	now := local(c, s.now())
	return s.store.PlayedSince(ctx, a, time.Date(now.Year(), now.Month(), now.Day(), 0, 0, 0, 0, now.Location()))
}

// nextGame begins what comes next in an assignment: what is under way, a try by
// begin, or the last part after three tries that were not won. It is 0 where it
// is enough for today.
func (s *Server) nextGame(ctx context.Context, a game.Actor, task game.AssignmentID, begin func() (game.GameID, error)) (game.GameID, error) {
	if task == 0 {
		return 0, nil
	}
	parts, err := s.store.OpenParts(ctx, a)
	if err != nil || parts[task] != 0 {
		return parts[task], err
	}
	open, err := s.openGame(ctx, a, task)
	if err != nil || open != 0 {
		return open, err
	}
	c, err := s.store.Club(ctx, a.Club)
	if err != nil {
		return 0, err
	}
	seconds, err := s.playedToday(ctx, c, a)
	if err != nil {
		return 0, err
	}
	t, err := s.store.TriesAt(ctx, a, task)
	if err != nil {
		return 0, err
	}
	switch progress.NextTurn(t.Tries, progress.DayOf(local(c, s.now())), seconds, t.Drill.Mode == practice.Test) {
	case progress.EnoughToday:
		return 0, nil
	case progress.LastPart:
		if g, err := s.lastPart(ctx, a, t); err != nil || g != 0 {
			return g, err
		}
	case progress.NextTry:
	}
	return begin()
}

// openGame is the try of an assignment that a student has under way, 0: none.
func (s *Server) openGame(ctx context.Context, a game.Actor, task game.AssignmentID) (game.GameID, error) {
	tasks, err := s.store.Tasks(ctx, a)
	for _, t := range tasks {
		if t.ID == task {
			return t.OpenGame, err
		}
	}
	return 0, err
}

// lastPart begins the last part of the start that was tried last. In place of a
// test it is practice. It is 0 for a drill that has no stages.
func (s *Server) lastPart(ctx context.Context, a game.Actor, t store.TaskTries) (game.GameID, error) {
	last := t.Tries[len(t.Tries)-1].Start
	if last < 0 || last >= len(t.Drill.Starts) {
		return 0, nil
	}
	start, err := board.ParseFEN(t.Drill.Starts[last])
	if err != nil {
		return 0, err
	}
	h := fnv.New64a()
	_, _ = h.Write([]byte(start.FEN() + strconv.Itoa(len(t.Tries)))) // a hash takes anything
	k := progress.Key{Ending: t.Drill.Ending, Stage: t.Drill.From}
	p, from, ok, err := progress.PartOf(ctx, s.judge, k, t.Drill.To, start, int64(h.Sum64()))
	if err != nil || !ok {
		return 0, err
	}
	task := t.Assignment
	if task.Drill.From = from; task.Drill.Mode == practice.Test {
		task.Drill.Mode, task.Drill.Rule = practice.Practice, club.RuleOf(practice.Practice)
	}
	task.Drill.Rule.Budget = 0
	return s.store.Part(ctx, a, task, p.FEN())
}
