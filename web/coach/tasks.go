package coach

import (
	"fmt"
	"net/http"
	"strconv"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

type withdrawForm struct {
	Student game.PersonID `schema:"student"` // 0: from all
	Later   string        `schema:"later"`   // the weeks to come, too
}

// Withdraw takes a drill that is set back, from everybody or from one student.
func (s Pages) Withdraw(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f withdrawForm
	id, err := site.ID[game.AssignmentID](r, "id")
	if err == nil {
		err = s.Form(r, &f)
	}
	switch {
	case err != nil:
	case f.Student == 0:
		err = s.Store.TaskInScope(r.Context(), a, id)
	default:
		err = s.Store.InScope(r.Context(), a, f.Student)
	}
	if err != nil {
		return err
	}
	if f.Student == 0 {
		change, err := s.Store.Withdraw(r.Context(), a, id, f.Later != "")
		return s.done(w, r, backToSet(r), change, err)
	}
	change, err := s.Store.WithdrawFrom(r.Context(), a, id, f.Student)
	return s.done(w, r, fmt.Sprintf("/students/%d", f.Student), change, err)
}

type dueForm struct {
	Due string `schema:"due"`
}

// Due moves the day on which a drill is due.
func (s Pages) Due(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f dueForm
	id, err := s.task(r, a, &f)
	if err != nil {
		return err
	}
	day, err := s.newDue(r, a, f.Due)
	if err != nil {
		return plainly(err)
	}
	change, err := s.Store.ChangeDue(r.Context(), a, id, day)
	return s.done(w, r, backToSet(r), change, err)
}

// task reads the assignment that an address names, which must be the coach's to deal with,
// and a form.
func (s Pages) task(r *http.Request, a game.Actor, form any) (game.AssignmentID, error) {
	id, err := site.ID[game.AssignmentID](r, "id")
	if err != nil {
		return 0, err
	}
	if err := s.Form(r, form); err != nil {
		return 0, err
	}
	return id, s.Store.TaskInScope(r.Context(), a, id)
}

// newDue reads a day and holds it against the club's holidays.
func (s Pages) newDue(r *http.Request, a game.Actor, text string) (*time.Time, error) {
	c, err := s.Store.Club(r.Context(), a.Club)
	if err != nil {
		return nil, err
	}
	day, err := dueDay("due", text, c.Local(s.Now()))
	if err != nil || day == nil {
		return day, err
	}
	holidays, err := s.Store.Holidays(r.Context(), a.Club)
	if err != nil {
		return nil, err
	}
	return day, club.ValidateHolidays(*day, holidays)
}

// plainly says the problem of a field as a page of its own, for a form of one field.
func plainly(err error) error {
	marked, other := site.Problems(err)
	for _, say := range marked {
		return game.Wrap(game.Bad, say, err)
	}
	return other
}

// backToSet is the grid, of the group that the address names.
func backToSet(r *http.Request) string {
	if group, err := strconv.ParseInt(r.URL.Query().Get("group"), 10, 64); err == nil && group > 0 {
		return fmt.Sprintf("/set?group=%d", group)
	}
	return "/set"
}

// mostSet is how many drills that were set a student's page lists, and mostLater how many of
// those that open later.
const (
	mostSet   = 24
	mostLater = 2
)

// setRows say what is set for a student: what is open first, then the latest.
func setRows(rows []store.SetRow, c club.Club, now time.Time) []SetFor {
	var open, over []SetFor
	later := 0
	for _, row := range rows {
		out := SetFor{Task: strconv.FormatInt(int64(row.Task), 10), Drill: strconv.FormatInt(int64(row.ID), 10), Name: row.Name}
		if row.Game > 0 {
			out.Game = strconv.FormatInt(int64(row.Game), 10)
			out.Last = "last game " + site.Ago(c.Local(*row.Played), now)
		}
		switch {
		case row.Passed != nil:
			out.State = "done on " + site.ShortDay(c.Local(*row.Passed), now)
		case row.Withdrawn:
			out.State = "withdrawn"
		case row.Opens.After(now):
			if later++; later > mostLater {
				continue // weeks of the same crowd nothing out
			}
			out.State, out.Open = "opens on "+site.ShortDay(c.Local(row.Opens), now), true
		default:
			out.State, out.Open = fmt.Sprintf("%d of %s done", row.Done, site.StartsWord(row.Of)), true
			if row.Done == 0 && row.Game == 0 {
				out.State = "not begun"
			}
			if due := site.Due(row.Due, now); due != "" {
				out.State += ", " + due
			}
			out.Late = row.Due != nil && row.Due.Before(club.CalendarDay(now))
		}
		if out.Open {
			open = append(open, out)
		} else {
			over = append(over, out)
		}
	}
	return append(open, over...)
}

// SetFor is one drill that was set for a student.
type SetFor struct {
	Task, Drill, Name string
	State             string
	Open, Late        bool
	Game, Last        string // the last game at it, empty: none
}

// setList is the part of a student's page with what is set.
type setList struct {
	view.Page
	Student string
	Rows    []SetFor
}
