package coach

import (
	"fmt"
	"net/http"
	"strconv"

	"drover/game"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// KinPage is /students/{id}/kin: guardians of a brother or sister, for one link to both children.
type KinPage struct {
	view.Page
	ID, Name string
	Number   string // of the other child, empty: not asked for yet
	Rows     []view.Choice
}

// Kin finds the guardians of a brother or sister.
func (s Pages) Kin(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, _, file, err := s.StudentFrame(r, a)
	if err != nil {
		return err
	}
	m := KinPage{Page: page, ID: strconv.FormatInt(int64(file.ID), 10), Name: file.Name, Number: r.URL.Query().Get("number")}
	if number, err := strconv.Atoi(m.Number); err == nil {
		kin, err := s.Store.KinOf(r.Context(), a, file.ID, number)
		if err != nil {
			return err
		}
		if len(kin) > 0 { // the row of the audit that each page leaves names the child of the address alone
			if err := s.Store.Read(r.Context(), a, "sibling's guardians read", store.OfStudent, int64(kin[0].Of)); err != nil {
				return err
			}
		}
		for _, k := range kin {
			m.Rows = append(m.Rows, view.Choice{Value: strconv.FormatInt(int64(k.ID), 10), Label: k.Name})
		}
	}
	return s.Show(w, r, m.View())
}

type kinForm struct {
	Guardian game.PersonID `schema:"guardian"`
	Number   int           `schema:"number"`
}

// KinPost makes a guardian of a brother or sister a guardian of this child too.
func (s Pages) KinPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	id, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	var f kinForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	if err := s.Store.AddKin(r.Context(), a, id, f.Guardian, f.Number); err != nil {
		return err
	}
	http.Redirect(w, r, fmt.Sprintf("/students/%d", id), http.StatusSeeOther)
	return nil
}

// GuardianPart says that somebody is no guardian of this child any more.
func (s Pages) GuardianPart(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.ofGuardian(w, r, func(student, guardian game.PersonID) (game.ChangeID, error) {
		return 0, s.Store.PartGuardian(r.Context(), a, student, guardian)
	})
}
