package progress

import (
	"slices"

	"drover/game/ending"
)

// Met is an ending that a student has met: one to win, or one whose draw is held.
type Met struct {
	Code string
	Hold bool
}

// Met lists the endings that the student has played or that are set, in the order of teaching,
// those that are held last. Somebody who has met nothing yet has the first of the ladder, or
// the one in which the starting check has put them.
func (r Record) Met() []Met {
	seen := map[Met]bool{}
	for _, p := range r.Stages {
		seen[Met{p.Ending, false}] = true
	}
	for _, h := range r.Holds {
		seen[Met{h.Ending, true}] = true
	}
	for _, t := range r.Tasks {
		seen[Met{t.Drill.Ending, t.Drill.Hold}] = true
	}
	for k := range r.Bells {
		seen[Met{k.Ending, false}] = true
	}
	if len(seen) == 0 {
		seen[Met{r.place().Ending, false}] = true
	}
	var out []Met
	for _, plan := range ending.Taught() {
		if m := (Met{plan.Code, false}); seen[m] {
			out = append(out, m)
		}
	}
	for _, h := range ending.Holds() {
		if m := (Met{h.Code, true}); seen[m] {
			out = append(out, m)
		}
	}
	slices.SortStableFunc(out, func(a, b Met) int { return order(a) - order(b) })
	return out
}

// order is the place of an ending in the ladder; those that are not in it come after it, and
// those that are held last.
func order(m Met) int {
	i := slices.Index(ladder[:], m.Code)
	switch {
	case m.Hold:
		return 2 * len(ladder)
	case i < 0:
		return len(ladder)
	}
	return i
}

// place is the stage at which practice begins for somebody of whom no game is known.
func (r Record) place() Key {
	if r.Placement != nil && r.Placement.Ended != nil {
		return PlacementResultOf(r.Placement.Passed()).First
	}
	plan, _ := ending.PlanOf(ladder[0]) // it has one
	return Key{plan.Code, plan.Steps[plan.Last()].Stage}
}

// FirstFree is the free practice that a newcomer is shown after the starting check, until a
// coach sets something; ok is false for everybody else.
func (r Record) FirstFree() (Key, bool) {
	waits := r.Placement == nil || r.Placement.Ended != nil
	return r.place(), waits && len(r.Tasks) == 0 && len(r.Stages) == 0 && len(r.Bells) == 0
}
