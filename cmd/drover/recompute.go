package main

import (
	"context"
	"fmt"
	"log/slog"
	"os"
	"time"

	"drover/game"
	"drover/store/private"
)

type recomputeCommand struct{}

// Run works out what is kept of the games of every student, and says of how many.
func (recomputeCommand) Run(ctx context.Context, std streams) error {
	s, err := readSettings(os.Environ())
	if err != nil {
		return err
	}
	a := &app{settings: s, log: slog.New(slog.NewTextHandler(std.err, nil)), now: time.Now}
	defer a.close()
	if s.Database == "" {
		if err := private.Become(s.Data); err != nil {
			return err
		}
	}
	if err := a.openStore(ctx); err != nil {
		return err
	}
	n, err := a.store.RefreshOverviews(ctx)
	if err != nil {
		return fmt.Errorf("work out the overviews: %w", err)
	}
	fmt.Fprintf(std.out, "%s: what the stage view says is worked out anew.\n", game.Upper(game.Count(n, "student")))
	return nil
}
