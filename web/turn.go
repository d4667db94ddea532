package web

import (
	"context"

	"drover/game"
	"drover/game/progress"
	"drover/store"
)

// plenty is what a child reads in place of a fourth try.
const plenty = "Three tries is plenty. Let's do just the last part."

// nextGame begins what comes next in an assignment: what is under way, a try by
// begin, or the last part after three tries that were not won. It is 0 where it
// is enough for today.
func (s *Server) nextGame(ctx context.Context, a game.Actor, task game.AssignmentID,
	begin func() (game.GameID, error)) (game.GameID, error) {
	if task == 0 {
		return 0, nil
	}
	of, err := s.store.RecordOf(ctx, a.Club, a.Person, store.WithTasks, store.WithUnderWay, store.WithSeconds)
	if err != nil {
		return 0, err
	}
	if g := of.UnderWay(task); g != 0 {
		return g, nil
	}
	tries, err := s.store.TriesAt(ctx, a, task)
	if err != nil {
		return 0, err
	}
	switch of.TurnAfter(tries) {
	case progress.EnoughToday:
		return 0, nil
	case progress.LastPart:
		part, ok, err := progress.LastPartOf(ctx, s.judge, tries)
		if err != nil {
			return 0, err
		}
		if ok {
			return s.store.Part(ctx, a, part.Assignment, part.Start)
		}
	case progress.NextTry:
	}
	return begin()
}
