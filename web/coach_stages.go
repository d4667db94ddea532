package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"drover/game"
	"drover/game/ending"
	"drover/game/progress"
	"drover/store"
	"drover/web/view"
)

// bars is how many games a cell draws.
const bars = 10

// stages is the stage view: students down, stages across.
func (s *Server) stages(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, _, err := s.frame(r.Context(), a)
	if err != nil {
		return err
	}
	people, err := s.store.Roster(r.Context(), a.Club)
	if err != nil {
		return err
	}
	cells, err := s.store.StageView(r.Context(), a.Club)
	if err != nil {
		return err
	}
	failures, err := s.store.Failures(r.Context(), a.Club)
	if err != nil {
		return err
	}
	habits, err := s.store.HabitsView(r.Context(), a.Club, 0)
	if err != nil {
		return err
	}
	bells, err := s.store.Bells(r.Context(), a.Club)
	if err != nil {
		return err
	}
	holds, err := s.store.HoldsView(r.Context(), a.Club)
	if err != nil {
		return err
	}
	by, found := map[game.PersonID][]store.StageCell{}, map[game.PersonID]diagnosis{}
	for _, c := range cells {
		by[c.Student] = append(by[c.Student], c)
	}
	for _, p := range people {
		found[p.ID] = diagnose(by[p.ID], habits[p.ID])
	}
	tries, err := s.store.OpenTries(r.Context(), a.Club, 0)
	if err != nil {
		return err
	}
	all, worst := weigh(failures)
	same, what := together(people, found)
	m := view.StagesPage{Page: page, Chosen: r.URL.Query().Get("ending")}
	if m.Chosen == "" {
		m.Chosen = worst.Ending // a narrow page shows one ending: the one that the finding is about
		if what != nil {
			m.Chosen = what.plan.Code
		}
	}
	m.Finding, m.Action = finding(all, worst, len(people))
	if what != nil {
		m.Finding, m.Action, m.Why = thread(same, what, found)
		people = first(same, people)
	}
	m.Stuck = stuckRows(tries)
	shown := shownPlans(cells)
	for _, plan := range shown {
		col := view.StageColumns{Ending: view.Ending{ID: plan.Code, Name: plan.Name}}
		for _, step := range plan.Steps {
			col.Stages = append(col.Stages, string(step.Stage))
		}
		m.Endings = append(m.Endings, col)
	}
	for _, p := range people {
		m.Rows = append(m.Rows, stageRow(p, shown, by[p.ID], bells[p.ID], found[p.ID]))
	}
	m.Holds = holdsTable(people, holds)
	return s.show(w, r, m.View())
}

// shownPlans are the endings that somebody has played, in teaching order; all of
// them where nobody has played yet. A wide table scrolls in its own frame.
func shownPlans(cells []store.StageCell) []ending.Plan {
	played := map[string]bool{}
	for _, c := range cells {
		played[c.Ending] = true
	}
	var out []ending.Plan
	for _, p := range ending.Taught() {
		if played[p.Code] {
			out = append(out, p)
		}
	}
	if len(out) == 0 {
		out = ending.Plans()
	}
	return out
}

// first moves some of the people to the front; the others keep their order.
func first(some, people []store.RosterRow) []store.RosterRow {
	out := append([]store.RosterRow{}, some...)
	for _, p := range people {
		if !slices.ContainsFunc(some, func(s store.RosterRow) bool { return s.ID == p.ID }) {
			out = append(out, p)
		}
	}
	return out
}

func stageRow(p store.RosterRow, plans []ending.Plan, cells []store.StageCell, bells map[progress.Key]progress.Day, d diagnosis) view.StageRow {
	row := view.StageRow{ID: strconv.FormatInt(int64(p.ID), 10), Name: p.Name, Weak: d.draw(), Say: d.say}
	by := cleanBy(cells)
	for _, plan := range plans {
		for i, step := range plan.Steps {
			k := progress.Key{Ending: plan.Code, Stage: step.Stage}
			clean := by[k]
			cell := view.StageCell{Bars: clean[max(0, len(clean)-bars):], Of: len(clean), Bell: bells[k] != 0}
			cell.Weak = d.weakness != nil && d.plan.Code == plan.Code && d.stage == i
			for _, ok := range clean {
				if ok {
					cell.Clean++
				}
			}
			q := url.Values{"ending": {plan.Code}, "stage": {string(step.Stage)}}
			cell.Href = fmt.Sprintf("/students/%d?%s#games", p.ID, q.Encode())
			row.Cells = append(row.Cells, cell)
		}
	}
	return row
}

// weigh counts the games of each ending, and finds the stage in which most
// were lost.
func weigh(failures []store.Failure) (all map[string]int, worst store.Failure) {
	all = map[string]int{}
	for _, f := range failures {
		if f.Stage == "" {
			all[f.Ending] = f.Games
		} else if f.Games > worst.Games {
			worst = f
		}
	}
	return all, worst
}

// finding is the one sentence above the table: where most games were lost, as
// a plain count.
func finding(all map[string]int, worst store.Failure, people int) ([]view.Part, *view.Link) {
	total := 0
	for _, n := range all {
		total += n
	}
	set := &view.Link{Href: "/drills/new", Label: "Set a drill"}
	switch {
	case people == 0:
		return view.Plain("No students yet"), &view.Link{Href: "/students", Label: "Add a student"}
	case total == 0:
		return view.Plain("No games yet"), set
	case worst.Games == 0:
		return view.Plain(fmt.Sprintf("%s in eight weeks, none lost", view.Count(total, "game"))), set
	}
	if next, ok := progress.Propose(progress.Known{Weakest: &progress.Key{Ending: worst.Ending, Stage: worst.Stage}}); ok {
		set.Href = builder(next)
	}
	at, where := lostAt(worst.Stage)
	return []view.Part{
		{Text: fmt.Sprintf("%s: %d of %s lost %s", planName(worst.Ending), worst.Games, view.Count(all[worst.Ending], "game"), at)},
		{Text: where, Stage: string(worst.Stage)},
	}, set
}
