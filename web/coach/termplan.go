package coach

import (
	"context"
	"fmt"
	"net/http"
	"strconv"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/progress"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// Plans leads to the plan of the term that goes on, or to the form for a new one.
func (s Pages) Plans(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	plans, err := s.Store.TermPlans(r.Context(), a.Club)
	if err != nil {
		return err
	}
	if len(plans) == 0 || r.URL.Query().Has("new") {
		return s.planNew(w, r, a, http.StatusOK, planForm{Weeks: "12"}, nil)
	}
	c, err := s.Store.Club(r.Context(), a.Club)
	if err != nil {
		return err
	}
	to, today := plans[0], club.CalendarDay(c.Local(s.Now()))
	for _, p := range plans {
		if at := p.At(today); at >= 0 && at < p.Weeks {
			to = p // the latest of those that go on
			break
		}
	}
	http.Redirect(w, r, fmt.Sprintf("/plans/%d", to.ID), http.StatusSeeOther)
	return nil
}

type planForm struct {
	Title string      `schema:"title"`
	From  string      `schema:"from"`
	Weeks string      `schema:"weeks"`
	Of    game.PlanID `schema:"of"` // a plan that is copied; 0: none
	site.OnceForm
}

func (s Pages) planNew(w http.ResponseWriter, r *http.Request, a game.Actor, status int, f planForm, marked view.Errors) error {
	page, _, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	plans, err := s.Store.TermPlans(r.Context(), a.Club)
	if err != nil {
		return err
	}
	m := PlanNewPage{Page: page, Title: f.Title, From: f.From, Weeks: f.Weeks, Errors: marked}
	for _, p := range plans {
		m.Copies = append(m.Copies, view.Choice{Value: strconv.FormatInt(int64(p.ID), 10), Label: p.Title, Chosen: p.ID == f.Of})
	}
	s.Draw(w, r, status, m.View())
	return nil
}

// PlanPost makes a plan.
func (s Pages) PlanPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f planForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	p := club.TermPlan{Title: f.Title}
	p.From, _ = time.Parse(time.DateOnly, f.From) // none is refused
	p.Weeks, _ = strconv.Atoi(f.Weeks)
	id, err := s.Store.MakePlan(r.Context(), a, p, f.Of, s.Sent(r))
	marked, err := site.Problems(err)
	if err != nil {
		return err
	}
	if marked != nil {
		return s.planNew(w, r, a, http.StatusUnprocessableEntity, f, marked)
	}
	http.Redirect(w, r, fmt.Sprintf("/plans/%d", id), http.StatusSeeOther)
	return nil
}

// planned is what the pages of one plan read.
type planned struct {
	page     view.Page
	club     club.Club
	plan     club.TermPlan
	cells    []store.PlanRow
	groups   []store.GroupRow
	holidays []club.Holiday
	today    time.Time
}

func (s Pages) planned(r *http.Request, a game.Actor) (p planned, err error) {
	id, err := site.ID[game.PlanID](r, "id")
	if err != nil {
		return p, err
	}
	if p.page, p.club, err = s.Frame(r.Context(), a); err != nil {
		return p, err
	}
	p.today = club.CalendarDay(p.club.Local(s.Now()))
	if p.plan, err = s.Store.TermPlan(r.Context(), a.Club, id); err != nil {
		return p, err
	}
	if p.cells, err = s.Store.PlanCells(r.Context(), a.Club, id); err != nil {
		return p, err
	}
	if p.groups, err = s.Store.Groups(r.Context(), a); err != nil {
		return p, err
	}
	p.holidays, err = s.Store.Holidays(r.Context(), a.Club)
	return p, err
}

// cell finds what is planned for a group in a week.
func (p planned) cell(week int, group game.GroupID) (store.PlanRow, bool) {
	for _, c := range p.cells {
		if c.Week == week && c.Group == group {
			return c, true
		}
	}
	return store.PlanRow{}, false
}

