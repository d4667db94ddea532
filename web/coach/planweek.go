package coach

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/progress"
	"drover/web/site"
	"drover/web/view"
)

// weekOf reads the number of a week from an address or a form.
func (p planned) weekOf(text string) (int, error) {
	n, err := strconv.Atoi(text)
	if err != nil || n < 0 || n >= p.plan.Weeks {
		return 0, site.Missing()
	}
	return n, nil
}

// PlanWeek shows what each child gets in a week, before it is given.
func (s Pages) PlanWeek(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	p, week, err := s.planAt(r, a, r.URL.Query().Get("no"))
	if err != nil {
		return err
	}
	what, shown, err := s.plannedFor(r.Context(), a, p, week)
	if err != nil {
		return err
	}
	at := s.spanOf(p, week)
	m := WeekPage{Page: p.page, ID: strconv.FormatInt(int64(p.plan.ID), 10), Title: p.plan.Title, No: week + 1, Week: week,
		Groups: shown, Due: view.Day(*at.Due), Can: len(what) > 0}
	if at.Opens.After(s.Now()) {
		m.Opens = view.Day(p.club.Local(at.Opens))
	}
	return s.Show(w, r, m.View())
}

// spanOf is when a week of a plan opens and is due: from its Monday, or from now on where
// that is over, to its last free day.
func (s Pages) spanOf(p planned, week int) club.Span {
	monday := p.plan.Week(week)
	zone := p.club.Local(s.Now()).Location()
	at := club.Span{Opens: time.Date(monday.Year(), monday.Month(), monday.Day(), 0, 0, 0, 0, zone)}
	if at.Opens.Before(s.Now()) {
		at.Opens = s.Now()
	}
	due := club.DueIn(monday, p.holidays)
	if due.Before(p.today) { // a week that is over, given late
		due = p.today.AddDate(0, 0, 6)
	}
	at.Due = &due
	return at
}

type weekForm struct {
	Week string `schema:"week"`
	site.OnceForm
}

// PlanWeekPost gives a week of a plan.
func (s Pages) PlanWeekPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f weekForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	p, week, err := s.planAt(r, a, f.Week)
	if err != nil {
		return err
	}
	what, _, err := s.plannedFor(r.Context(), a, p, week)
	if err != nil {
		return err
	}
	given, err := s.Store.GivePlan(r.Context(), a, p.plan.ID, week, s.spanOf(p, week), what, s.Sent(r))
	if err != nil {
		return err
	}
	http.Redirect(w, r, fmt.Sprintf("/plans/%d?given=%d", p.plan.ID, given), http.StatusSeeOther)
	return nil
}

// planAt is the plan that the address names, with a week that a form has named.
func (s Pages) planAt(r *http.Request, a game.Actor, week string) (planned, int, error) {
	p, err := s.planned(r, a)
	if err != nil {
		return p, 0, err
	}
	n, err := p.weekOf(week)
	return p, n, err
}

// PlanMove moves what is planned from a week on by one week.
func (s Pages) PlanMove(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f weekForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	p, week, err := s.planAt(r, a, f.Week)
	if err != nil {
		return err
	}
	var filled []int
	for _, c := range p.cells { // in the order of weeks
		if n := len(filled); n == 0 || filled[n-1] != c.Week {
			filled = append(filled, c.Week)
		}
	}
	to, weeks, err := p.plan.Moved(filled, week, p.holidays)
	if err != nil {
		return plainly(err)
	}
	change, err := s.Store.MovePlan(r.Context(), a, p.plan.ID, to, weeks)
	return s.done(w, r, fmt.Sprintf("/plans/%d", p.plan.ID), change, err)
}

type fillForm struct {
	Group game.GroupID `schema:"group"`
	Level int          `schema:"level"`
}

