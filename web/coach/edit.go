package coach

import (
	"fmt"
	"net/http"
	"slices"
	"strconv"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// StudentEdit is the form that corrects a student.
func (s Pages) StudentEdit(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.studentEdit(w, r, a, http.StatusOK, nil, nil)
}

type editForm struct {
	Name     string         `schema:"name"`
	Wording  string         `schema:"wording"`
	Groups   []game.GroupID `schema:"group"`
	Same     string         `schema:"same"`
	Revision int            `schema:"revision"`
}

// studentEdit draws the form: at first, refused, and where somebody else was first, with
// both versions.
func (s Pages) studentEdit(w http.ResponseWriter, r *http.Request, a game.Actor, status int, f *editForm,
	refused error) error {
	page, _, file, err := s.StudentFrame(r, a)
	if err != nil {
		return err
	}
	groups, err := s.Store.Groups(r.Context(), a)
	if err != nil {
		return err
	}
	m := EditPage{Page: page, ID: strconv.FormatInt(int64(file.ID), 10), Name: file.Name, Now: file.Name, Wording: file.Wording,
		Revision: file.Revision}
	in := file.Groups
	if f != nil {
		m.Name, m.Same, in = f.Name, f.Same != "", f.Groups
		m.Wording, _ = strconv.Atoi(f.Wording)
	}
	for _, g := range groups {
		m.Groups = append(m.Groups, view.Choice{Value: strconv.FormatInt(int64(g.ID), 10), Label: g.Name, Chosen: slices.Contains(in, g.ID)})
	}
	marked, other := site.Problems(refused)
	m.Errors = marked
	if other != nil {
		m.Clash = game.Saying(other)
		m.NowSay = nowSay(file, groups)
	}
	s.Draw(w, r, status, m.View())
	return nil
}

// nowSay says how a student is now, where somebody else has made a change.
func nowSay(file store.StudentFile, groups []store.GroupRow) string {
	var names []string
	for _, g := range groups {
		if slices.Contains(file.Groups, g.ID) {
			names = append(names, g.Name)
		}
	}
	in := "no group"
	if len(names) > 0 {
		in = game.List(names)
	}
	return fmt.Sprintf("Now: %s, worded for %s, in %s.", file.Name, game.Number(file.Wording), in)
}

// StudentEditPost changes a student.
func (s Pages) StudentEditPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	id, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	var f editForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	e := club.StudentEdit{Name: f.Name, Groups: f.Groups, Same: f.Same != "", Revision: f.Revision, Wording: ending.Eight}
	if f.Wording == "14" {
		e.Wording = ending.Fourteen
	}
	change, err := s.Store.EditStudent(r.Context(), a, id, e)
	if status, refused := site.Refused(err); refused {
		return s.studentEdit(w, r, a, status, &f, err)
	}
	return s.done(w, r, fmt.Sprintf("/students/%d", id), change, err)
}

// StudentArchive takes a student out of all lists.
func (s Pages) StudentArchive(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	id, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	change, err := s.Store.ArchiveStudent(r.Context(), a, id)
	return s.done(w, r, "/students", change, err)
}

// StudentBack brings an archived student back to the lists.
func (s Pages) StudentBack(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	id, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	change, err := s.Store.TakeBack(r.Context(), a, id)
	return s.done(w, r, fmt.Sprintf("/students/%d", id), change, err)
}

// GuardianName corrects a guardian's name.
func (s Pages) GuardianName(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.ofGuardian(w, r, func(student, guardian game.PersonID) (game.ChangeID, error) {
		var f nameForm
		if err := s.Form(r, &f); err != nil {
			return 0, err
		}
		return s.Store.RenameGuardian(r.Context(), a, student, guardian, f.Name)
	})
}

// LinkRenew moves the end of a link that still works.
func (s Pages) LinkRenew(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	if r.URL.Query().Get("back") != "since" {
		return s.ofGuardian(w, r, func(student, guardian game.PersonID) (game.ChangeID, error) {
			return 0, s.Store.RenewLink(r.Context(), a, student, guardian)
		})
	}
	student, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	guardian, err := site.ID[game.PersonID](r, "g")
	if err == nil {
		err = s.Store.RenewLink(r.Context(), a, student, guardian)
	}
	if err != nil {
		return err
	}
	http.Redirect(w, r, fmt.Sprintf("/since?renewed=%d", student), http.StatusSeeOther)
	return nil
}

// ofGuardian does something with a guardian of a student and leads back to the student.
func (s Pages) ofGuardian(w http.ResponseWriter, r *http.Request,
	do func(student, guardian game.PersonID) (game.ChangeID, error)) error {
	student, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	guardian, err := site.ID[game.PersonID](r, "g")
	if err != nil {
		return err
	}
	change, err := do(student, guardian)
	return s.done(w, r, fmt.Sprintf("/students/%d", student), change, err)
}
