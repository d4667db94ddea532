package web

import (
	"fmt"
	"sort"
	"strings"

	"drover/game"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
	"drover/web/view"
)

// weakness is the stage that the rule names for one student.
type weakness struct {
	plan  *ending.Plan
	stage int
	found progress.Finding
}

// key names the stage.
func (w weakness) key() *progress.Key {
	return &progress.Key{Ending: w.plan.Code, Stage: w.plan.Steps[w.stage].Stage}
}

// diagnosis is what the rule says of one student: a weakness, or why there is
// none, and the habit that shows.
type diagnosis struct {
	*weakness
	say     string
	missing int // games until the rule says anything
	habit   practice.Habit // of the weakness' ending; without one, over all endings
	habitIn string         // the ending in which it shows most
}

// diagnose applies the rule to a student's games, ending by ending; where it
// names several stages the surest is said.
func diagnose(cells []store.StageCell, habits map[string]map[practice.Habit]practice.Tally) diagnosis {
	var best *weakness
	missing, all := progress.Enough, []map[practice.Habit]practice.Tally{}
	for i := range ending.Plans() {
		plan := &ending.Plans()[i]
		all = append(all, habits[plan.Code])
		f, left := progress.Named(plan.Code, tallies(plan, cells))
		missing = min(missing, left)
		if f.Stage >= 0 && (best == nil || f.Posterior > best.found.Posterior) {
			best = &weakness{plan, f.Stage, f}
		}
	}
	if best != nil {
		return diagnosis{weakness: best, habit: progress.HabitOf(habits[best.plan.Code]), habitIn: best.plan.Code}
	}
	habit := progress.HabitOf(progress.SumHabits(all...))
	d := diagnosis{say: "None stands out so far", habit: habit, habitIn: oftenIn(habit, habits)}
	switch {
	case missing > 0:
		d.say, d.habit, d.missing = "Known after "+view.Count(missing, "more game"), "", missing
	case habit != "":
		d.say += "; habit: " + string(habit)
	}
	return d
}

// oftenIn is the ending in which a habit was given in to most often.
func oftenIn(h practice.Habit, habits map[string]map[practice.Habit]practice.Tally) string {
	in, k := "", 0
	for _, plan := range ending.Plans() {
		if n := habits[plan.Code][h].K; n > k {
			in, k = plan.Code, n
		}
	}
	return in
}

// tallies groups a student's stages of one ending game by game, oldest first.
func tallies(plan *ending.Plan, cells []store.StageCell) [][]progress.Tally {
	var games [][]progress.Tally
	at := map[game.GameID]int{}
	for _, c := range inOrder(plan.Code, cells) {
		i, ok := at[c.Game]
		if !ok {
			i = len(games)
			at[c.Game] = i
			games = append(games, make([]progress.Tally, len(plan.Steps)))
		}
		if s := plan.Index(c.Stage); s >= 0 {
			games[i][s] = games[i][s].Add(progress.Tally{N: c.Moves, K: c.Bad, Weights: c.Weights()})
		}
	}
	return games[max(0, len(games)-mostGames):]
}

// mostGames is how many games of an ending the rule looks back over.
const mostGames = 20

// inOrder takes the stages of one ending by the time their games ended.
func inOrder(code string, cells []store.StageCell) []store.StageCell {
	var out []store.StageCell
	for _, c := range cells {
		if c.Ending == code {
			out = append(out, c)
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].Ended.Before(out[j].Ended) })
	return out
}

// draw is the weakness as the table shows it.
func (d diagnosis) draw() *view.Weakness {
	if d.weakness == nil {
		return nil
	}
	return &view.Weakness{
		Ending: d.plan.Code, Stage: string(d.plan.Steps[d.stage].Stage), Habit: string(d.habit),
		Line: fmt.Sprintf("%s: %d of %s went wrong", strings.ToLower(d.plan.Name), d.found.K, view.Count(d.found.N, "move")),
	}
}

// together finds the stage that is named for the most students; nil where none
// is named for anybody.
func together(people []store.RosterRow, found map[game.PersonID]diagnosis) (same []store.RosterRow, what *weakness) {
	type key struct {
		code  string
		stage int
	}
	by := map[key][]store.RosterRow{}
	for _, p := range people {
		w := found[p.ID].weakness
		if w == nil {
			continue
		}
		k := key{w.plan.Code, w.stage}
		if by[k] = append(by[k], p); len(by[k]) > len(same) {
			same, what = by[k], w
		}
	}
	return same, what
}

// thread is the finding that names children, with the drill that fits them and
// its reason. A habit that they share is treated first.
func thread(same []store.RosterRow, w *weakness, found map[game.PersonID]diagnosis) ([]view.Part, *view.Link, string) {
	names, ids := make([]string, len(same)), make([]game.PersonID, len(same))
	known := progress.Known{Weakest: w.key(), Habit: found[same[0].ID].habit, HabitIn: w.plan.Code}
	for i, p := range same {
		names[i], ids[i] = p.Name, p.ID
		if found[p.ID].habit != known.Habit {
			known.Habit = ""
		}
	}
	lose := " lose the thread "
	if len(same) == 1 {
		lose = " loses the thread "
	}
	label := "Set a drill for " + names[0]
	if len(same) > 1 {
		label = fmt.Sprintf("Set a drill for these %d", len(same))
	}
	stage := w.plan.Steps[w.stage].Stage
	at, where := lostOn(stage)
	next, _ := progress.Propose(known) // a weakness always has its drill
	return []view.Part{
		{Text: nameList(names) + lose + at}, {Text: where + " (" + strings.ToLower(w.plan.Name) + ")", Stage: string(stage)},
	}, &view.Link{Href: builder(next, ids...), Label: label}, next.Why
}

// nameList joins names as a sentence does: "A, B and C".
func nameList(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1]
}
