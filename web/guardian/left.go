package guardian

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

	"github.com/go-chi/chi/v5"
)

// LeftPage is /report of a child who has left the club and is still kept.
type LeftPage struct {
	view.Page
	ID, Name string
	Left     string // "12 May 2026"
	Until    string // the day on which all is erased by itself
	Siblings []Sibling
	Erase    EraseBox
}

// leftWard is the child that an address is about, among those of a guardian who have left;
// without a number the first of them.
func (s Pages) leftWard(r *http.Request, a game.Actor) (store.LeftWard, error) {
	all, err := s.Store.LeftWards(r.Context(), a)
	if err != nil {
		return store.LeftWard{}, err
	}
	number := chi.URLParam(r, "id")
	for _, w := range all {
		if number == "" || number == strconv.FormatInt(int64(w.ID), 10) {
			return w, nil
		}
	}
	return store.LeftWard{}, site.Missing()
}

// kept is the child that an address is about, also one who has left: what is kept of it can be
// taken along, and its erasure asked for and stopped.
func (s Pages) kept(r *http.Request, a game.Actor) (club.Person, error) {
	child, _, err := s.ward(r, a)
	if game.KindOf(err) != game.Missing {
		return child, err
	}
	left, err := s.leftWard(r, a)
	return left.Person, err
}

// siblings lead to the reports of a guardian's other children, also of those who have left, and say
// what waits there.
func (s Pages) siblings(ctx context.Context, a game.Actor, c club.Club, wards []club.Person, of game.PersonID) ([]Sibling, error) {
	left, err := s.Store.LeftWards(ctx, a)
	if err != nil || len(wards)+len(left) < 2 {
		return nil, err
	}
	all := slices.Clone(wards)
	for _, w := range left {
		all = append(all, w.Person)
	}
	var out []Sibling
	for i, w := range all {
		k := Sibling{Name: w.Name, Href: fmt.Sprintf("/report/%d", w.ID), Here: w.ID == of}
		if !k.Here {
			if k.Say, err = s.waitsAt(ctx, a, c, w, i >= len(wards)); err != nil {
				return nil, err
			}
		}
		out = append(out, k)
	}
	return out, nil
}

// waitsAt says what a guardian is to know of another child: an erasure, or a consent that is asked for.
func (s Pages) waitsAt(ctx context.Context, a game.Actor, c club.Club, child club.Person, left bool) (string, error) {
	box, err := s.eraseBox(ctx, c, child)
	if err != nil || box.Say != "" || left {
		return box.Say, err
	}
	of, err := s.Store.ConsentOf(ctx, a.Club, child.ID)
	if consent := boxOf(of, a.Person, child, c.Local(s.Now())); err == nil && consent.Asked {
		return consent.Title + ".", nil
	}
	return "", err
}

// left is the report of a child who has left.
func (s Pages) left(w http.ResponseWriter, r *http.Request, a game.Actor, page view.Page, c club.Club, wards []club.Person) error {
	child, err := s.leftWard(r, a)
	if err != nil {
		return err
	}
	keeping, err := s.Store.Keeping(r.Context(), a.Club)
	if err != nil {
		return err
	}
	m := LeftPage{Page: page, ID: strconv.FormatInt(int64(child.ID), 10), Name: child.Name}
	if m.Siblings, err = s.siblings(r.Context(), a, c, wards, child.ID); err != nil {
		return err
	}
	on := func(t time.Time) string { return c.Local(t).Format("2 January 2006") }
	m.Left, m.Until = on(child.Left), on(child.Left.AddDate(0, keeping.Left, 0))
	if m.Erase, err = s.eraseBox(r.Context(), c, child.Person); err != nil {
		return err
	}
	return s.Show(w, r, m.View())
}
