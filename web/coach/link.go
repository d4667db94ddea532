package coach

import (
	"context"
	"fmt"
	"net/http"
	"strconv"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

type nameForm struct {
	Name string `schema:"name"`
	site.OnceForm
}

// GuardianPost adds a guardian and leads to the private link.
func (s Pages) GuardianPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	student, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	var f nameForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	link, err := s.Store.AddGuardian(r.Context(), a, student, f.Name, s.Sent(r))
	marked, err := site.Problems(err)
	if err != nil {
		return err
	}
	if marked != nil {
		return s.studentFile(w, r, a, http.StatusUnprocessableEntity, f.Name, marked)
	}
	return s.toLink(w, r, student, link.Guardian)
}

// toLink leads to the page of a private link.
func (s Pages) toLink(w http.ResponseWriter, r *http.Request, student, guardian game.PersonID) error {
	http.Redirect(w, r, fmt.Sprintf("/students/%d/guardian/%d/link", student, guardian), http.StatusSeeOther)
	return nil
}

// LinkPost makes a new link for a guardian and leads to it.
func (s Pages) LinkPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	student, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	guardian, err := site.ID[game.PersonID](r, "g")
	if err != nil {
		return err
	}
	if err := s.Form(r, &site.OnceForm{}); err != nil {
		return err
	}
	if _, err := s.Store.ReplaceLink(r.Context(), a, student, guardian, s.Sent(r)); err != nil {
		return err
	}
	return s.toLink(w, r, student, guardian)
}

// GuardianLink shows a private link to the session that made it, for a while;
// else it says why there is none to see.
func (s Pages) GuardianLink(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	guardian, err := site.ID[game.PersonID](r, "g")
	if err != nil {
		return err
	}
	page, c, file, err := s.StudentFrame(r, a)
	if err != nil {
		return err
	}
	who, ok := file.Guardian(guardian)
	if !ok {
		return site.Missing()
	}
	var link club.Link
	err = s.Store.Shown(r.Context(), s.Token(r), store.ShownLink, int64(guardian), &link)
	if game.KindOf(err) == game.Missing || err == nil && who.Until == nil {
		return s.Show(w, r, linkOver(page, file, who).View())
	}
	if err != nil {
		return err
	}
	url := s.Link("/open?for=guardian#" + string(link.Token))
	code, err := site.Pattern(url)
	if err != nil {
		return err
	}
	about, err := s.linkOpens(r.Context(), a, page, file, guardian)
	if err != nil {
		return err
	}
	return s.Show(w, r, LinkPage{
		Opens: about,
		Page:  page, StudentID: strconv.FormatInt(int64(file.ID), 10), Student: file.Name, Guardian: who.Name, URL: url, QR: code,
		Until: site.ShortDay(c.Local(*who.Until), c.Local(s.Now())),
	}.View())
}

// linkOpens says which reports a guardian's link opens; a coach who stands in reads no name of a
// child of another group.
func (s Pages) linkOpens(ctx context.Context, a game.Actor, page view.Page, file store.StudentFile, guardian game.PersonID) (string, error) {
	wards, err := s.Store.Wards(ctx, game.Actor{Club: a.Club, Person: guardian})
	if err != nil {
		return "", err
	}
	switch {
	case len(wards) < 2:
		return "It opens only the report about " + file.Name + ".", nil
	case page.Who.Stands:
		return "It opens the report about " + file.Name + ", and those about this guardian's other children in the club.", nil
	}
	var names []string
	for _, p := range wards {
		if names = append(names, p.Name); p.ID == file.ID {
			continue // noted by the page itself
		}
		if err := s.Store.Read(ctx, a, "guardian's link read", store.OfStudent, int64(p.ID)); err != nil {
			return "", err
		}
	}
	return "It opens the reports about " + game.List(names) + ".", nil
}

// linkOver is the page where a link is not shown.
func linkOver(page view.Page, file store.StudentFile, who store.GuardianRow) OverPage {
	m := OverPage{
		Page: page, Title: "Private link for " + who.Name, StudentID: strconv.FormatInt(int64(file.ID), 10),
		Student: file.Name,
		Say:     "A link is shown only once, for ten minutes, to the coach who has just made it: so nobody can copy it later.",
		Ask:     "Was it not passed on?", Button: "Make a new link",
		Hint: "It replaces the old one, which will stop working.",
	}
	m.Post = fmt.Sprintf("/students/%s/guardian/%d/link", m.StudentID, who.ID)
	return m
}

// GuardianRevoke stops a guardian's link.
func (s Pages) GuardianRevoke(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	student, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	guardian, err := site.ID[game.PersonID](r, "g")
	if err != nil {
		return err
	}
	if err := s.Store.RevokeGuardian(r.Context(), a, student, guardian); err != nil {
		return err
	}
	http.Redirect(w, r, fmt.Sprintf("/students/%d", student), http.StatusSeeOther)
	return nil
}
