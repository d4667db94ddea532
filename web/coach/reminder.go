package coach

import (
	"net/http"

	"drover/game"
	"drover/store"
)

type reminderForm struct {
	Monday bool `schema:"monday"`
}

// AccountMail asks for the mail on Monday, or ends it.
func (s Pages) AccountMail(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f reminderForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	if err := s.Store.AskReminder(r.Context(), a, f.Monday); err != nil {
		return err
	}
	http.Redirect(w, r, "/account", http.StatusSeeOther)
	return nil
}

// remindsNow says how it stands with the mail on Monday.
func (m AccountPage) remindsNow() string {
	switch own := m.Reminder; {
	case !m.Sends:
		return "Reminder: no mail is sent from here"
	case own == nil || !own.Wanted:
		return "Reminder: off"
	case own.Refused != nil:
		return "Reminder: mail does not arrive"
	case !own.Confirmed:
		return "Reminder: look into your mail"
	}
	return "Reminder: on"
}

// reminds says more of it.
func (m AccountPage) reminds() string {
	const what = "It counts what needs you, and names nobody."
	switch own := m.Reminder; {
	case !m.Sends:
		return "The person who runs this site can set it up."
	case own == nil || !own.Wanted:
		return "On Monday morning, to the address with which you sign in. " + what
	case own.Refused != nil:
		return "The mail server refused a mail to " + own.Email + ". If the address is right, ask once more."
	case !own.Confirmed:
		return "Open the link that was sent to " + own.Email + ", and say that the address is yours."
	case own.Last != nil && own.Outcome == store.LetterUnknown:
		return "To " + own.Email + ". The last one may not have arrived. " + what
	}
	return "To " + m.Reminder.Email + ". " + what
}
