package main

import (
	"context"
	"encoding/json"
	"fmt"

	"drover/game/cohort"
	"drover/game/ending"
	"drover/solver"
)

type cohortCommand struct {
	Students int   `default:"200" help:"Students of each kind and ending."`
	Seed     int64 `default:"1" help:"Another seed, other students."`
}

// Run plays simulated students with a planted weakness through the real judge
// and prints how often the stage and the habit that it names are the planted
// ones: a line for each kind, ending and number of games, then the totals.
func (c cohortCommand) Run(ctx context.Context, std streams) error {
	if c.Students < 1 {
		return fmt.Errorf("--students must be 1 or more")
	}
	judge := ending.NewJudge(solver.NewTables())
	if err := judge.Ready(ctx); err != nil {
		return err
	}
	out := json.NewEncoder(std.out)
	var all []cohort.Share
	kinds := cohort.Kinds()
	for i, k := range kinds {
		fmt.Fprintf(std.err, "%d of %d: %s\n", i+1, len(kinds), k.Name)
		for p := range ending.Plans() {
			plan := &ending.Plans()[p]
			if !k.PlayedIn(plan.Code) {
				continue
			}
			shares, err := cohort.Measure(ctx, judge, k, plan, c.Students, c.Seed)
			if err != nil {
				return err
			}
			all = append(all, shares...)
			for _, s := range shares {
				if err := out.Encode(s); err != nil {
					return fmt.Errorf("write: %w", err)
				}
			}
		}
	}
	for _, t := range cohort.Totals(all) {
		if err := out.Encode(t); err != nil {
			return fmt.Errorf("write: %w", err)
		}
	}
	return nil
}
