package coach

import (
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"drover/game"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// Drills is the shelf: the drills of the club, with what each trains and who has it.
func (s Pages) Drills(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, _, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	if page.Notice, err = s.givenNotice(r, a); err != nil {
		return err
	}
	if page.Notice == nil {
		if page.Notice, err = s.doneNotice(r, a); err != nil {
			return err
		}
	}
	ask := shelfAsk(r.URL.Query())
	rows, err := s.Store.Shelf(r.Context(), a, ask)
	if err != nil {
		return err
	}
	m := DrillsPage{Page: page, Ask: ask, For: listed(r.URL.Query().Get("for"))}
	m.Group, _ = strconv.ParseInt(r.URL.Query().Get("group"), 10, 64) // none is all
	if m.Misses, err = s.Store.MissesReady(r.Context(), a.Club); err != nil {
		return err
	}
	total := 0
	for _, row := range rows {
		m.Rows = append(m.Rows, shelfRow(row))
		total = row.Total
	}
	m.Leaf = leaf("Drills", ask.Page, store.DrillsOnPage, len(rows), total, m.address)
	return s.Show(w, r, m.View())
}

// listed reads numbers with commas between them; what is none is left.
func listed(text string) []int64 {
	var ids []int64
	for _, t := range strings.Split(text, ",") {
		if n, err := strconv.ParseInt(t, 10, 64); err == nil && n > 0 {
			ids = append(ids, n)
		}
	}
	return ids
}

func shelfRow(row store.ShelfRow) DrillRow {
	out := DrillRow{
		ID: strconv.FormatInt(int64(row.ID), 10), Ending: site.EndingOf(row.Ending), Name: row.Name, Line: row.Line(),
		Trains: row.Training(), Who: row.Who, Has: row.Has, Through: row.Through, Level: row.Level,
	}
	if plan, ok := ending.PlanOf(row.Ending); ok && !row.Hold {
		for _, step := range plan.Steps[plan.Index(row.From) : plan.Index(row.To)+1] {
			out.Stages = append(out.Stages, string(step.Stage))
		}
	}
	return out
}

// shelfAsk reads what an address asks of the shelf; what it says wrongly finds nothing.
func shelfAsk(q url.Values) store.ShelfAsk {
	ask := store.ShelfAsk{Find: strings.TrimSpace(q.Get("find")), Ending: q.Get("ending"), Trains: q.Get("trains"),
		Archived: q.Get("archived") != ""}
	ask.Level, _ = strconv.Atoi(q.Get("level")) // none is all
	ask.Page = pageOf(q.Get("page"))
	return ask
}

// address is the shelf with what is asked for, on another page.
func (m DrillsPage) address(page int) string {
	q := url.Values{}
	for name, value := range map[string]string{"find": m.Ask.Find, "ending": m.Ask.Ending, "trains": m.Ask.Trains,
		"for": m.forIDs()} {
		if value != "" {
			q.Set(name, value)
		}
	}
	if m.Group > 0 {
		q.Set("group", strconv.FormatInt(m.Group, 10))
	}
	if m.Ask.Level > 0 {
		q.Set("level", strconv.Itoa(m.Ask.Level))
	}
	if m.Ask.Archived {
		q.Set("archived", "1")
	}
	if page > 1 {
		q.Set("page", strconv.Itoa(page))
	}
	if len(q) == 0 {
		return "/drills"
	}
	return "/drills?" + q.Encode()
}

// endings are the endings that the shelf can be held to.
func (m DrillsPage) endings() []view.Choice {
	out := []view.Choice{{Label: "All endings"}}
	for _, plan := range ending.Taught() {
		out = append(out, view.Choice{Value: plan.Code, Label: plan.Name})
	}
	for _, h := range ending.Holds() {
		out = append(out, view.Choice{Value: store.HoldMark + h.Code, Label: "Hold: " + h.Name})
	}
	return chosenOf(out, m.Ask.Ending)
}

// trains are what a drill can train: a stage with those after it, a kind of start, a test.
func (m DrillsPage) trains() []view.Choice {
	out := []view.Choice{{Label: "Whatever it trains"}}
	for _, stage := range ending.Stages() {
		out = append(out, view.Choice{Value: string(stage), Label: "From: " + game.Lower(stage.Name())})
	}
	out = append(out, view.Choice{Value: string(ending.HoldStage), Label: "Hold a draw"})
	for _, k := range ending.StartKinds() {
		if k.Code != ending.AtRandom {
			out = append(out, view.Choice{Value: store.KindMark + k.Code, Label: k.Name})
		}
	}
	out = append(out, view.Choice{Value: string(practice.Test), Label: "Tests"})
	return chosenOf(out, m.Ask.Trains)
}

// levels are the levels of ready drills.
func (m DrillsPage) levels() []view.Choice {
	out := []view.Choice{{Value: "0", Label: "All levels"}}
	for level := progress.Beginning; level <= progress.Sure; level++ {
		out = append(out, view.Choice{Value: strconv.Itoa(level), Label: levelName(level)})
	}
	return chosenOf(out, strconv.Itoa(m.Ask.Level))
}

func levelName(level int) string {
	return map[int]string{progress.Beginning: "1 Beginning", progress.GoingOn: "2 Going on", progress.Sure: "3 Sure"}[level]
}

func chosenOf(choices []view.Choice, value string) []view.Choice {
	for i := range choices {
		choices[i].Chosen = choices[i].Value == value
	}
	return choices
}

// DrillsReady puts the ready drills on the shelf.
func (s Pages) DrillsReady(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	if err := s.FillShelf(r.Context(), a); err != nil {
		return err
	}
	http.Redirect(w, r, "/drills", http.StatusSeeOther)
	return nil
}

// DrillName gives a drill another name.
func (s Pages) DrillName(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	id, err := site.ID[game.DrillID](r, "id")
	if err != nil {
		return err
	}
	var f nameForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	_, change, err := s.Store.RenameDrill(r.Context(), a, id, f.Name)
	marked, err := site.Problems(err)
	if marked != nil {
		return s.assignPage(w, r, a, http.StatusUnprocessableEntity, assignForm{Name: f.Name}, marked)
	}
	return s.done(w, r, "/drills", change, err)
}

// DrillArchive takes a drill off the shelf.
func (s Pages) DrillArchive(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	id, err := site.ID[game.DrillID](r, "id")
	if err != nil {
		return err
	}
	change, err := s.Store.ArchiveDrill(r.Context(), a, id)
	return s.done(w, r, "/drills", change, err)
}

// DrillBack puts an archived drill on the shelf again.
func (s Pages) DrillBack(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	id, err := site.ID[game.DrillID](r, "id")
	if err != nil {
		return err
	}
	_, change, err := s.Store.BackOnShelf(r.Context(), a, id)
	return s.done(w, r, "/drills", change, err)
}
