package coach

import (
	"context"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"drover/game"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// Groups is the page of the club's groups.
func (s Pages) Groups(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.groups(w, r, a, http.StatusOK, "", 0, nil)
}

// groups draws the page, at first and with a refused form: of the group with that number,
// 0 for a new one.
func (s Pages) groups(w http.ResponseWriter, r *http.Request, a game.Actor, status int, typed string, of game.GroupID,
	marked view.Errors) error {
	page, _, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	if page.Notice, err = s.doneNotice(r, a); err != nil {
		return err
	}
	rows, err := s.Store.Groups(r.Context(), a)
	if err != nil {
		return err
	}
	m := GroupsPage{Page: page}
	if of == 0 {
		m.Name, m.Say = typed, marked["name"]
	}
	for _, g := range rows {
		row := GroupLine{ID: strconv.FormatInt(int64(g.ID), 10), Name: g.Name, Students: g.Students}
		if g.ID == of && of > 0 {
			row.Name, row.Say = typed, marked["name"]
		}
		m.Rows = append(m.Rows, row)
	}
	s.Draw(w, r, status, m.View())
	return nil
}

// GroupsPost makes a group.
func (s Pages) GroupsPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f nameForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	_, err := s.Store.KeepGroup(r.Context(), a, f.Name, s.Sent(r))
	marked, err := site.Problems(err)
	if err != nil {
		return err
	}
	if marked != nil {
		return s.groups(w, r, a, http.StatusUnprocessableEntity, f.Name, 0, marked)
	}
	http.Redirect(w, r, "/groups", http.StatusSeeOther)
	return nil
}

// GroupName gives a group another name.
func (s Pages) GroupName(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	id, err := site.ID[game.GroupID](r, "id")
	if err != nil {
		return err
	}
	var f nameForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	change, err := s.Store.RenameGroup(r.Context(), a, id, f.Name)
	marked, err := site.Problems(err)
	if marked != nil {
		return s.groups(w, r, a, http.StatusUnprocessableEntity, f.Name, id, marked)
	}
	return s.done(w, r, "/groups", change, err)
}

// GroupArchive takes a group out of all lists.
func (s Pages) GroupArchive(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	id, err := site.ID[game.GroupID](r, "id")
	if err != nil {
		return err
	}
	change, err := s.Store.ArchiveGroup(r.Context(), a, id)
	return s.done(w, r, "/groups", change, err)
}

// Season is the form that ends a season: who leaves, which group goes on to which.
func (s Pages) Season(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.season(w, r, a, seasonForm{Withdraw: "yes"}, false)
}

type seasonForm struct {
	Leave    []game.PersonID `schema:"leave"`
	Up       []string        `schema:"up"` // "from to", by number
	Withdraw string          `schema:"withdraw"`
	Do       string          `schema:"do"`
	site.OnceForm
}

// end is what a form says of the end of a season.
func (f seasonForm) end() store.SeasonEnd {
	e := store.SeasonEnd{Leave: f.Leave, Withdraw: f.Withdraw != "", Up: map[game.GroupID]game.GroupID{}}
	for _, up := range f.Up {
		from, to, _ := strings.Cut(up, " ")
		a, _ := strconv.ParseInt(from, 10, 64)
		b, _ := strconv.ParseInt(to, 10, 64)
		if a > 0 && b > 0 && a != b {
			e.Up[game.GroupID(a)] = game.GroupID(b)
		}
	}
	return e
}

// season draws the form, or the preview of what it would do.
func (s Pages) season(w http.ResponseWriter, r *http.Request, a game.Actor, f seasonForm, preview bool) error {
	page, _, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	roster, err := s.Store.Roster(r.Context(), a.Club, store.RosterAsk{Reader: a.Person})
	if err != nil {
		return err
	}
	groups, err := s.Store.Groups(r.Context(), a)
	if err != nil {
		return err
	}
	m := SeasonPage{Page: page, Withdraw: f.Withdraw != "", Preview: preview}
	end := f.end()
	leaves := map[game.PersonID]bool{}
	for _, p := range end.Leave {
		leaves[p] = true
	}
	for _, row := range roster.Rows {
		line := SeasonStudent{ID: strconv.FormatInt(int64(row.ID), 10), Name: row.Name, Groups: strings.Join(row.Groups, ", "),
			Leaves: leaves[row.ID]}
		m.Students = append(m.Students, line)
	}
	for _, g := range groups {
		m.Groups = append(m.Groups, seasonGroup(g, groups, end.Up[g.ID]))
	}
	return s.Show(w, r, m.View())
}

func seasonGroup(g store.GroupRow, all []store.GroupRow, to game.GroupID) SeasonGroup {
	out := SeasonGroup{Name: g.Name, Students: g.Students, Up: []view.Choice{{Label: "stays"}}}
	for _, other := range all {
		if other.ID == g.ID {
			continue
		}
		value := strconv.FormatInt(int64(g.ID), 10) + " " + strconv.FormatInt(int64(other.ID), 10)
		out.Up = append(out.Up, view.Choice{Value: value, Label: "goes on to " + other.Name, Chosen: other.ID == to})
		if other.ID == to {
			out.To, out.Value = other.Name, value
		}
	}
	return out
}

// SeasonPost shows what would happen, and does it once that was seen.
func (s Pages) SeasonPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f seasonForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	switch f.Do {
	case "end":
		change, err := s.Store.EndSeason(r.Context(), a, f.end())
		return s.done(w, r, "/students", change, err)
	case "change":
		return s.season(w, r, a, f, false)
	}
	return s.season(w, r, a, f, true)
}

// groupChoices are the groups that a page can be held to; none where the club has none.
func (s Pages) groupChoices(ctx context.Context, a game.Actor, chosen game.GroupID) ([]view.Choice, error) {
	groups, err := s.Store.Groups(ctx, a)
	if err != nil || len(groups) == 0 {
		return nil, err
	}
	out := []view.Choice{{Value: "", Label: "All groups"}}
	for _, g := range groups {
		out = append(out, view.Choice{Value: strconv.FormatInt(int64(g.ID), 10), Label: g.Name, Chosen: g.ID == chosen})
	}
	return out, nil
}

// forGroup is the group that an address holds a page to, 0: none.
func forGroup(q url.Values) game.GroupID { return askOf(q).Group }
