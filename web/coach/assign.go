package coach

import (
	"context"
	"fmt"
	"net/http"
	"slices"
	"strconv"
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
	for _, n := range listed(r.URL.Query().Get("for")) {
		f.Students = append(f.Students, game.PersonID(n))
	}
	for _, n := range listed(r.URL.Query().Get("group")) {
		f.Groups = append(f.Groups, game.GroupID(n))
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
	All      string          `schema:"all"` // everybody
	From     string          `schema:"from"`
	Due      string          `schema:"due"`
	Until    string          `schema:"until"`
	Again    string          `schema:"again"` // what becomes of those who have it open already
	Name     string          `schema:"-"`     // a new name that was refused
	site.OnceForm
}

// What becomes of students who have the drill open already.
const (
	leaveOut = "out"  // they get it once
	onceMore = "more" // they get it again
)

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
	m := AssignPage{Page: page, ID: strconv.FormatInt(int64(d.ID), 10), Name: d.Name, Line: d.Line(), Trains: d.Training(),
		Guide: site.GuidePath(d.Ending, d.Hold),
		From:  f.From, Due: f.Due, Until: f.Until, NewName: f.Name, Errors: marked}
	if m.NewName == "" {
		m.NewName = d.Name
	}
	place, err := s.Store.Place(r.Context(), a.Club, drillID)
	if err != nil {
		return err
	}
	if m.Old = place.Archived; m.Old && place.Now > 0 {
		m.Newer = strconv.FormatInt(int64(place.Now), 10)
	}
	if m.Starts, err = s.startCards(r.Context(), d, 4); err != nil {
		return err
	}
	for _, field := range []string{"student", "again", "due", "from", "until", "name"} { // also above the page, where it is seen first
		if say := marked[field]; say != "" && m.Notice == nil {
			m.Notice = &view.Notice{Say: say, Error: true}
		}
	}
	if !m.Old {
		if err := s.assignees(r.Context(), a, c, &m, d, f); err != nil {
			return err
		}
	}
	s.Draw(w, r, status, m.View())
	return nil
}

// assignees fills a page with the groups and students to give a drill to.
func (s Pages) assignees(ctx context.Context, a game.Actor, c club.Club, m *AssignPage, d club.Drill, f assignForm) error {
	people, err := s.Store.DrillProgress(ctx, a, d.ID)
	if err != nil {
		return err
	}
	groups, err := s.Store.Groups(ctx, a)
	if err != nil {
		return err
	}
	for _, g := range groups {
		m.Groups = append(m.Groups, view.Choice{Value: strconv.FormatInt(int64(g.ID), 10),
			Label: fmt.Sprintf("%s, %d", g.Name, g.Students), Chosen: slices.Contains(f.Groups, g.ID)})
	}
	m.All = view.Choice{Value: "yes", Label: fmt.Sprintf("Everybody, %d", len(people)), Chosen: f.All != ""}
	now := c.Local(s.Now())
	for _, p := range people {
		m.Students = append(m.Students, assignRow(p, len(d.Starts), slices.Contains(f.Students, p.ID), now))
	}
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
	when, err := s.when(r.Context(), a, f)
	if err != nil {
		return 0, err
	}
	who, err := s.whom(r.Context(), a, drill, f)
	if err != nil {
		return 0, err
	}
	return s.Store.Give(r.Context(), a, store.Giving{Drill: drill, Students: who, When: when}, s.Sent(r))
}

// whom are the students of a form, each once and all within the coach's groups. Where some
// have the drill open already, the form is asked what becomes of them.
func (s Pages) whom(ctx context.Context, a game.Actor, drill game.DrillID, f assignForm) ([]game.PersonID, error) {
	in, err := s.Store.InGroups(ctx, a.Club, f.Groups)
	if err != nil {
		return nil, err
	}
	who := slices.Concat(f.Students, in)
	if f.All != "" {
		people, err := s.Store.DrillProgress(ctx, a, drill)
		if err != nil {
			return nil, err
		}
		for _, p := range people {
			who = append(who, p.ID)
		}
	}
	slices.Sort(who)
	who = slices.Compact(who)
	if err := s.Store.InScope(ctx, a, who...); err != nil {
		return nil, err
	}
	if f.Again == onceMore {
		return who, nil
	}
	have, err := s.Store.HaveOpen(ctx, a.Club, drill, who)
	switch {
	case err != nil:
		return nil, err
	case len(have) == 0:
		return who, nil
	case len(have) == len(who) && f.Again == leaveOut:
		return nil, club.Problems{"student": "All of them have this open already. Choose others."}.Err()
	case f.Again == leaveOut:
		return without(who, have), nil
	}
	return nil, club.Problems{"again": haveSay(have, len(who))}.Err()
}

// without are the students who are not among some.
func without(who []game.PersonID, some []club.Person) []game.PersonID {
	return slices.DeleteFunc(who, func(id game.PersonID) bool {
		return slices.ContainsFunc(some, func(p club.Person) bool { return p.ID == id })
	})
}

// haveSay says who has a drill open already.
func haveSay(have []club.Person, all int) string {
	names := make([]string, len(have))
	for i, p := range have {
		names[i] = p.Name
	}
	verb := " have this open already."
	if len(names) == 1 {
		verb = " has this open already."
	}
	if len(have) == all && all > 3 {
		return "All of them" + verb
	}
	return game.Upper(fewNames(names)) + verb
}

// when reads from when a drill is given, until when it comes each week, and when it is due.
func (s Pages) when(ctx context.Context, a game.Actor, f assignForm) ([]club.Span, error) {
	c, err := s.Store.Club(ctx, a.Club)
	if err != nil {
		return nil, err
	}
	now := c.Local(s.Now())
	from, err := dueDay("from", f.From, now)
	if err != nil {
		return nil, err
	}
	due, err := dueDay("due", f.Due, now)
	if err != nil {
		return nil, err
	}
	until, err := dueDay("until", f.Until, now)
	if err != nil {
		return nil, err
	}
	holidays, err := s.Store.Holidays(ctx, a.Club)
	if err != nil {
		return nil, err
	}
	today := club.CalendarDay(now)
	if from == nil {
		from = &today
	}
	spans, err := club.Weekly(*from, due, until, now.Location(), holidays)
	if len(spans) > 0 && from.Equal(today) && spans[0].Opens.Before(s.Now()) {
		spans[0].Opens = s.Now() // what opens today opens at once
	}
	return spans, err
}

// dueDay reads an optional day of a field, which is held against the club's own today.
func dueDay(field, text string, today time.Time) (*time.Time, error) {
	if text == "" {
		return nil, nil
	}
	day, err := time.Parse(time.DateOnly, text)
	if err != nil {
		return nil, club.Problems{field: "Choose a day, or leave this empty."}.Err()
	}
	return &day, club.ValidateDue(field, day, today)
}