// Plan is a term plan: weeks down, groups across.
func (s Pages) Plan(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	p, err := s.planned(r, a)
	if err != nil {
		return err
	}
	if p.page.Notice, err = s.doneNotice(r, a); err != nil {
		return err
	}
	if given, err := s.givenNotice(r, a); err != nil {
		return err
	} else if given != nil {
		p.page.Notice = given
	}
	m := planPage(p)
	all, err := s.Store.TermPlans(r.Context(), a.Club)
	if err != nil {
		return err
	}
	for _, other := range all {
		if other.ID != p.plan.ID {
			m.Others = append(m.Others, view.Link{Href: fmt.Sprintf("/plans/%d", other.ID), Label: other.Title})
		}
	}
	return s.Show(w, r, m.View())
}

// planPage draws the weeks.
func planPage(p planned) PlanPage {
	m := PlanPage{Page: p.page, ID: strconv.FormatInt(int64(p.plan.ID), 10), Title: p.plan.Title, Next: -1}
	for _, g := range p.groups {
		m.Groups = append(m.Groups, GroupPill{Name: g.Name, N: g.Students, Href: fmt.Sprintf("/set?group=%d", g.ID)})
		m.Fill = append(m.Fill, view.Choice{Value: strconv.FormatInt(int64(g.ID), 10), Label: g.Name})
	}
	now := p.plan.At(p.today)
	for no := range p.plan.Weeks {
		monday := p.plan.Week(no)
		row := PlanWeek{No: no + 1, Day: monday.Format("2 Jan"), This: no == now, Past: no < now}
		if name, rests := club.Resting(monday, p.holidays); rests {
			row.Rest = name
		}
		for _, g := range p.groups {
			c, has := p.cell(no, g.ID)
			row.Cells = append(row.Cells, planCell(c, has, m.ID, no, g))
			if has {
				row.Filled++
			}
			if has && !c.Given && g.Students > 0 && (c.Ending != "" || c.Drill.ID != 0) {
				row.Waits++
			}
			if c.Given {
				row.Given++
				row.Have, row.Done = row.Have+c.Have, row.Done+c.Done
			}
		}
		if m.Next < 0 && no >= now && row.Waits > 0 {
			m.Next = no
		}
		m.Weeks = append(m.Weeks, row)
	}
	return m
}

// planCell is one cell as the page shows it.
func planCell(c store.PlanRow, has bool, plan string, week int, g store.GroupRow) PlanCell {
	cell := PlanCell{Href: fmt.Sprintf("/plans/%s/cell?week=%d&group=%d", plan, week, g.ID), Group: g.Name}
	switch {
	case !has:
	case c.Ending != "":
		cell.Ending, cell.Name, cell.Part = site.EndingOf(c.Ending), ending.NameOf(c.Ending), "what comes next for each"
	case c.Drill.ID == 0:
		cell.Name, cell.Part = "Archived drill", "put another one here"
	default:
		col := setColumn(store.GridTask{Drill: c.Drill}, time.Time{})
		cell.Ending, cell.Name, cell.Part = col.Ending, col.Short, col.Part
		if !c.Drill.Hold {
			cell.Stage = string(c.Drill.From)
		}
	}
	return cell
}

// PlanPage is /plans/{id}.
type PlanPage struct {
	view.Page
	ID, Title string
	Groups    []GroupPill
	Fill      []view.Choice // groups whose column a ready plan can fill
	Weeks     []PlanWeek
	Others    []view.Link // the club's other plans
	Next      int         // the first week from now on that is not given, from 0; -1: none
}

// PlanWeek is one week.
type PlanWeek struct {
	No                        int
	Day                       string
	This, Past                bool
	Rest                      string // the holidays in which it lies; empty: none
	Cells                     []PlanCell
	Filled, Given, Have, Done int
	Waits                     int // cells that can be given
}

// PlanCell is what a group has in a week.
type PlanCell struct {
	Href, Group, Name, Part, Stage string
	Ending                         view.Ending
}

