package coach

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"drover/game"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// Set is what is set for a group, student by drill.
func (s Pages) Set(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	if page.Notice, err = s.doneNotice(r, a); err != nil {
		return err
	}
	groups, err := s.Store.Groups(r.Context(), a)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	group, _ := strconv.ParseInt(q.Get("group"), 10, 64) // none is all
	m := SetPage{Page: page, Group: group, All: q.Get("show") == "all", ByName: q.Get("sort") == "name"}
	for _, g := range groups {
		if int64(g.ID) == group {
			m.Name = g.Name
		}
	}
	if group != 0 && m.Name == "" {
		return site.Missing()
	}
	m.Groups = setPills(m, groups)
	grid, err := s.Store.SetGrid(r.Context(), a, game.GroupID(group), m.All)
	if err != nil {
		return err
	}
	m.fill(grid, c.Local(s.Now()), c.Local)
	return s.Show(w, r, m.View())
}

// setPills lead to the groups.
func setPills(m SetPage, groups []store.GroupRow) []GroupPill {
	out := []GroupPill{{Name: "All", On: m.Group == 0, Href: "/set"}}
	for _, g := range groups {
		out = append(out, GroupPill{Name: g.Name, N: g.Students, On: int64(g.ID) == m.Group, Href: fmt.Sprintf("/set?group=%d", g.ID)})
	}
	return out
}

// fill makes the columns and rows of the page.
func (m *SetPage) fill(g store.Grid, now time.Time, local func(time.Time) time.Time) {
	cells := map[game.PersonID]map[game.AssignmentID]store.GridCell{}
	for _, c := range g.Cells {
		if cells[c.Student] == nil {
			cells[c.Student] = map[game.AssignmentID]store.GridCell{}
		}
		cells[c.Student][c.Task] = c
	}
	if m.More = g.More; len(g.Tasks) > 0 {
		m.MoreDrills = g.Tasks[0].Tasks - len(g.Tasks)
	}
	for _, t := range g.Tasks {
		m.Columns = append(m.Columns, setColumn(t, now))
	}
	for _, p := range g.Rows {
		row := SetLine{ID: strconv.FormatInt(int64(p.ID), 10), Name: p.Name, Last: "no game yet"}
		switch {
		case p.Playing:
			row.Last = "now"
		case p.Last != nil:
			row.Last = site.Ago(local(*p.Last), now)
		}
		for i, t := range g.Tasks {
			cell, has := cells[p.ID][t.Task]
			row.Cells = append(row.Cells, setCell(cell, has))
			m.Columns[i].count(cell, has)
			if has && !cell.Begun && !cell.Passed && !cell.Withdrawn {
				row.Waiting++
			}
			if has && cell.Begun {
				row.Begun++
			}
		}
		m.Rows = append(m.Rows, row)
	}
	m.Head, m.Line = m.say(), m.nextDue()
	if !m.ByName {
		slices.SortStableFunc(m.Rows, func(a, b SetLine) int { return b.Waiting - a.Waiting })
	}
}

func setColumn(t store.GridTask, now time.Time) SetColumn {
	col := SetColumn{Task: strconv.FormatInt(int64(t.Task), 10), Drill: strconv.FormatInt(int64(t.ID), 10), Ending: site.EndingOf(t.Ending),
		Name: t.Name, Due: site.Due(t.Due, now), Repeat: t.Repeat}
	name, part, found := strings.Cut(t.Name, ": ")
	if col.Short, col.Part = name, part; !found {
		col.Short, col.Part = t.Name, ""
	}
	if t.Hold {
		col.Short, col.Part = "Hold", game.Lower(site.TaskName(t.Ending, true))
	}
	if t.Opens.After(now) {
		col.Due = "opens on " + site.ShortDay(t.Opens.In(now.Location()), now)
	}
	if t.Due != nil {
		col.DueOn = t.Due.Format(time.DateOnly)
	}
	return col
}

