package coach

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"drover/game"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

type chosenForm struct {
	Students []game.PersonID `schema:"student"`
	Group    game.GroupID    `schema:"group"`
	Do       string          `schema:"do"`
	site.OnceForm
}

// Chosen does something with the students who were chosen on the roster.
func (s Pages) Chosen(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f chosenForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	if len(f.Students) == 0 {
		return game.Fail(game.Bad, "Nobody is chosen. Tick the students first.")
	}
	if err := s.Store.InScope(r.Context(), a, f.Students...); err != nil {
		return err
	}
	stands, err := s.Store.Substitute(r.Context(), a)
	if err != nil {
		return err
	}
	switch f.Do {
	case "group", "archive", "cards":
		if stands {
			return site.Missing()
		}
	}
	switch f.Do {
	case "group":
		if f.Group == 0 {
			return game.Fail(game.Bad, "No group is chosen. Make one on the page Groups, or choose one beside the button.")
		}
		id, err := s.Store.PutInGroup(r.Context(), a, f.Group, f.Students)
		return s.done(w, r, "/students", id, err)
	case "archive":
		id, err := s.Store.EndSeason(r.Context(), a, store.SeasonEnd{Leave: f.Students})
		return s.done(w, r, "/students", id, err)
	case "drill", "cards":
		to := map[string]string{"drill": "/drills?for=", "cards": "/cards?for="}[f.Do]
		http.Redirect(w, r, to+idList(f.Students), http.StatusSeeOther)
		return nil
	}
	return game.Fail(game.Bad, "This page asked for something unknown. Load it again.")
}

// done leads to a page that says what was changed, with its undoing.
func (s Pages) done(w http.ResponseWriter, r *http.Request, to string, id game.ChangeID, err error) error {
	if err != nil {
		return err
	}
	mark := "?"
	if strings.Contains(to, "?") {
		mark = "&"
	}
	http.Redirect(w, r, fmt.Sprintf("%s%sdone=%d", to, mark, id), http.StatusSeeOther)
	return nil
}

// doneNotice says what the change did that the address names, with its undoing, as long as
// it can be undone.
func (s Pages) doneNotice(r *http.Request, a game.Actor) (*view.Notice, error) {
	if r.URL.Query().Has("undone") {
		return &view.Notice{Say: "Undone.", More: "It is as it was before."}, nil
	}
	n, _ := strconv.ParseInt(r.URL.Query().Get("done"), 10, 64) // no change has the number 0
	if n <= 0 {
		return nil, nil
	}
	c, err := s.Store.Change(r.Context(), a.Club, game.ChangeID(n))
	if game.KindOf(err) == game.Missing {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	notice := &view.Notice{Say: "Saved.", Undo: strconv.FormatInt(n, 10)}
	switch {
	case c.What == "season" && c.Many > 0:
		notice.Say = game.Upper(game.Count(c.Many, "student")) + " archived."
		notice.More = "What they did stays, and they can come back at any time."
	case c.What == "season":
		notice.Say = "The season is ended."
	case c.What == "drill":
		notice.More = "What was given stays as it was given."
	case c.What == "assignment":
		notice.Say = "Changed."
	case c.What == "watched":
		notice.Say, notice.More = "Noted.", "The certificate names who watched every test of an ending."
	case c.Archived && c.What == "student":
		notice.Say, notice.More = "Archived.", "What the child did stays, and the child can come back at any time."
	case c.Archived:
		notice.Say, notice.More = "Archived.", "Its students stay on the roster."
	}
	return notice, nil
}

// Undo makes a thing as it was before a change.
func (s Pages) Undo(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	id, err := site.ID[game.ChangeID](r, "id")
	if err != nil {
		return err
	}
	what, subject, err := s.Store.Undo(r.Context(), a, id)
	if err != nil {
		return err
	}
	to := map[string]string{"student": fmt.Sprintf("/students/%d", subject), "group": "/groups", "club": "/settings",
		"guardian": "/students", "season": "/students", "drill": "/drills", "assignment": "/set", "plan": fmt.Sprintf("/plans/%d", subject)}[what]
	if what == "watched" {
		g, err := s.Store.Game(r.Context(), a.Club, game.GameID(subject))
		if err != nil {
			return err
		}
		to = fmt.Sprintf("/students/%d", g.Student.ID)
	}
	if r.URL.Query().Get("back") == "next" && what == "assignment" {
		to = "/next"
	}
	http.Redirect(w, r, to+"?undone", http.StatusSeeOther)
	return nil
}

// StudentsCSV is the roster as a table for a spreadsheet, with all that is asked for.
func (s Pages) StudentsCSV(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	ask := askOf(r.URL.Query())
	ask.Page, ask.Reader = 0, a.Person
	roster, err := s.Store.Roster(r.Context(), a.Club, ask)
	if err != nil {
		return err
	}
	out := csvTo(w, "students.csv")
	_ = out.Write([]string{"nickname", "number", "groups", "wording", "games", "last game", "guardians"})
	for _, row := range roster.Rows {
		last := ""
		if row.Last != nil {
			last = row.Last.UTC().Format("2006-01-02")
		}
		_ = out.Write([]string{plainCell(row.Name), strconv.Itoa(row.Number), plainCell(strings.Join(row.Groups, ", ")),
			strconv.Itoa(row.Wording), strconv.Itoa(row.Games), last, strconv.Itoa(row.Guardians)})
	}
	out.Flush()
	return nil
}

// plainCell keeps a text from being run as a formula by a spreadsheet (OWASP, CSV
// injection): a text that begins like one has an apostrophe before it.
func plainCell(text string) string {
	if text != "" && strings.ContainsRune("=+-@\t\r", rune(text[0])) {
		return "'" + text
	}
	return text
}

// Register is a list for a club evening, by group with empty boxes. Nothing of it is kept.
func (s Pages) Register(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	groups, err := s.Store.Groups(r.Context(), a)
	if err != nil {
		return err
	}
	m := RegisterPage{Page: page, Club: c.Name}
	add := func(name string, ask store.RosterAsk) error {
		roster, err := s.Store.Roster(r.Context(), a.Club, ask)
		if err != nil || len(roster.Rows) == 0 {
			return err
		}
		list := RegisterList{Name: name}
		for _, row := range roster.Rows {
			list.Names = append(list.Names, row.Name)
		}
		m.Lists = append(m.Lists, list)
		return nil
	}
	only := askOf(r.URL.Query()).Group
	for _, g := range groups {
		if only == 0 || only == g.ID {
			if err := add(g.Name, store.RosterAsk{Group: g.ID, Reader: a.Person}); err != nil {
				return err
			}
		}
	}
	if only == 0 {
		name := "No group"
		if len(groups) == 0 {
			name = "All"
		}
		if err := add(name, store.RosterAsk{NoGroup: true, Reader: a.Person}); err != nil {
			return err
		}
	}
	return s.Show(w, r, m.View())
}
