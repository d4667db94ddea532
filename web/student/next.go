package student

import (
	"context"

	"drover/game"
	"drover/game/progress"
	"drover/store"
)

// nextGame begins what comes next in an assignment: what is under way, a try by
// begin, or the last part after three tries that were not won. It is 0 where it
// is enough for today.
func (s Pages) nextGame(ctx context.Context, a game.Actor, task game.AssignmentID,
	begin func() (game.GameID, error)) (game.GameID, error) {
	if task == 0 {
		return 0, nil
	}
	of, err := s.Store.RecordOf(ctx, a.Club, a.Person, store.WithTasks, store.WithUnderWay, store.WithSeconds)
	if err != nil {
		return 0, err
	}
	if g := of.UnderWay(task); g != 0 {
		return g, nil
	}
	tries, err := s.Store.TriesAt(ctx, a, task)
	if err != nil {
		return 0, err
	}
	switch of.OfferAfter(tries) {
	case progress.EnoughToday:
		return 0, nil
	case progress.LastPart:
		part, ok, err := progress.LastPartOf(ctx, s.Judge, tries)
		if err != nil {
			return 0, err
		}
		if ok {
			return s.Store.Part(ctx, a, part.Assignment, part.Start)
		}
	case progress.NextTry:
	}
	return begin()
}
