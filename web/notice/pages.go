// Package notice has what a club tells guardians and children of what it keeps: the notices
// themselves, and the owner's page on which a new version is pasted.
package notice

import (
	"net/http"
	"strconv"

	"drover/game"
	"drover/game/club"
	"drover/web/site"
	"drover/web/view"

	"github.com/go-chi/chi/v5"
)

// Pages are the handlers of the notices.
type Pages struct{ *site.Site }

// New makes the pages of a site.
func New(s *site.Site) Pages { return Pages{s} }

// Own is the notice that a child or a guardian reads.
func (s Pages) Own(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	if a.Role == game.Guardian {
		return s.show(w, r, a, club.ForGuardian, 0, view.Link{Href: "/report", Label: "Report"})
	}
	return s.show(w, r, a, club.ForChild, 0, view.Link{Href: "/today", Label: "Today"})
}

// Version is a version of a notice for a coach, to be printed; 0: the one in force.
func (s Pages) Version(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	version, err := strconv.Atoi(chi.URLParam(r, "version"))
	if err != nil || version < 0 {
		return site.Missing()
	}
	of := club.Audience(chi.URLParam(r, "for"))
	if of != club.ForGuardian && of != club.ForChild {
		return site.Missing()
	}
	return s.show(w, r, a, of, version, view.Link{Href: "/notices", Label: "Notices"})
}

func (s Pages) show(w http.ResponseWriter, r *http.Request, a game.Actor, of club.Audience, version int, up view.Link) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	n, err := s.Store.NoticeVersion(r.Context(), a.Club, of, version)
	if err != nil {
		return err
	}
	return s.Show(w, r, Page{Page: page, Club: c.Name, Title: titles[of], Notice: site.NoticeOf(n, c.Local(s.Now())), Up: up}.View())
}

// titles name a notice for whom it is made.
var titles = map[club.Audience]string{
	club.ForGuardian: "What the club keeps of your child",
	club.ForChild:    "What Drover keeps about you",
}

// List is the owner's page of the notices; every coach reads it.
func (s Pages) List(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.list(w, r, a, http.StatusOK, nil, nil)
}

// What the buttons of a pasted notice do.
const (
	doLook   = "look"   // show how it reads, before it is in force
	doChange = "change" // back to the field
)

type form struct {
	For   club.Audience `schema:"for"`
	Body  string        `schema:"body"`
	Again string        `schema:"again"` // tell, ask
	Do    string        `schema:"do"`    // look, change; else it is put in force
	site.OnceForm
}

func (s Pages) list(w http.ResponseWriter, r *http.Request, a game.Actor, status int, f *form, marked view.Errors) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	all, err := s.Store.NoticeVersions(r.Context(), a.Club)
	if err != nil {
		return err
	}
	own, err := s.Store.Account(r.Context(), a)
	if err != nil {
		return err
	}
	m := ListPage{Page: page, Owner: own.Owner}
	for _, of := range []club.Audience{club.ForGuardian, club.ForChild} {
		part := Part{For: string(of), Title: partTitles[of], Asks: of == club.ForGuardian}
		for _, n := range append(all, club.OwnNotice(of)) {
			if n.For == of {
				part.add(n, site.NoticeOf(n, c.Local(s.Now())).Label)
			}
		}
		if f != nil && f.For == of {
			part.Body, part.Errors, part.Again, part.Open = f.Body, marked, f.Again == "ask", true
		}
		m.Parts = append(m.Parts, part)
	}
	s.Draw(w, r, status, m.View())
	return nil
}

var partTitles = map[club.Audience]string{club.ForGuardian: "For guardians", club.ForChild: "For children"}

// add lists a version; the first one is in force.
func (p *Part) add(n club.Notice, label string) {
	v := Version{Href: "/notices/" + p.For + "/" + strconv.Itoa(n.Version), Label: label, InForce: len(p.Versions) == 0}
	if p.Asks && n.Version > 0 {
		v.Say = asks(n)
	}
	if v.InForce {
		p.Body = n.Body
	}
	if n.Version > 0 || v.InForce {
		p.Versions = append(p.Versions, v)
	}
}

// Post keeps a new version.
func (s Pages) Post(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f form
	if err := s.Form(r, &f); err != nil {
		return err
	}
	n := club.Notice{For: f.For, Body: f.Body, Again: f.Again == "ask"}
	if f.Do == doChange {
		return s.list(w, r, a, http.StatusOK, &f, nil)
	}
	err := n.Validate()
	switch {
	case err == nil && f.Do == doLook:
		return s.look(w, r, a, n)
	case err == nil:
		err = s.Store.KeepNotice(r.Context(), a, n, s.Sent(r))
	}
	marked, err := site.Problems(err)
	if err != nil {
		return err
	}
	if marked != nil {
		return s.list(w, r, a, http.StatusUnprocessableEntity, &f, marked)
	}
	http.Redirect(w, r, "/notices", http.StatusSeeOther)
	return nil
}

// look shows how a pasted notice reads before it is in force.
func (s Pages) look(w http.ResponseWriter, r *http.Request, a game.Actor, n club.Notice) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	m := LookPage{Page: page, For: string(n.For), Title: titles[n.For], Body: n.Body, Again: again(n),
		Notice: site.NoticeOf(n, c.Local(s.Now()))}
	m.Notice.Label = "Not in force yet."
	if n.For == club.ForGuardian {
		m.Say = asks(n)
	}
	return s.Show(w, r, m.View())
}

// again is what a form says of what guardians do.
func again(n club.Notice) string {
	if n.Again {
		return "ask"
	}
	return "tell"
}

// asks says what guardians do about a version.
func asks(n club.Notice) string {
	if n.Again {
		return "Guardians are asked again; practice goes on for 30 days."
	}
	return "Guardians are told."
}

// LookPage is a pasted notice as it will read.
type LookPage struct {
	view.Page
	For, Title, Body, Again string
	Say                     string // what guardians do; empty: nothing
	Notice                  view.NoticeOf
}

// Page is a notice to be read and printed.
type Page struct {
	view.Page
	Club, Title string
	Notice      view.NoticeOf
	Up          view.Link
}

// ListPage is /notices.
type ListPage struct {
	view.Page
	Owner bool // who looks may paste a new version
	Parts []Part
}

// Part is one of the two notices.
type Part struct {
	For, Title string
	Asks       bool // guardians can be asked again
	Versions   []Version
	Body       string
	Again      bool
	Open       bool // somebody is at it
	Errors     view.Errors
}

// Version is one version of a notice in the list.
type Version struct {
	Href, Label, Say string
	InForce          bool
}
