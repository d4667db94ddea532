package coach

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"drover/game"
	"drover/game/ending"
	"drover/game/progress"
	"drover/store"
	"drover/web/view"
)

// The stage view reads much: only so many are put together at once, and others wait,
// so that a move never does.
const (
	tablesAtOnce  = 2
	tablesWaiting = 8
	tableCrowd    = "Many people read this page just now. Wait a few seconds, then load it once more."
)

// Stages is the stage view: students down, stages across.
func (s Pages) Stages(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	asked := stagesAskOf(r.URL.Query(), c.Local(s.Now()))
	table, leave, err := s.stageTable(r.Context(), a, asked.StageAsk)
	if err != nil {
		return err
	}
	defer leave()
	failures, err := s.Store.Failures(r.Context(), a, asked.Group)
	if err != nil {
		return err
	}
	holds, err := s.Store.HoldsView(r.Context(), a, asked.StageAsk)
	if err != nil {
		return err
	}
	resting, err := s.Store.Resting(r.Context(), a.Club)
	if err != nil {
		return err
	}
	rests := func(o progress.Overview) bool { return resting[o.Student.ID] } // of whom nothing is asked now
	table.Stuck, table.Tests = slices.DeleteFunc(table.Stuck, rests), slices.DeleteFunc(table.Tests, rests)
	m := StagesPage{Page: page, Chosen: r.URL.Query().Get("ending"), Said: saidLines(table), Held: asked.held()}
	m.head(table, failures, asked.Find != "")
	shown := shownPlans(table.Rows, asked.Stage.Ending)
	if m.Tools, err = s.stagesTools(r.Context(), a, asked, shown); err != nil {
		return err
	}
	m.fill(table, shown, asked)
	m.Holds = drawsHeld(table.Rows, holds)
	return s.Show(w, r, m.View())
}

// stageTable reads the table while there is a place for somebody who does; leave gives it free.
func (s Pages) stageTable(ctx context.Context, a game.Actor, ask store.StageAsk) (t store.StageTable, leave func(), err error) {
	if leave, err = s.Tables.Enter(ctx); err != nil {
		return t, nil, err
	}
	if t, err = s.Store.StageTable(ctx, a, ask); err != nil {
		leave()
	}
	return t, leave, err
}

// fill puts the table into the page.
func (m *StagesPage) fill(table store.StageTable, shown []ending.Plan, asked stagesAsked) {
	for _, plan := range shown {
		col := StageColumns{Ending: view.Ending{ID: plan.Code, Name: plan.Name}}
		for _, step := range plan.Steps {
			k := progress.Key{Ending: plan.Code, Stage: step.Stage}
			col.Stages = append(col.Stages, StageColumn{string(step.Stage), asked.at("/stages", "sort", sortOf(k)), k == asked.Stage})
		}
		m.Endings = append(m.Endings, col)
	}
	m.ByName, m.ByFirst = asked.ByName, !asked.ByName && asked.Stage == progress.Key{}
	m.ToName, m.ToFirst = asked.at("/stages", "sort", store.ByName), asked.at("/stages", "sort", "")
	for _, of := range table.Rows {
		m.Rows = append(m.Rows, stageRow(of, shown, asked))
	}
	m.Leaf = leaf("Students", asked.Page, store.StudentsOnPage, len(m.Rows), table.Total, func(page int) string {
		return asked.at("/stages", "page", strconv.Itoa(page))
	})
	if m.Leaf.Which != "" && len(m.Rows) > 0 && m.ByFirst {
		m.Leaf.Which += "; those with a finding stand first."
	}
}

// head says what is found, for whom, and what to do; searched: a name is looked for.
func (m *StagesPage) head(t store.StageTable, failures []progress.Failure, searched bool) {
	all, worst := weigh(failures)
	m.Finding, m.Action = finding(all, worst, t.Total > 0 || searched)
	about := worst.Ending // a narrow page shows one ending: the one that the finding is about
	if len(t.Same) > 0 {
		about = t.Same[0].Found.First.Ending
		m.thread(t.Same)
	}
	if m.Chosen == "" {
		m.Chosen = about
	}
}

// shownPlans are the endings that somebody has played, and the one by which the students
// stand, in teaching order; all of them where nobody has played yet. A wide table scrolls in
// its own frame.
func shownPlans(rows []progress.Overview, sorted string) []ending.Plan {
	played := map[string]bool{sorted: true}
	for _, of := range rows {
		for _, c := range of.Cells {
			played[c.Ending] = true
		}
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

func stageRow(of progress.Overview, plans []ending.Plan, asked stagesAsked) StageRow {
	p, d := of.Student, of.Found
	row := StageRow{ID: strconv.FormatInt(int64(p.ID), 10), Name: p.Name, First: firstCell(d), Say: silentWords(d)}
	for _, h := range of.Habits[:min(len(of.Habits), mostHabits)] {
		row.Habits = append(row.Habits, habitSay(h))
	}
	for _, plan := range plans {
		for _, step := range plan.Steps {
			k := progress.Key{Ending: plan.Code, Stage: step.Stage}
			c := of.Cell(k)
			row.Cells = append(row.Cells, StageCell{
				Bars: c.Last, Clean: c.Clean, Of: c.Of, Bell: c.Bell, Weak: d.FailsAt(k), Turn: progress.TurnOf(c.Last),
				Href: asked.games(p.ID, k),
			})
		}
	}
	return row
}

// mostHabits is how many habits a row names beside the first thing to teach.
const mostHabits = 2

// weigh counts the games of each ending, and finds the stage in which most
// were lost.
func weigh(failures []progress.Failure) (all map[string]int, worst progress.Failure) {
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
func finding(all map[string]int, worst progress.Failure, people bool) ([]view.Part, *view.Link) {
	total := 0
	for _, n := range all {
		total += n
	}
	set := &view.Link{Href: "/drills/new", Label: "Set a drill"}
	switch {
	case !people:
		return view.Plain("No students yet"), &view.Link{Href: "/students", Label: "Add a student"}
	case total == 0:
		return view.Plain("No games yet"), set
	case worst.Games == 0:
		return view.Plain(fmt.Sprintf("%s in eight weeks, none lost", game.Count(total, "game"))), set
	}
	if next, ok := progress.Propose(progress.Known{First: &progress.First{Ending: worst.Ending, Stage: worst.Stage}}); ok {
		set.Href = builder(next)
	}
	at, where := worst.Stage.LostAt()
	return []view.Part{
		{Text: fmt.Sprintf("%s: %d of %s lost %s", ending.NameOf(worst.Ending), worst.Games,
			game.Count(all[worst.Ending], "game"), at)},
		{Text: where, Stage: string(worst.Stage)},
	}, set
}
