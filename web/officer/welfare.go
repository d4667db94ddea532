package officer

import (
	"net/http"
	"strconv"

	"drover/game"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// Welfare is an officer's desk; a coach reads there whom children can turn to.
func (s Pages) Welfare(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	if a.Role == game.Welfare {
		return s.desk(w, r, a)
	}
	return s.welfare(w, r, a, http.StatusOK, nil, nil)
}

type contactForm struct {
	Welfare  string `schema:"welfare"`
	Contact  string `schema:"contact"`
	Revision int    `schema:"revision"`
}

// welfare draws the page: at first, and with a form that was refused or came second.
func (s Pages) welfare(w http.ResponseWriter, r *http.Request, a game.Actor, status int, f *contactForm, refused error) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	desk, err := s.Store.Welfare(r.Context(), a)
	if err != nil {
		return err
	}
	m := WelfarePage{Page: page, Welfare: desk.Name, Contact: desk.Contact, Revision: desk.Revision, May: desk.May,
		Officer: a.Role == game.Welfare}
	if f != nil {
		m.Welfare, m.Contact = f.Welfare, f.Contact
	}
	marked, other := site.Problems(refused)
	m.Errors = marked
	if other != nil {
		m.Clash, m.Now = game.Saying(other), desk.Name+", "+desk.Contact
	}
	for _, o := range desk.Officers {
		seen := "not signed in now"
		if o.Seen != nil {
			seen = "last here " + site.Ago(c.Local(*o.Seen), c.Local(s.Now()))
		}
		m.Officers = append(m.Officers, Line{ID: strconv.FormatInt(int64(o.ID), 10), Name: o.Name, Email: o.Email,
			Seen: seen, Factor: o.Factor, You: o.ID == a.Person})
	}
	if m.URL, err = s.JoinLink(r, a, store.ShownOfficer); err != nil {
		return err
	}
	if m.Officer {
		return s.access(w, r, a, c, status, m)
	}
	s.Draw(w, r, status, m.View())
	return nil
}

// back leads to the page on which whoever looks has these forms.
func back(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	to := "/welfare"
	if a.Role == game.Welfare {
		to = "/welfare/access"
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// WelfarePost changes whom children can turn to.
func (s Pages) WelfarePost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f contactForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	err := s.Store.KeepWelfare(r.Context(), a, f.Welfare, f.Contact, f.Revision)
	if status, refused := site.Refused(err); refused {
		return s.welfare(w, r, a, status, &f, err)
	}
	if err != nil {
		return err
	}
	return back(w, r, a)
}

// Invite makes a link with which a welfare officer joins, and shows it for a while.
func (s Pages) Invite(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	if err := s.Form(r, &site.OnceForm{}); err != nil {
		return err
	}
	if _, err := s.Store.InviteOfficer(r.Context(), a, s.Sent(r)); err != nil {
		return err
	}
	return back(w, r, a)
}

// End ends an officer's access.
func (s Pages) End(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	id, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	if err := s.Store.EndOfficer(r.Context(), a, id); err != nil {
		return err
	}
	return back(w, r, a)
}

// WelfarePage is /welfare as a coach has it, and a part of an officer's page Access.
type WelfarePage struct {
	view.Page
	Welfare, Contact string
	Revision         int
	May              bool // who looks may change it
	Officer          bool // who looks is a welfare officer
	Officers         []Line
	URL              string // the link to join that was made just now, empty: none
	Clash, Now       string // somebody else was first, and how it is now
	Errors           view.Errors
}

// Line is one welfare officer.
type Line struct {
	ID, Name, Email, Seen string
	Factor, You           bool
}

// says is the line below an officer's name; an address is for the other officers alone.
func (o Line) says(officer bool) string {
	if !officer {
		return o.Seen
	}
	say := o.Email + ", " + o.Seen
	if o.Factor {
		say += ", second factor on"
	}
	return say
}
