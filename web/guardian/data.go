package guardian

import (
	"fmt"
	"net/http"
	"strconv"

	"drover/game"
	"drover/web/site"
	"drover/web/view"
)

// DataPage is /report/{id}/data: everything to take along.
type DataPage struct {
	view.Page
	Child, Name string
	Export      *view.ExportLine // nil: none is asked for
	Proved      bool             // the link was opened a short while ago
}

// Data is the page on which a guardian takes everything along.
func (s Pages) Data(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	child, err := s.kept(r, a)
	if err != nil {
		return err
	}
	m := DataPage{Page: page, Child: strconv.FormatInt(int64(child.ID), 10), Name: child.Name}
	if m.Proved, err = s.Store.Proved(r.Context(), s.Token(r)); err != nil {
		return err
	}
	all, err := s.Store.Exports(r.Context(), a)
	if err != nil {
		return err
	}
	for _, e := range all {
		if e.Student == child.ID && m.Export == nil {
			line := site.ExportLine(e, c.Local, c.Local(s.Now()))
			m.Export = &line
		}
	}
	return s.Show(w, r, m.View())
}

// DataPost asks for the export.
func (s Pages) DataPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	child, err := s.kept(r, a)
	if err != nil {
		return err
	}
	if err := s.Form(r, &site.OnceForm{}); err != nil {
		return err
	}
	if err := s.Store.AskExport(r.Context(), a, child.ID, s.Sent(r)); err != nil {
		return err
	}
	http.Redirect(w, r, fmt.Sprintf("/report/%d/data", child.ID), http.StatusSeeOther)
	return nil
}

// DataFile is the file itself, for a guardian who has just opened the link.
func (s Pages) DataFile(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	child, err := s.kept(r, a)
	if err != nil {
		return err
	}
	id, err := site.ID[int64](r, "x")
	if err != nil {
		return err
	}
	if ok, err := s.Store.Proved(r.Context(), s.Token(r)); err != nil || !ok {
		if err == nil {
			http.Redirect(w, r, fmt.Sprintf("/report/%d/data", child.ID), http.StatusSeeOther)
		}
		return err
	}
	return s.SendExport(w, r, a, id)
}
