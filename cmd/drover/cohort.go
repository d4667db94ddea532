package main

import (
	"context"
	"encoding/json"
	"fmt"
	"slices"

	"drover/game/cohort"
	"drover/game/ending"
	"drover/game/progress"
	"drover/solver"
)

type cohortCommand struct {
	Students int    `default:"200" help:"Students of each kind and ending."`
	Seed     int64  `default:"1" help:"Another seed makes other students."`
	Kind     string `help:"Only this kind of student, as 'king at home'."`
	Cure     bool   `help:"Print instead what would be gained by what is taught first, by experiment."`
	Offsets  bool   `help:"Print the constants of the diagnosis instead, fitted to the healthy students."`
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
		return fmt.Errorf("build the tables: %w", err)
	}
	if c.Offsets {
		return c.fit(ctx, judge, std)
	}
	if c.Cure {
		return c.cure(ctx, judge, std)
	}
	return c.measure(ctx, judge, std)
}

// cure prints a line for each kind, ending and number of games, then the totals.
func (c cohortCommand) cure(ctx context.Context, judge *ending.Judge, std streams) error {
	out := json.NewEncoder(std.out)
	var all []cohort.CureShare
	err := c.each(std, func(s cohort.Study) error {
		shares, err := cohort.Cured(ctx, judge, s)
		all = append(all, shares...)
		for _, share := range shares {
			if err := out.Encode(share); err != nil {
				return fmt.Errorf("write: %w", err)
			}
		}
		return err
	})
	if err != nil {
		return err
	}
	for _, t := range cohort.CureTotals(all) {
		if err := out.Encode(t); err != nil {
			return fmt.Errorf("write: %w", err)
		}
	}
	return nil
}

func (c cohortCommand) measure(ctx context.Context, judge *ending.Judge, std streams) error {
	out := json.NewEncoder(std.out)
	var all, strict []cohort.Share
	err := c.each(std, func(s cohort.Study) error {
		m, err := cohort.Measure(ctx, judge, s)
		all, strict = append(all, m.Shares...), append(strict, m.Strict...)
		for _, share := range m.Shares {
			if err := out.Encode(share); err != nil {
				return fmt.Errorf("write: %w", err)
			}
		}
		return err
	})
	if err != nil {
		return err
	}
	for _, t := range cohort.Totals(all) {
		if err := out.Encode(t); err != nil {
			return fmt.Errorf("write: %w", err)
		}
	}
	aside(std, strict)
	return nil
}

// aside says how the totals are where a stage is true only if the weakness strikes
// more often in it than elsewhere, and whom that leaves out.
func aside(std streams, strict []cohort.Share) {
	for m, t := range cohort.Totals(strict) {
		students, apart, named := 0, 0, 0
		for _, s := range strict {
			if s.Games == cohort.Marks()[m] {
				students, apart, named = students+s.Students, apart+s.Apart, named+s.ApartNamed
			}
		}
		fmt.Fprintf(std.err, "after %d games, strict truth: right %.3f, wrong %.3f; "+
			"%d of %d students stand apart, %d of them given a stage\n",
			t.Games, t.Right, t.Wrong, apart, students, named)
	}
}

// fit prints the attraction of the classes of moves and a row of offsets for
// each plan.
func (c cohortCommand) fit(ctx context.Context, judge *ending.Judge, std streams) error {
	var samples []progress.Sample
	err := c.each(std, func(s cohort.Study) error {
		if !s.Kind.Healthy || s.Kind.Mild {
			return nil
		}
		more, err := cohort.Samples(ctx, judge, s)
		samples = append(samples, more...)
		return err
	})
	if err != nil {
		return err
	}
	if err := json.NewEncoder(std.out).Encode(progress.Fit(samples)); err != nil {
		return fmt.Errorf("write: %w", err)
	}
	return nil
}

// each goes through the kinds and the endings that they are played in. King and
// pawn is none of them: it is judged by result and stage alone.
func (c cohortCommand) each(std streams, do func(cohort.Study) error) error {
	kinds := slices.DeleteFunc(slices.Clone(cohort.Kinds()), func(k cohort.Kind) bool {
		return c.Kind != "" && k.Name != c.Kind
	})
	if len(kinds) == 0 {
		return fmt.Errorf("there is no kind of student called %q", c.Kind)
	}
	for i, k := range kinds {
		fmt.Fprintf(std.err, "%d of %d: %s\n", i+1, len(kinds), k.Name)
		for _, plan := range ending.Plans() {
			if !k.PlayedIn(plan.Code) {
				continue
			}
			if err := do(cohort.Study{Kind: k, Plan: &plan, Students: c.Students, Seed: c.Seed}); err != nil {
				return err
			}
		}
	}
	return nil
}