// PlanNewPage is the form for a new plan.
type PlanNewPage struct {
	view.Page
	Title, From, Weeks string
	Copies             []view.Choice
	Errors             view.Errors
}

// head says what is to be done next.
func (m PlanPage) head() string {
	switch {
	case len(m.Groups) == 0:
		return m.Title
	case m.Next < 0:
		return m.Title + ": nothing waits to be given."
	}
	return fmt.Sprintf("Week %d is not given yet.", m.Next+1)
}

func (w PlanWeek) says() string {
	switch {
	case w.Given == 0 && w.This:
		return "This week"
	case w.Given == 0:
		return ""
	}
	say := fmt.Sprintf("%d of %d done", w.Done, w.Have)
	if w.Given < w.Filled {
		return "partly given, " + say
	}
	return "given, " + say
}

// plannedFor says for a week which drill each child of each group gets.
func (s Pages) plannedFor(ctx context.Context, a game.Actor, p planned, week int) ([]store.Planned, []WeekGroup, error) {
	ready, err := s.Store.ReadyOnShelf(ctx, a.Club)
	if err != nil {
		return nil, nil, err
	}
	var what []store.Planned
	var shown []WeekGroup
	for _, g := range p.groups {
		c, has := p.cell(week, g.ID)
		if !has || c.Given {
			continue
		}
		gets, line, err := s.plannedIn(ctx, a, g, c, ready)
		if err != nil {
			return nil, nil, err
		}
		what, shown = append(what, gets...), append(shown, line)
	}
	return what, shown, nil
}

// plannedIn says it of one group; who has the drill open already does not get it twice.
func (s Pages) plannedIn(ctx context.Context, a game.Actor, g store.GroupRow, c store.PlanRow,
	ready map[string]store.ShelfPlace) (what []store.Planned, line WeekGroup, err error) {
	line.Name = g.Name
	in, err := s.Store.InGroups(ctx, a.Club, []game.GroupID{g.ID})
	if err != nil {
		return nil, line, err
	}
	parts := map[game.DrillID][]game.PersonID{}
	names := map[game.DrillID]string{c.Drill.ID: c.Drill.Name}
	var order []game.DrillID
	for _, student := range in {
		id := c.Drill.ID
		if c.Ending != "" {
			place, err := s.nextOf(ctx, a, student, c.Ending, ready)
			if err != nil {
				return nil, line, err
			}
			id, names[place.Drill] = place.Drill, place.Name
		}
		if id == 0 {
			line.None++
			line.Archived = c.Ending == ""
			continue
		}
		if parts[id] == nil {
			order = append(order, id)
		}
		parts[id] = append(parts[id], student)
	}
	for _, id := range order {
		have, err := s.Store.HaveOpen(ctx, a.Club, id, parts[id])
		if err != nil {
			return nil, line, err
		}
		line.Open += len(have)
		if rest := without(parts[id], have); len(rest) > 0 {
			what = append(what, store.Planned{Group: g.ID, Drill: id, Students: rest})
			line.Parts = append(line.Parts, fmt.Sprintf("%s: %s", names[id], game.Count(len(rest), "student")))
		}
	}
	return what, line, nil
}

// nextOf is the drill of an ending that comes next for a student.
func (s Pages) nextOf(ctx context.Context, a game.Actor, student game.PersonID, code string,
	ready map[string]store.ShelfPlace) (store.ShelfPlace, error) {
	of, err := s.Store.RecordOf(ctx, a.Club, student, store.WithStages, store.WithMastery)
	if err != nil {
		return store.ShelfPlace{}, err
	}
	next, _ := progress.NextReady(code, of.Marks())
	return ready[next], nil
}

// WeekGroup is what a group gets in a week.
type WeekGroup struct {
	Name     string
	Parts    []string // "Rook: mate: 10 students"
	None     int      // students for whom the shelf has no drill
	Archived bool     // it is archived
	Open     int      // students who have it open already, and do not get it twice
}
