package coach

import (
	"context"
	"fmt"
	"net/http"
	"strconv"
	"strings"

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
	Say      string // why nobody is found
	Rows     []view.Choice
}

// Kin finds the guardians of a brother or sister.
func (s Pages) Kin(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, _, file, err := s.StudentFrame(r, a)
	if err != nil {
		return err
	}
	m := KinPage{Page: page, ID: strconv.FormatInt(int64(file.ID), 10), Name: file.Name, Number: r.URL.Query().Get("number")}
	if r.URL.Query().Has("number") {
		if m.Say, err = s.kin(r.Context(), a, file, &m); err != nil {
			return err
		}
	}
	return s.Show(w, r, m.View())
}

// kin finds the guardians of the child with the number that was typed, or says why there is none.
func (s Pages) kin(ctx context.Context, a game.Actor, file store.StudentFile, m *KinPage) (say string, err error) {
	m.Number = strings.TrimSpace(m.Number)
	number, _ := strconv.ParseInt(m.Number, 10, 32) // what is no number is 0 or less
	switch {
	case m.Number == "":
		return "Type the number of the other child.", nil
	case number < 1:
		return "A number has figures alone. It stands on the card and on the list of students.", nil
	case int(number) == file.Number:
		return "This is " + file.Name + "'s own number. Type that of the brother or sister.", nil
	}
	kin, err := s.Store.KinOf(ctx, a, file.ID, int(number))
	if err != nil {
		return "", err
	}
	if len(kin) > 0 { // the row of the audit that each page leaves names the child of the address alone
		if err := s.Store.Read(ctx, a, "sibling's guardians read", store.OfStudent, int64(kin[0].Of)); err != nil {
			return "", err
		}
	}
	for _, k := range kin {
		m.Rows = append(m.Rows, view.Choice{Value: strconv.FormatInt(int64(k.ID), 10), Label: k.Name})
	}
	if len(kin) > 0 {
		return "", nil
	}
	found, err := s.Store.Roster(ctx, a.Club, store.RosterAsk{Find: m.Number, Reader: a.Person})
	for _, row := range found.Rows {
		if row.Number == int(number) {
			err = s.Store.Read(ctx, a, "sibling's guardians read", store.OfStudent, int64(row.ID))
			return row.Name + " has no guardian here who is not " + file.Name + "'s already.", err
		}
	}
	return "No child with this number is on your list of students.", err
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
	http.Redirect(w, r, fmt.Sprintf("/students/%d?kin=%d", id, f.Guardian), http.StatusSeeOther)
	return nil
}

// GuardianPart says that somebody is no guardian of this child any more.
func (s Pages) GuardianPart(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.ofGuardian(w, r, func(student, guardian game.PersonID) (game.ChangeID, error) {
		return 0, s.Store.PartGuardian(r.Context(), a, student, guardian)
	})
}
