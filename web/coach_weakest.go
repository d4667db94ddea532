package web

import (
	"fmt"
	"net/url"
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
	habit practice.Habit
}

// diagnosis is what the rule says of one student: a weakness, or why there is
// none.
type diagnosis struct {
	*weakness
	say string
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
			best = &weakness{plan, f.Stage, f, progress.HabitOf(habits[plan.Code])}
		}
	}
	switch habit := progress.HabitOf(progress.SumHabits(all...)); {
	case best != nil:
		return diagnosis{best, ""}
	case missing > 0:
		return diagnosis{nil, "Not yet: " + view.Count(missing, "more game")}
	case habit != "":
		return diagnosis{nil, "None stands out so far; habit: " + string(habit)}
	}
	return diagnosis{nil, "None stands out so far"}
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
			games[i][s] = games[i][s].Add(progress.Tally{N: c.Moves, K: c.Bad})
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
		Stage: string(d.plan.Steps[d.stage].Stage), Habit: string(d.habit),
		Line: fmt.Sprintf("%s, %d %%", strings.ToLower(d.plan.Name), int(100*d.found.Posterior)),
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

// thread is the finding that names children, with its action.
func thread(same []store.RosterRow, w *weakness) ([]view.Part, *view.Link) {
	names, ids := make([]string, len(same)), make([]string, len(same))
	for i, p := range same {
		names[i], ids[i] = p.Name, fmt.Sprint(p.ID)
	}
	lose := " lose the thread at "
	if len(same) == 1 {
		lose = " loses the thread at "
	}
	stage := w.plan.Steps[w.stage].Stage
	q := url.Values{"ending": {w.plan.Code}, "from": {string(stage)}, "for": {strings.Join(ids, ",")}}
	label := "Set a drill for " + names[0]
	if len(same) > 1 {
		label = fmt.Sprintf("Set a drill for these %d", len(same))
	}
	return []view.Part{
		{Text: nameList(names) + lose}, {Text: place(stage) + ", " + strings.ToLower(w.plan.Name), Stage: string(stage)},
	}, &view.Link{Href: "/drills/new?" + q.Encode(), Label: label}
}

// nameList joins names as a sentence does: "A, B and C".
func nameList(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:len(names)-1], ", ") + " and " + names[len(names)-1]
}
