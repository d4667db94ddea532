package officer

import (
	"cmp"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"drover/game"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// Concern is the page of one concern. Before it is opened it says only that there is one.
func (s Pages) Concern(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.concern(w, r, a, http.StatusOK, concernForm{}, nil)
}

type concernForm struct {
	Words  string `schema:"words"`
	Reason string `schema:"reason"`
	site.OnceForm
}

// concern draws the page, at first and with a refused form.
func (s Pages) concern(w http.ResponseWriter, r *http.Request, a game.Actor, status int, f concernForm, marked view.Errors) error {
	id, err := site.ID[game.ConcernID](r, "id")
	if err != nil {
		return err
	}
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	row, err := s.Store.Concern(r.Context(), a, id)
	if err != nil {
		return err
	}
	m := ConcernPage{Page: page, ID: strconv.FormatInt(int64(id), 10), Title: "Told on " + moment(c, row.At), From: from(row),
		Text: f.Words, Reason: f.Reason, Errors: marked, Unopened: row.Opened == nil}
	if m.Unopened {
		s.Draw(w, r, status, m.View())
		return nil
	}
	m.Opened = "Opened on " + moment(c, *row.Opened) + " by " + row.OpenedBy
	if row.Closed != nil {
		m.Closed = "Closed on " + moment(c, *row.Closed) + " by " + row.ClosedBy
	}
	m.About = fmt.Sprintf("%s, number %d", row.Name, row.Number)
	if m.From = "Told by " + row.Name; row.ByGuardian {
		m.From = "Told by " + cmp.Or(row.By, "somebody who is not kept any more") + ", a guardian, about " + row.Name
	}
	m.Words, m.Student = paragraphs(row.Words), strconv.FormatInt(int64(row.Student), 10)
	for _, n := range row.Notes {
		m.Notes = append(m.Notes, NoteLine{By: n.By, At: moment(c, n.At), Words: paragraphs(n.Words)})
	}
	reason, err := s.Store.ReasonNow(r.Context(), a, row.Student)
	switch {
	case err == nil:
		m.Until = c.Local(reason.Until).Format("15:04")
	case game.KindOf(err) != game.Denied:
		return err
	}
	s.Draw(w, r, status, m.View())
	return nil
}

// paragraphs are the lines of a text.
func paragraphs(text string) []string {
	var out []string
	for _, line := range strings.Split(text, "\n") {
		if strings.TrimSpace(line) != "" {
			out = append(out, line)
		}
	}
	return out
}

// turned is a step of a concern that leads back to its page.
func (s Pages) turned(w http.ResponseWriter, r *http.Request, do func(game.ConcernID) error) error {
	id, err := site.ID[game.ConcernID](r, "id")
	if err != nil {
		return err
	}
	if err := do(id); err != nil {
		return err
	}
	http.Redirect(w, r, fmt.Sprintf("/welfare/concerns/%d", id), http.StatusSeeOther)
	return nil
}

// ConcernOpen opens a concern, which is noted.
func (s Pages) ConcernOpen(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.turned(w, r, func(id game.ConcernID) error { return s.Store.OpenConcern(r.Context(), a, id) })
}

// ConcernClose closes a concern.
func (s Pages) ConcernClose(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.turned(w, r, func(id game.ConcernID) error { return s.Store.CloseConcern(r.Context(), a, id) })
}

// ConcernReopen opens a closed concern again.
func (s Pages) ConcernReopen(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.turned(w, r, func(id game.ConcernID) error { return s.Store.ReopenConcern(r.Context(), a, id) })
}

// ConcernNote adds a note.
func (s Pages) ConcernNote(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f concernForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	id, err := site.ID[game.ConcernID](r, "id")
	if err != nil {
		return err
	}
	marked, err := site.Problems(s.Store.NoteConcern(r.Context(), a, id, f.Words, s.Sent(r)))
	if err != nil {
		return err
	}
	if marked != nil {
		return s.concern(w, r, a, http.StatusUnprocessableEntity, f, marked)
	}
	http.Redirect(w, r, fmt.Sprintf("/welfare/concerns/%d", id), http.StatusSeeOther)
	return nil
}

// ConcernGames notes why an officer reads the child's games, and leads to them.
func (s Pages) ConcernGames(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f concernForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	id, err := site.ID[game.ConcernID](r, "id")
	if err != nil {
		return err
	}
	student, err := s.Store.GiveReason(r.Context(), a, id, f.Reason, s.Sent(r))
	marked, err := site.Problems(err)
	if err != nil {
		return err
	}
	if marked != nil {
		return s.concern(w, r, a, http.StatusUnprocessableEntity, f, marked)
	}
	http.Redirect(w, r, fmt.Sprintf("/welfare/students/%d/games", student), http.StatusSeeOther)
	return nil
}

// Games lists a child's games for the hour of a noted reason.
func (s Pages) Games(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	id, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	reason, err := s.Store.ReasonNow(r.Context(), a, id)
	if err != nil {
		return err
	}
	no := max(pageNo(r), 1)
	list, err := s.Store.Games(r.Context(), a, id, store.GamesAsk{Page: no})
	if err != nil {
		return err
	}
	m := GamesPage{Page: page, Name: fmt.Sprintf("%s, number %d", reason.Name, reason.Number), Reason: reason.Words,
		Until: c.Local(reason.Until).Format("15:04")}
	for _, g := range list.Rows {
		line := GameLine{Title: site.GameTitle(g.GameInfo), Day: site.Ago(c.Local(g.Began), c.Local(s.Now())), Result: "goes on"}
		if g.Ended != nil {
			line.ID, line.Result = strconv.FormatInt(int64(g.ID), 10), site.GameResult(g.GameInfo)
		}
		m.Rows = append(m.Rows, line)
	}
	at := fmt.Sprintf("/welfare/students/%d/games?page=", id)
	if no > 1 {
		m.Newer = at + strconv.Itoa(no-1)
	}
	if no*store.GamesOnPage < list.Sum.All {
		m.Older = at + strconv.Itoa(no+1)
	}
	return s.Show(w, r, m.View())
}

// pageNo is the page that the address asks for.
func pageNo(r *http.Request) int {
	n, _ := strconv.Atoi(r.URL.Query().Get("page")) // the first where it is no number
	return min(n, 1_000_000)
}
