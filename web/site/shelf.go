package site

import (
	"context"

	"drover/game"
	"drover/game/progress"
)

// FillShelf puts the ready drills on a club's shelf that it has never had.
func (s *Site) FillShelf(ctx context.Context, a game.Actor) error {
	ready, err := progress.Shelf()
	if err != nil {
		return err
	}
	_, err = s.Store.FillShelf(ctx, a, ready)
	return err
}