func (c *SetColumn) count(cell store.GridCell, has bool) {
	if !has || cell.Withdrawn {
		return
	}
	c.Have++
	if cell.Begun || cell.Passed {
		c.Begun++
	}
	if cell.Passed {
		c.Done++
	}
}

func setCell(c store.GridCell, has bool) SetCell {
	out := SetCell{Bars: c.Bars, State: stateNone}
	done, clean := 0, 0
	for _, bar := range c.Bars {
		if bar > 0 {
			done++
		}
		if bar == 2 {
			clean++
		}
	}
	switch {
	case !has:
	case c.Withdrawn:
		out.State, out.Say = stateOut, "withdrawn"
	case c.Passed:
		out.State, out.Say = stateDone, fmt.Sprintf(", %d clean", clean)
	case !c.Begun:
		out.State, out.Say = stateWaits, "not begun"
	default:
		out.State, out.Say = stateBegun, fmt.Sprintf("%d of %d", done, len(c.Bars))
	}
	return out
}

// say is the heading: who has begun nothing of what is set.
func (m *SetPage) say() string {
	var none []string
	for _, row := range m.Rows {
		if row.Waiting > 0 && row.Begun == 0 {
			none = append(none, row.Name)
		}
	}
	switch {
	case len(m.Columns) == 0:
		return "Nothing is set just now."
	case len(none) == 1:
		return none[0] + " has begun nothing."
	case len(none) > 1:
		return game.Upper(fewNames(none)) + " have begun nothing."
	}
	return "Everybody has begun."
}

// nextDue says of the drill that is due first how far they are.
func (m *SetPage) nextDue() string {
	if len(m.Columns) == 0 {
		return "Set a drill, and see here who has begun it."
	}
	c := m.Columns[0]
	of := ""
	if m.More > 0 {
		of = fmt.Sprintf(" Of the first %d students:", len(m.Rows))
	}
	due := c.Due
	if due == "" {
		due = "has no day on which it is due"
	} else if strings.HasPrefix(due, "due ") {
		due = "is " + due
	}
	return fmt.Sprintf("%s %s.%s %d of %d have begun it, %d are done.", c.Name, due, of, c.Begun, c.Have, c.Done)
}

// The states of a cell.
const (
	stateNone  = ""
	stateOut   = "out"
	stateDone  = "done"
	stateWaits = "waits"
	stateBegun = "begun"
)

// SetPage is /set.
type SetPage struct {
	view.Page
	Group      int64 // 0: all students
	Name       string
	All        bool // also what everybody has done
	ByName     bool
	Groups     []GroupPill
	Columns    []SetColumn
	Rows       []SetLine
	More       int // students beside these
	MoreDrills int // drills beside these
	Head       string
	Line       string
}

// SetColumn is one drill that is set.
type SetColumn struct {
	Task, Drill       string
	Ending            view.Ending
	Name, Short, Part string
	Due, DueOn        string
	Repeat            bool // it is one week of several
	Have, Begun, Done int
}

// SetLine is one student.
type SetLine struct {
	ID, Name, Last string
	Cells          []SetCell
	Waiting, Begun int
}

// SetCell is what a student has done of a drill.
type SetCell struct {
	State, Say string
	Bars       []int // of each start: 2 clean, 1 done but not clean, 0 to come
}

// shows are what the grid can be held to.
func (m SetPage) shows() []view.Choice {
	value := "open"
	if m.All {
		value = "all"
	}
	return chosenOf([]view.Choice{{Value: "open", Label: "Open and overdue"}, {Value: "all", Label: "Done too"}}, value)
}

func (m SetPage) sorts() []view.Choice {
	value := "waits"
	if m.ByName {
		value = "name"
	}
	return chosenOf([]view.Choice{{Value: "waits", Label: "Not begun first"}, {Value: "name", Label: "By name"}}, value)
}

// back is the part of an address that comes back to this group.
func (m SetPage) back() string {
	if m.Group == 0 {
		return ""
	}
	return "?group=" + strconv.FormatInt(m.Group, 10)
}
