package coach

import (
	"net/http"
	"strings"

	"drover/game"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
)

// Factor is the page on which a second factor is set up, or turned off.
func (s Pages) Factor(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	return s.factor(w, r, a, http.StatusOK, nil)
}

func (s Pages) factor(w http.ResponseWriter, r *http.Request, a game.Actor, status int, marked view.Errors) error {
	if ok, err := s.proven(w, r, "/account/factor"); !ok {
		return err
	}
	page, c, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	own, err := s.Store.Account(r.Context(), a)
	if err != nil {
		return err
	}
	m := FactorPage{Page: page, On: own.Factor, Short: own.Short, Codes: own.Codes, First: site.FirstPage(a.Role), Errors: marked}
	m.Told = nil // the page itself says it
	if own.Needs() && !own.Factor {
		m.Until = view.Day(c.Local(own.Until()))
		m.Due = !s.Now().Before(own.Until())
	}
	if !m.On {
		f, err := s.Store.BeginFactor(r.Context(), a, s.Token(r))
		if err != nil {
			return err
		}
		if m.QR, err = site.Pattern(f.URL); err != nil {
			return err
		}
		m.Secret = inFours(f.Secret)
	}
	s.Draw(w, r, status, m.View())
	return nil
}

// inFours parts a secret into groups of four letters, to be typed.
func inFours(secret string) string {
	var parts []string
	for len(secret) > 4 {
		parts, secret = append(parts, secret[:4]), secret[4:]
	}
	return strings.Join(append(parts, secret), " ")
}

type factorForm struct {
	Code string `schema:"code"`
}

// FactorPost turns the second factor on with a first code.
func (s Pages) FactorPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	if ok, err := s.proven(w, r, "/account/factor"); !ok {
		return err
	}
	var f factorForm
	if err := s.Form(r, &f); err != nil {
		return err
	}
	err := s.Store.ConfirmFactor(r.Context(), a, s.Token(r), f.Code)
	if game.KindOf(err) == game.Missing { // it was turned on before, or its page is too old
		http.Redirect(w, r, "/account/factor", http.StatusSeeOther)
		return nil
	}
	marked, err := site.Problems(err)
	if err != nil {
		return err
	}
	if marked != nil {
		return s.factor(w, r, a, http.StatusUnprocessableEntity, marked)
	}
	http.Redirect(w, r, "/account/codes", http.StatusSeeOther)
	return nil
}

// FactorOff turns the second factor off.
func (s Pages) FactorOff(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	if ok, err := s.proven(w, r, "/account/factor"); !ok {
		return err
	}
	err := s.Store.DropFactor(r.Context(), a)
	if game.KindOf(err) == game.Conflict { // the page says so, and leads to a longer password
		http.Redirect(w, r, "/account/factor", http.StatusSeeOther)
		return nil
	}
	if err != nil {
		return err
	}
	http.Redirect(w, r, "/account", http.StatusSeeOther)
	return nil
}

// Codes shows the recovery codes to the session that has just made them, for a while.
func (s Pages) Codes(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, _, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	own, err := s.Store.Account(r.Context(), a)
	if err != nil {
		return err
	}
	m := CodesPage{Page: page, Left: own.Codes, On: own.Factor}
	err = s.Store.Shown(r.Context(), s.Token(r), store.ShownCodes, int64(a.Person), &m.Codes)
	if err != nil && game.KindOf(err) != game.Missing {
		return err
	}
	return s.Show(w, r, m.View())
}

// CodesPost makes new recovery codes.
func (s Pages) CodesPost(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	if ok, err := s.proven(w, r, "/account/codes"); !ok {
		return err
	}
	if on, err := s.Store.FactorOn(r.Context(), a); err != nil {
		return err
	} else if on {
		if err := s.Store.NewCodes(r.Context(), a, s.Token(r)); err != nil {
			return err
		}
	}
	http.Redirect(w, r, "/account/codes", http.StatusSeeOther)
	return nil
}

// FactorPage is /account/factor.
type FactorPage struct {
	view.Page
	On, Short, Due bool
	Codes          int
	Until          string // the day by which it must be on; empty: none
	Secret         string
	First          string // the first page of the person
	QR             [][]bool
	Errors         view.Errors
}

// CodesPage is /account/codes. Codes are there only for a few minutes.
type CodesPage struct {
	view.Page
	Codes []string
	Left  int
	On    bool
}
