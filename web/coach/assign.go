package coach

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// Drill is the page of one drill, from which it is given to students.
func (s Pages) Drill(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f assignForm
	for _, text := range strings.Split(r.URL.Query().Get("for"), ",") {
		if n, err := strconv.ParseInt(text, 10, 64); err == nil {
			f.Students = append(f.Students, game.PersonID(n))
		}
	}
	return s.assignPage(w, r, a, http.StatusOK, f, nil)
}

// DrillPlay begins a game in which the coach tries a drill out.
func (s Pages) DrillPlay(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var none struct{}
	if err := s.Form(r, &none); err != nil {
		return err
	}
	id, err := site.ID[game.DrillID](r, "id")
	if err != nil {
		return err
	}
	d, err := s.Store.Drill(r.Context(), a.Club, id)
	if err != nil {
		return err
	}
	g, err := s.Store.Trial(r.Context(), a, d, 0)
	if err != nil {
		return err
	}
	return s.GoPlay(w, r, g)
}

type assignForm struct {
	Students []game.PersonID `schema:"student"`
	Groups   []game.GroupID  `schema:"group"`
	Due      string          `schema:"due"`
	site.OnceForm
}

// assignPage draws a drill with the students to give it to.
func (s Pages) assignPage(w http.ResponseWriter, r *http.Request, a game.Actor, status int, f assignForm,
	marked view.Errors) error {
	drillID, err := site.ID[game.DrillID](r, "id")
	if err != nil {
		return err
	}
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	d, err := s.Store.Drill(r.Context(), a.Club, drillID)
	if err != nil {
		return err
	}
	people, err := s.Store.DrillProgress(r.Context(), a, drillID)
	if err != nil {
		return err
	}
	m := AssignPage{Page: page, ID: strconv.FormatInt(int64(d.ID), 10), Name: d.Name, Line: d.Line(), Due: f.Due,
		Errors: marked}
	if m.Starts, err = s.startCards(r.Context(), d, 4); err != nil {
		return err
	}
	chosen := map[game.PersonID]bool{}
	for _, p := range f.Students {
		chosen[p] = true
	}
	groups, err := s.Store.Groups(r.Context(), a)
	if err != nil {
		return err
	}
	for _, g := range groups {
		m.Groups = append(m.Groups, view.Choice{Value: strconv.FormatInt(int64(g.ID), 10),
			Label: fmt.Sprintf("%s, %d", g.Name, g.Students), Chosen: slices.Contains(f.Groups, g.ID)})
	}
	now := c.Local(s.Now())
	for _, p := range people {
		m.Students = append(m.Students, assignRow(p, len(d.Starts), chosen[p.ID], now))
	}
	s.Draw(w, r, status, m.View())
	return nil
}

func assignRow(p store.Progress, starts int, chosen bool, now time.Time) AssignRow {
	row := AssignRow{ID: strconv.FormatInt(int64(p.ID), 10), Name: p.Name, Chosen: chosen}
	if p.Has {
		row.Has = fmt.Sprintf("%d of %s done", p.Done, site.StartsWord(starts))
		if d := site.Due(p.Due, now); d != "" {
			row.Has += ", " + d
		}
	}
	return row
}

// AssignPost gives a drill to the students who were chosen.
func (s Pages) AssignPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f assignForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	drillID, err := site.ID[game.DrillID](r, "id")
	if err != nil {
		return err
	}
	given, err := s.assign(r, a, drillID, f)
	marked, err := site.Problems(err)
	if err != nil {
		return err
	}
	if marked != nil {
		return s.assignPage(w, r, a, http.StatusUnprocessableEntity, f, marked)
	}
	http.Redirect(w, r, fmt.Sprintf("/drills?given=%d", given), http.StatusSeeOther)
	return nil
}

// assign gives a drill as a form says it.
func (s Pages) assign(r *http.Request, a game.Actor, drill game.DrillID, f assignForm) (game.AssignmentID, error) {
	c, err := s.Store.Club(r.Context(), a.Club)
	if err != nil {
		return 0, err
	}
	day, err := dueDay(f.Due, c.Local(s.Now()))
	if err != nil {
		return 0, err
	}
	if day != nil {
		holidays, err := s.Store.Holidays(r.Context(), a.Club)
		if err == nil {
			err = club.ValidateHolidays(*day, holidays)
		}
		if err != nil {
			return 0, err
		}
	}
	in, err := s.Store.InGroups(r.Context(), a.Club, f.Groups)
	if err != nil {
		return 0, err
	}
	who := slices.Concat(f.Students, in)
	slices.Sort(who)
	who = slices.Compact(who)
	if err := s.Store.InScope(r.Context(), a, who...); err != nil {
		return 0, err
	}
	return s.Store.Assign(r.Context(), a, drill, who, day, s.Sent(r))
}

// dueDay reads an optional day, which is held against the club's own today.
func dueDay(text string, today time.Time) (*time.Time, error) {
	if text == "" {
		return nil, nil
	}
	day, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return nil, club.Problems{"due": "Choose a day, or leave this empty."}.Err()
	}
	return &day, club.ValidateDue(day, today)
}
