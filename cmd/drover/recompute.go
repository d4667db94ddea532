package main

import (
	"context"
	"fmt"
	"log/slog"
	"os"
	"time"

	"drover/game"
	"drover/game/ending"
	"drover/game/practice"
	"drover/solver"
	"drover/store/private"
)

type recomputeCommand struct{}

// Run counts the moves of every ended game anew, then works out what is kept of the
// games of every student, and says of how many.
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
	judge := ending.NewJudge(solver.NewTables())
	if err := judge.Ready(ctx); err != nil {
		return fmt.Errorf("build the tables: %w", err)
	}
	games, err := a.store.RecountGames(ctx, func(state practice.State) (practice.Outcome, error) {
		return practice.Summary(ctx, judge, state)
	})
	if err != nil {
		return fmt.Errorf("count the games' moves: %w", err)
	}
	n, err := a.store.RefreshOverviews(ctx)
	if err != nil {
		return fmt.Errorf("work out the overviews: %w", err)
	}
	fmt.Fprintf(std.out, "%s of %s: what the stage view says is worked out anew.\n", game.Upper(game.Count(games, "game")),
		game.Count(n, "student"))
	return nil
}
