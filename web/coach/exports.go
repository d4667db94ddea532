package coach

import (
	"net/http"
	"strconv"

	"drover/game"
	"drover/web/site"
	"drover/web/view"
)

// ExportsPage is /exports: what an owner takes along.
type ExportsPage struct {
	view.Page
	Owner   bool
	Factor  bool // there is a second factor, which an export of the whole club asks for
	Student *view.Choice
	Rows    []view.ExportLine
}

// Exports is the page on which an owner takes along what is kept, of a student or of the club.
func (s Pages) Exports(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	own, err := s.Store.Account(r.Context(), a)
	if err != nil {
		return err
	}
	m := ExportsPage{Page: page, Owner: own.Owner, Factor: own.Factor}
	if id, err := strconv.ParseInt(r.URL.Query().Get("student"), 10, 64); err == nil && own.Owner {
		file, err := s.Store.StudentFile(r.Context(), a.Club, game.PersonID(id))
		if err != nil {
			return err
		}
		m.Student = &view.Choice{Value: strconv.FormatInt(id, 10), Label: file.Name}
	}
	all, err := s.Store.Exports(r.Context(), a)
	if err != nil {
		return err
	}
	for _, e := range all {
		line := site.ExportLine(e, c.Local, c.Local(s.Now()))
		if line.Of = "The whole club"; e.Student != 0 {
			file, err := s.Store.StudentFile(r.Context(), a.Club, e.Student)
			if err != nil {
				return err
			}
			line.Of = file.Name
		}
		m.Rows = append(m.Rows, line)
	}
	return s.Show(w, r, m.View())
}

type exportForm struct {
	Student game.PersonID `schema:"student"` // 0: the whole club
	site.OnceForm
}

// ExportsPost asks for an export.
func (s Pages) ExportsPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f exportForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	if err := s.Store.AskExport(r.Context(), a, f.Student, s.Sent(r)); err != nil {
		return err
	}
	http.Redirect(w, r, "/exports", http.StatusSeeOther)
	return nil
}

// ExportFile is the file itself, for an owner who has signed in within ten minutes; of the
// whole club with a second factor.
func (s Pages) ExportFile(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	id, err := site.ID[int64](r, "id")
	if err != nil {
		return err
	}
	if ok, err := s.proven(w, r, "/exports"); err != nil || !ok {
		return err
	}
	e, err := s.Store.Export(r.Context(), a.Club, id)
	if err != nil {
		return err
	}
	own, err := s.Store.Account(r.Context(), a)
	if err != nil {
		return err
	}
	if e.Student == 0 && !own.Factor {
		return game.Fail(game.Denied, "An export of the whole club needs a second factor. Set one up on the page of your account, then sign in again.")
	}
	return s.SendExport(w, r, a, id)
}
