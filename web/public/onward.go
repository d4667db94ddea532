package public

import (
	"net/http"
	"net/url"
	"strconv"

	"drover/game"
	"drover/game/club"
	"drover/web/site"
	"drover/web/view"
)

// onward is where a sign-in leads, and what was typed before it. It rides along in the
// hidden fields of the page, so that nothing is kept of somebody who does not sign in.
type onward struct {
	Back  string `schema:"back"`  // the page that was asked for
	Whose string `schema:"whose"` // the mark of the person who was signed in here last
	At    string `schema:"at"`    // where the form that was refused was to go
	Typed string `schema:"typed"` // its fields, as a browser sends them

	Shared bool `schema:"shared"` // a child says that others use the device, too
}

// hidden are the fields of a sign-in form that carry it.
func (o onward) hidden() []view.Hidden {
	var out []view.Hidden
	for _, f := range []view.Hidden{
		{Name: "back", Value: o.Back}, {Name: "whose", Value: o.Whose}, {Name: "at", Value: o.At},
		{Name: "typed", Value: o.Typed},
	} {
		if f.Value != "" {
			out = append(out, f)
		}
	}
	return out
}

// theirs says whether this may be the person who asked for the page.
func (o onward) theirs(a game.Actor) bool { return o.Whose == "" || o.Whose == site.Mark(a) }

// page is the sign-in page that carries it.
func (o onward) page() SignInPage { return SignInPage{Hidden: o.hidden(), Shared: o.Shared} }

// signIn is the sign-in page for who asked for a page; a guardian's own page is asked for by a
// guardian who was signed in, and finds the words for guardians first.
func (s Pages) signIn(o onward) SignInPage {
	m := o.page()
	m.Guardian = s.Opens(o.Back, game.Guardian) && !s.Opens(o.Back, game.Student) && !s.Opens(o.Back, game.Coach)
	return m
}

// lastHere is the mark of the person who signed in in this browser last; empty where
// that is not known.
func (s Pages) lastHere(r *http.Request) (string, error) {
	a, err := s.Store.LastHere(r.Context(), s.Devices(r))
	if err != nil || a.Person == 0 {
		return "", err
	}
	return site.Mark(a), nil
}

// next is where a person who has just signed in goes: to the page that was asked for, if
// it is a page for the role, and else to the own first page. What was typed waits there
// for the same person, and for nobody else.
func (s Pages) next(r *http.Request, a game.Actor, session club.Secret, o onward) (string, error) {
	if !o.theirs(a) || !s.Opens(o.Back, a.Role) {
		return site.FirstPage(a.Role), nil
	}
	if o.Typed == "" || o.Whose == "" || !site.Keeps(o.At) {
		return o.Back, nil
	}
	no, err := s.Store.KeepDraft(r.Context(), session, site.Typed{At: o.At, Fields: o.Typed})
	return o.Back + "?typed=" + strconv.FormatInt(no, 10), err
}

// mostTyped is how much of a refused form rides along in the page.
const mostTyped = 48 << 10

// SignedOut answers a form that nobody who is signed in has sent: the page offers to
// sign in, and what was typed waits in it.
func (s Pages) SignedOut(w http.ResponseWriter, r *http.Request) error {
	if err := r.ParseForm(); err != nil {
		return game.Wrap(game.Bad, "This form could not be read. Load the page again and fill it in once more.", err)
	}
	whose, err := s.lastHere(r)
	if err != nil {
		return err
	}
	o := onward{Back: cameFromPage(r), Whose: whose}
	say := "You are signed out. Sign in again, and you come back to this page."
	if text := site.Typable(r.URL.Path, r.PostForm); text != "" && whose != "" && len(text) <= mostTyped {
		o.At, o.Typed = r.URL.Path, text
		say = "You are signed out. Nothing was saved, but what you typed is kept in this page. Sign in again, and it is there."
	}
	m := s.signIn(o)
	m.Lost = say
	s.Draw(w, r, http.StatusForbidden, m.View())
	return nil
}

// cameFromPage is the page on which a form was sent.
func cameFromPage(r *http.Request) string {
	from, err := url.Parse(r.Referer())
	if err != nil || from.Path == "" {
		return r.URL.Path
	}
	return from.Path
}
