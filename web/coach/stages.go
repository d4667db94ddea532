package coach

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strconv"

	"drover/game"
	"drover/game/ending"
	"drover/game/progress"
	"drover/web/view"
)

// The stage view reads much: only so many are put together at once, and others wait,
// so that a move never does.
const (
	tablesAtOnce  = 2
	tablesWaiting = 8
	tableCrowd    = "Many people read this page just now. Wait a few seconds, then load it once more."
)

// bars is how many games a cell draws.
const bars = 10

// Stages is the stage view: students down, stages across.
func (s Pages) Stages(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, _, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	leave, err := s.Tables.Enter(r.Context())
	if err != nil {
		return err
	}
	defer leave()
	records, err := s.Store.Records(r.Context(), a.Club)
	if err != nil {
		return err
	}
	failures, err := s.Store.Failures(r.Context(), a.Club)
	if err != nil {
		return err
	}
	holds, err := s.Store.HoldsView(r.Context(), a.Club)
	if err != nil {
		return err
	}
	found := map[game.PersonID]progress.Diagnosis{}
	for _, of := range records {
		found[of.Student.ID] = of.Diagnosis()
	}
	all, worst := weigh(failures)
	same, what := progress.Together(records, found)
	m := StagesPage{Page: page, Chosen: r.URL.Query().Get("ending")}
	if m.Chosen == "" {
		m.Chosen = worst.Ending // a narrow page shows one ending: the one that the finding is about
		if what != nil {
			m.Chosen = what.Ending
		}
	}
	m.Finding, m.Action = finding(all, worst, len(records))
	if what != nil {
		m.Finding, m.Action, m.Why = thread(same, *what, found)
		records = first(same, records)
	}
	m.Stuck = stuckRows(records...)
	shown := shownPlans(records)
	for _, plan := range shown {
		col := StageColumns{Ending: view.Ending{ID: plan.Code, Name: plan.Name}}
		for _, step := range plan.Steps {
			col.Stages = append(col.Stages, string(step.Stage))
		}
		m.Endings = append(m.Endings, col)
	}
	for _, of := range records {
		m.Rows = append(m.Rows, stageRow(of, shown, found[of.Student.ID]))
	}
	m.Holds = drawsHeld(records, holds)
	return s.Show(w, r, m.View())
}

// shownPlans are the endings that somebody has played, in teaching order; all of
// them where nobody has played yet. A wide table scrolls in its own frame.
func shownPlans(records []progress.Record) []ending.Plan {
	played := map[string]bool{}
	for _, of := range records {
		for _, p := range of.Stages {
			played[p.Ending] = true
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

// first moves some of the students to the front; the others keep their order.
func first(some, all []progress.Record) []progress.Record {
	out := slices.Clone(some)
	for _, of := range all {
		if !slices.ContainsFunc(some, func(s progress.Record) bool { return s.Student.ID == of.Student.ID }) {
			out = append(out, of)
		}
	}
	return out
}

func stageRow(of progress.Record, plans []ending.Plan, d progress.Diagnosis) StageRow {
	p := of.Student
	row := StageRow{ID: strconv.FormatInt(int64(p.ID), 10), Name: p.Name, Weak: weakness(d), Say: foundWords(d)}
	by := of.Clean()
	for _, plan := range plans {
		for _, step := range plan.Steps {
			k := progress.Key{Ending: plan.Code, Stage: step.Stage}
			clean := by[k]
			cell := StageCell{Bars: clean[max(0, len(clean)-bars):], Of: len(clean), Bell: of.Bells[k] != 0}
			cell.Weak = d.Weak != nil && d.Weak.Key == k
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
func finding(all map[string]int, worst progress.Failure, people int) ([]view.Part, *view.Link) {
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
		return view.Plain(fmt.Sprintf("%s in eight weeks, none lost", game.Count(total, "game"))), set
	}
	if next, ok := progress.Propose(progress.Known{Weakest: &progress.Key{Ending: worst.Ending, Stage: worst.Stage}}); ok {
		set.Href = builder(next)
	}
	at, where := worst.Stage.LostAt()
	return []view.Part{
		{Text: fmt.Sprintf("%s: %d of %s lost %s", ending.NameOf(worst.Ending), worst.Games,
			game.Count(all[worst.Ending], "game"), at)},
		{Text: where, Stage: string(worst.Stage)},
	}, set
}