// PlanFill fills the empty weeks of a group with a ready plan, from this week on.
func (s Pages) PlanFill(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f fillForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	p, err := s.planned(r, a)
	if err != nil {
		return err
	}
	ready, err := s.Store.ReadyOnShelf(r.Context(), a.Club)
	if err != nil {
		return err
	}
	codes := progress.ReadyPlan(f.Level)
	var cells []club.PlanCell
	for week := max(0, p.plan.At(p.today)); week < p.plan.Weeks && len(codes) > 0; week++ {
		if _, rests := club.Resting(p.plan.Week(week), p.holidays); rests {
			continue
		}
		if _, has := p.cell(week, f.Group); has {
			continue
		}
		if place, is := ready[codes[0]]; is {
			cells = append(cells, club.PlanCell{Week: week, Group: f.Group, Shelf: place.Shelf})
		}
		codes = codes[1:]
	}
	if len(cells) == 0 {
		return game.Fail(game.Bad, "Nothing was filled: this group has no empty week, or the ready drills are not on the shelf. Get them on the page Drills.")
	}
	change, err := s.Store.PutInPlan(r.Context(), a, p.plan.ID, cells...)
	return s.done(w, r, fmt.Sprintf("/plans/%d", p.plan.ID), change, err)
}

// PlanCell is the page on which a drill or an ending is put into a week of a group.
func (s Pages) PlanCell(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	p, week, err := s.planAt(r, a, r.URL.Query().Get("week"))
	if err != nil {
		return err
	}
	group, _ := strconv.ParseInt(r.URL.Query().Get("group"), 10, 64) // none is missing
	m := CellPage{Page: p.page, ID: strconv.FormatInt(int64(p.plan.ID), 10), Title: p.plan.Title, No: week + 1, Week: week,
		Group: group, Day: view.Day(p.plan.Week(week))}
	for _, g := range p.groups {
		if int64(g.ID) == group {
			m.Name = g.Name
		}
	}
	if m.Name == "" {
		return site.Missing()
	}
	now, has := p.cell(week, game.GroupID(group))
	m.Has, m.Given = has, now.Given
	places, err := s.Store.ShelfPlaces(r.Context(), a.Club)
	if err != nil {
		return err
	}
	for _, plan := range ending.Taught() {
		m.Endings = append(m.Endings, view.Choice{Value: endingMark + plan.Code, Label: plan.Name, Chosen: now.Ending == plan.Code})
	}
	for _, place := range places {
		m.Drills = append(m.Drills, view.Choice{Value: strconv.FormatInt(place.Shelf, 10), Label: place.Name, Chosen: place.Shelf == now.Shelf && has})
	}
	return s.Show(w, r, m.View())
}

// endingMark stands before the code of an ending among the choices of a cell.
const endingMark = "ending-"

type cellForm struct {
	Week  string       `schema:"week"`
	Group game.GroupID `schema:"group"`
	What  string       `schema:"what"`
	Do    string       `schema:"do"`
}

// PlanCellPost puts a drill or an ending into a cell, or takes it out.
func (s Pages) PlanCellPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f cellForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	p, week, err := s.planAt(r, a, f.Week)
	if err != nil {
		return err
	}
	to := fmt.Sprintf("/plans/%d", p.plan.ID)
	if f.Do == "empty" {
		change, err := s.Store.EmptyCell(r.Context(), a, p.plan.ID, week, f.Group)
		return s.done(w, r, to, change, err)
	}
	c := club.PlanCell{Week: week, Group: f.Group}
	if code, is := strings.CutPrefix(f.What, endingMark); is {
		c.Ending = code
	} else {
		c.Shelf, _ = strconv.ParseInt(f.What, 10, 64) // none is refused
	}
	change, err := s.Store.PutInPlan(r.Context(), a, p.plan.ID, c)
	return s.done(w, r, to, change, plainly(err))
}

// WeekPage is /plans/{id}/week.
type WeekPage struct {
	view.Page
	ID, Title  string
	No, Week   int
	Groups     []WeekGroup
	Opens, Due string // empty: it opens at once
	Can        bool   // there is something to give
}

// CellPage is /plans/{id}/cell.
type CellPage struct {
	view.Page
	ID, Title, Name, Day string
	No, Week             int
	Group                int64
	Has, Given           bool
	Endings, Drills      []view.Choice
}
