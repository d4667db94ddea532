// Package certificate has the page that a club signs for an ending that is mastered: for its
// student, a guardian and a coach.
package certificate

import (
	"fmt"
	"net/http"
	"slices"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/store"
	"drover/web/site"
	"drover/web/view"

	"github.com/go-chi/chi/v5"
)

// Pages are the handlers of the certificate.
type Pages struct{ *site.Site }

// New makes the pages of a site.
func New(s *site.Site) Pages { return Pages{s} }

// Own is a student's own certificate.
func (s Pages) Own(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.show(w, r, a, a.Person, view.Link{Href: "/today", Label: "Today"})
}

// OfWard is the certificate of a guardian's child.
func (s Pages) OfWard(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	id, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	wards, err := s.Store.Wards(r.Context(), a)
	if err != nil {
		return err
	}
	if !slices.ContainsFunc(wards, func(w club.Person) bool { return w.ID == id }) {
		return site.Missing()
	}
	return s.show(w, r, a, id, view.Link{Href: fmt.Sprintf("/report/%d", id), Label: "Report"})
}

// OfStudent is a student's certificate for a coach.
func (s Pages) OfStudent(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	id, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	return s.show(w, r, a, id, view.Link{Href: fmt.Sprintf("/students/%d", id), Label: "Back to the student"})
}

func (s Pages) show(w http.ResponseWriter, r *http.Request, a game.Actor, student game.PersonID, up view.Link) error {
	plan, ok := ending.PlanOf(chi.URLParam(r, "code"))
	if !ok {
		return site.Missing()
	}
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	of, err := s.Store.RecordOf(r.Context(), a.Club, student, store.WithStages, store.WithMastery)
	if err != nil {
		return err
	}
	m := Page{Page: page, Club: c.Name, Name: of.Student.Name, Ending: site.EndingOf(plan.Code), What: site.MateWith(plan.Code),
		Up: up, Own: a.Role == game.Student}
	got, missing := of.CertificateOf(*plan)
	if len(missing) > 0 {
		m.toCome(of, *plan, missing)
		return s.Show(w, r, m.View())
	}
	by, err := s.Store.Watched(r.Context(), a.Club, got.Tests)
	if err != nil {
		return err
	}
	m.fill(*plan, got, watchedAll(got.Tests, by))
	return s.Show(w, r, m.View())
}
