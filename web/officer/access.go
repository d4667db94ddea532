package officer

import (
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// Access is the page of who has access, whom children can turn to, and who is barred.
func (s Pages) Access(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.welfare(w, r, a, http.StatusOK, nil, nil)
}

// access draws the page around what a coach's page has, too.
func (s Pages) access(w http.ResponseWriter, r *http.Request, a game.Actor, c club.Club, status int, m WelfarePage) error {
	page := AccessPage{WelfarePage: m, NoOwner: true}
	var err error
	if page.Staff, _, err = s.staff(r, a, c); err != nil {
		return err
	}
	for _, l := range page.Staff {
		page.NoOwner = page.NoOwner && (l.Barred || l.Role != "coach, owner")
	}
	linked, err := s.Store.Linked(r.Context(), a)
	if err != nil {
		return err
	}
	page.Guardians = len(linked)
	barred, err := s.Store.Barred(r.Context(), a)
	if err != nil {
		return err
	}
	for _, b := range barred {
		page.Barred = append(page.Barred, BarredLine{ID: strconv.FormatInt(int64(b.ID), 10), Name: b.Name,
			Say:    fmt.Sprintf("%s, barred on %s by %s", b.Role, moment(c, b.At), b.By),
			Reason: b.Reason, May: b.ByID != a.Person})
	}
	s.Draw(w, r, status, page.View())
	return nil
}

// Guardians lists the guardians, who come by private links.
func (s Pages) Guardians(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	rows, err := s.Store.Linked(r.Context(), a)
	if err != nil {
		return err
	}
	m := GuardiansPage{Page: page}
	for _, g := range rows {
		m.Rows = append(m.Rows, LinkLine{ID: strconv.FormatInt(int64(g.ID), 10), Name: g.Name, Children: strings.Join(g.Children, "; "),
			Say: s.linkSays(c, g), Barred: g.Barred != nil})
	}
	return s.Show(w, r, m.View())
}

// linkSays says until when a guardian's link works, and when the guardian was here last.
func (s Pages) linkSays(c club.Club, g store.Linked) string {
	now := c.Local(s.Now())
	say := "no link"
	if g.Until != nil {
		say = "link until " + site.ShortDay(c.Local(*g.Until), now)
	}
	if g.Barred != nil {
		say = "barred on " + site.ShortDay(c.Local(*g.Barred), now)
	}
	if g.Seen != nil {
		say += ", last here " + site.Ago(c.Local(*g.Seen), now)
	}
	return say
}

// BarAsk asks for the reason why somebody is barred, and says what happens then.
func (s Pages) BarAsk(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.bar(w, r, a, http.StatusOK, "", nil)
}

func (s Pages) bar(w http.ResponseWriter, r *http.Request, a game.Actor, status int, reason string, marked view.Errors) error {
	id, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	page, _, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	who, err := s.Store.Barrable(r.Context(), a, id)
	if err != nil {
		return err
	}
	m := BarPage{Page: page, ID: strconv.FormatInt(int64(id), 10), Name: who.Name, Guardian: who.Role == game.Guardian,
		Last: who.Last, Already: who.Barred != nil, Reason: reason, Errors: marked}
	s.Draw(w, r, status, m.View())
	return nil
}

type barForm struct {
	Reason string `schema:"reason"`
}

// Bar bars somebody.
func (s Pages) Bar(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	id, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	var f barForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	marked, err := site.Problems(s.Store.Bar(r.Context(), a, id, f.Reason))
	if err != nil {
		return err
	}
	if marked != nil {
		return s.bar(w, r, a, http.StatusUnprocessableEntity, f.Reason, marked)
	}
	http.Redirect(w, r, "/welfare/access", http.StatusSeeOther)
	return nil
}

// Lift gives an access back.
func (s Pages) Lift(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	id, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	if err := s.Store.Lift(r.Context(), a, id); err != nil {
		return err
	}
	http.Redirect(w, r, "/welfare/access", http.StatusSeeOther)
	return nil
}
