package coach

import (
	"encoding/hex"
	"net/http"
	"slices"
	"strings"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// Account is a coach's own account: how they sign in, and where they are signed in.
func (s Pages) Account(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	own, err := s.Store.Account(r.Context(), a)
	if err != nil {
		return err
	}
	sessions, err := s.Store.Sessions(r.Context(), a)
	if err != nil {
		return err
	}
	m := AccountPage{Page: page, Email: own.Email, Factor: own.Factor, Codes: own.Codes}
	if m.Sends = s.Store.SendsMail(); a.Role == game.Coach {
		if m.Reminder, err = s.Store.Address(r.Context(), a); err != nil {
			return err
		}
	}
	here := s.Token(r).Hash()
	now := c.Local(s.Now())
	if own.Refused != nil {
		m.Refused = view.Day(c.Local(*own.Refused))
	}
	for _, k := range sessions {
		made, seen := c.Local(k.Made), c.Local(k.Seen)
		m.Sessions = append(m.Sessions, SessionLine{
			ID: hex.EncodeToString(k.Hash), Browser: k.Browser, This: slices.Equal(k.Hash, here),
			Made: site.ShortDay(made, now) + " at " + made.Format("15:04"), Seen: site.ShortDay(seen, now) + " at " + seen.Format("15:04"),
		})
	}
	return s.Show(w, r, m.View())
}

type sessionForm struct {
	ID string `schema:"id"`
}

// SessionEnd ends one of the own sessions.
func (s Pages) SessionEnd(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f sessionForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	hash, err := hex.DecodeString(f.ID)
	if err != nil {
		return site.Missing()
	}
	if err := s.Store.EndSession(r.Context(), a, hash); err != nil {
		return err
	}
	http.Redirect(w, r, "/account", http.StatusSeeOther)
	return nil
}

// SessionsEnd ends all of the own sessions, this one too.
func (s Pages) SessionsEnd(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	if err := s.Store.EndSessions(r.Context(), a); err != nil {
		return err
	}
	http.Redirect(w, r, "/in#coach", http.StatusSeeOther)
	return nil
}

// NoticeRead puts away what a coach was told.
func (s Pages) NoticeRead(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	id, err := site.ID[game.PersonID](r, "id")
	if err != nil {
		return err
	}
	if err := s.Store.ReadNotice(r.Context(), a, int64(id)); err != nil {
		return err
	}
	http.Redirect(w, r, site.FirstPage(a.Role), http.StatusSeeOther)
	return nil
}

// proven leads a coach who proved too long ago who they are to sign in again, and says
// whether that was not needed. to is the page to come back to.
func (s Pages) proven(w http.ResponseWriter, r *http.Request, to string) (bool, error) {
	ok, err := s.Store.Proved(r.Context(), s.Token(r))
	if err == nil && !ok {
		http.Redirect(w, r, "/account/again?to="+to, http.StatusSeeOther)
	}
	return ok, err
}

// provenFor are the pages that a coach comes back to after signing in again.
var provenFor = []string{"/account/password", "/account/email", "/account/factor", "/account/codes", "/coaches", "/exports"}

// Again asks a coach to sign in again.
func (s Pages) Again(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.again(w, r, a, http.StatusOK, r.URL.Query().Get("to"), "")
}

func (s Pages) again(w http.ResponseWriter, r *http.Request, a game.Actor, status int, to, say string) error {
	page, _, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	own, err := s.Store.Account(r.Context(), a)
	if err != nil {
		return err
	}
	s.Draw(w, r, status, AgainPage{Page: page, Email: own.Email, Factor: own.Factor, To: to, Error: say}.View())
	return nil
}

type againForm struct {
	Password string `schema:"password"`
	Code     string `schema:"code"`
	To       string `schema:"to"`
}

// AgainPost takes the password, and the code where there is a second factor.
func (s Pages) AgainPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	var f againForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	err := s.prove(r, a, f)
	if say, status, refused := site.Refusal(err); refused {
		return s.again(w, r, a, status, f.To, say)
	}
	if err != nil {
		return err
	}
	if !slices.Contains(provenFor, f.To) {
		f.To = "/account"
	}
	http.Redirect(w, r, f.To, http.StatusSeeOther)
	return nil
}

