package guardian

import (
	"net/http"

	"drover/game"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// MailPage is /report/mail: where a guardian wants the weekly mail, for all own children.
type MailPage struct {
	view.Page
	Sends   bool           // mail can be sent from here
	Own     *store.Address // nil: no address is kept
	Asked   string         // as typed in a refused form
	Wanted  bool
	Last    string // "Sunday 22 November"
	Refused string
	Errors  view.Errors
}

// Mail is the page on which a guardian asks for the weekly mail, or takes it back.
func (s Pages) Mail(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	m, err := s.mail(r, a)
	if err != nil {
		return err
	}
	return s.Show(w, r, m.View())
}

func (s Pages) mail(r *http.Request, a game.Actor) (MailPage, error) {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return MailPage{}, err
	}
	m := MailPage{Page: page, Sends: s.Store.SendsMail(), Wanted: true}
	if m.Own, err = s.Store.Address(r.Context(), a); err != nil || m.Own == nil {
		return m, err
	}
	m.Asked, m.Wanted = m.Own.Email, m.Own.Wanted
	if m.Own.Last != nil {
		m.Last = view.Day(c.Local(*m.Own.Last))
	}
	if m.Own.Refused != nil {
		m.Refused = view.Day(c.Local(*m.Own.Refused))
	}
	return m, nil
}

type mailForm struct {
	Email  string `schema:"email"`
	Weekly bool   `schema:"weekly"`
	site.OnceForm
}

// MailPost keeps the address and whether the weekly mail is wanted.
func (s Pages) MailPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f mailForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	err := s.Store.AskAddress(r.Context(), a, f.Email, f.Weekly, s.Sent(r))
	marked, err := site.Problems(err)
	if err != nil {
		return err
	}
	if marked != nil {
		m, err := s.mail(r, a)
		if err != nil {
			return err
		}
		m.Asked, m.Wanted, m.Errors = f.Email, f.Weekly, marked
		s.Draw(w, r, http.StatusUnprocessableEntity, m.View())
		return nil
	}
	http.Redirect(w, r, "/report/mail", http.StatusSeeOther)
	return nil
}

// MailEnd takes the address away.
func (s Pages) MailEnd(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	if err := s.Store.EndAddress(r.Context(), a); err != nil {
		return err
	}
	http.Redirect(w, r, "/report/mail", http.StatusSeeOther)
	return nil
}

// state says how it stands with the address that is kept.
func (m MailPage) state() (title, say string) {
	switch own := m.Own; {
	case !m.Sends:
		return "No mail is sent just now", "The person who runs this site has not set up mail, so nothing comes to " + own.Email + "."
	case own.Refused != nil:
		return "Mail does not arrive", "On " + m.Refused + " the mail server refused a mail to " + own.Email +
			". Nothing more is sent there. Look at the address again and keep it once more."
	case !own.Confirmed:
		return "Look into your mail", "A mail with a link is on its way to " + own.Email +
			". Open the link and say that the address is yours. Until then nothing else comes."
	case !own.Wanted:
		return "The weekly mail is off", "Nothing is sent to " + own.Email + "."
	}
	return "The weekly mail is on", "It comes on Sunday evening, to " + m.Own.Email + "."
}

// last says what became of the last mail; empty: none was sent.
func (m MailPage) last() string {
	if m.Last == "" {
		return ""
	}
	switch m.Own.Outcome {
	case store.LetterSent:
		return "The last one was sent on " + m.Last + "."
	case store.LetterUnknown:
		return "The last one, on " + m.Last + ", may not have arrived: the line was cut while it was sent. It is not sent twice."
	case store.LetterLate:
		return "The one of " + m.Last + " could not be sent: the mail server did not take it within a day."
	}
	return ""
}