func (s Pages) prove(r *http.Request, a game.Actor, f againForm) error {
	own, err := s.Store.Account(r.Context(), a)
	if err != nil {
		return err
	}
	who, err := s.CoachIn(r, own.Email, f.Password)
	if err == nil && (who.Club != a.Club || who.Person != a.Person) {
		err = site.Missing()
	}
	if err = s.TurnedAway(r, site.ByCoach, own.Email, err); err != nil {
		return err
	}
	if own.Factor {
		if err := s.CodeIn(r, a, own.Email, f.Code); err != nil {
			return err
		}
	}
	return s.Store.Prove(r.Context(), a, s.Token(r))
}

// Password is the page for a new password.
func (s Pages) Password(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	if ok, err := s.proven(w, r, "/account/password"); !ok {
		return err
	}
	return s.change(w, r, a, http.StatusOK, ChangePage{What: changePassword})
}

// Email is the page for a new e-mail address.
func (s Pages) Email(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	if ok, err := s.proven(w, r, "/account/email"); !ok {
		return err
	}
	return s.change(w, r, a, http.StatusOK, ChangePage{What: changeEmail})
}

func (s Pages) change(w http.ResponseWriter, r *http.Request, a game.Actor, status int, m ChangePage) error {
	var err error
	if m.Page, _, err = s.Frame(r.Context(), a); err != nil {
		return err
	}
	own, err := s.Store.Account(r.Context(), a)
	if err != nil {
		return err
	}
	if m.Factor, m.Now = own.Factor, own.Email; m.Email == "" {
		m.Email = own.Email
	}
	s.Draw(w, r, status, m.View())
	return nil
}

type passwordForm struct {
	Email    string `schema:"email"` // for the browser's store of passwords alone
	Password string `schema:"password"`
	Again    string `schema:"again"`
}

// PasswordPost changes the own password.
func (s Pages) PasswordPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	if ok, err := s.proven(w, r, "/account/password"); !ok {
		return err
	}
	var f passwordForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	var err error
	if f.Again != f.Password {
		err = club.Problems{"again": "These are not the same letters as above. Type the new password once more."}.Err()
	} else {
		err = s.Store.ChangePassword(r.Context(), a, s.Token(r), f.Password)
	}
	return s.changed(w, r, a, ChangePage{What: changePassword}, err)
}

type emailForm struct {
	Email string `schema:"email"`
}

// EmailPost changes the own e-mail address.
func (s Pages) EmailPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	if ok, err := s.proven(w, r, "/account/email"); !ok {
		return err
	}
	var f emailForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	err := s.Store.ChangeEmail(r.Context(), a, f.Email)
	return s.changed(w, r, a, ChangePage{What: changeEmail, Email: strings.TrimSpace(f.Email)}, err)
}

// changed leads back to the account, or shows a refused form again.
func (s Pages) changed(w http.ResponseWriter, r *http.Request, a game.Actor, m ChangePage, err error) error {
	if m.Errors, err = site.Problems(err); err != nil {
		return err
	}
	if m.Errors != nil {
		return s.change(w, r, a, http.StatusUnprocessableEntity, m)
	}
	http.Redirect(w, r, "/account", http.StatusSeeOther)
	return nil
}

// The two things that have a page of their own to be changed on.
const (
	changePassword = "password"
	changeEmail    = "email"
)

// AccountPage is /account.
type AccountPage struct {
	view.Page
	Email    string
	Refused  string // "22 November": since when no mail goes there; empty: mail arrives
	Factor   bool
	Codes    int
	Sessions []SessionLine
	Sends    bool           // mail can be sent
	Reminder *store.Address // of the mail on Monday; nil: it was not asked for
}

// SessionLine is one session of the list.
type SessionLine struct {
	ID, Browser, Made, Seen string
	This                    bool
}

// AgainPage is /account/again.
type AgainPage struct {
	view.Page
	Email, To, Error string
	Factor           bool
}

// ChangePage is /account/password and /account/email.
type ChangePage struct {
	view.Page
	What   string
	Email  string // as typed
	Now    string // the address as it is
	Factor bool
	Errors view.Errors
}
