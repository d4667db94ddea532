package web

import (
	"context"
	"errors"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/web/view"
)

// home leads everybody to their first page.
func (s *Server) home(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	http.Redirect(w, r, firstPage(a.Role), http.StatusSeeOther)
	return nil
}

func (s *Server) signIn(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	return s.show(w, r, view.SignInPage{}.View())
}

type cardForm struct {
	Number string `schema:"number"`
	W1     string `schema:"w1"`
	W2     string `schema:"w2"`
	W3     string `schema:"w3"`
	W4     string `schema:"w4"`
}

// signInCard takes a card's number and words. Whether or not there is such a
// number, the answer is the same and takes as long.
func (s *Server) signInCard(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	var f cardForm
	if err := s.form(r, &f); err != nil {
		return err
	}
	words := [4]string{f.W1, f.W2, f.W3, f.W4}
	a, err := s.attempt(r, byCard, f.Number, func(ctx context.Context, q *game.Queue) (game.Actor, error) {
		return s.store.OpenPhrase(ctx, q, f.Number, words)
	})
	err = s.turnedAway(r, byCard, f.Number, err)
	if say, status, refused := refusal(err); refused {
		s.draw(w, r, status, view.SignInPage{Number: f.Number, Words: words, Error: say}.View())
		return nil
	}
	if err != nil {
		return err
	}
	return s.enter(w, r, a)
}

// refusal is the sentence and status of a sign-in that is answered in its own
// page; refused is false for success and for failures of ours.
func refusal(err error) (say string, status int, refused bool) {
	switch game.KindOf(err) {
	case game.Denied, game.Busy, game.Gone:
		return game.Saying(err), statuses[game.KindOf(err)], true
	default:
		return "", 0, false
	}
}

func (s *Server) coachSignIn(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	return s.show(w, r, view.CoachSignInPage{}.View())
}

type passwordForm struct {
	Email    string `schema:"email"`
	Password string `schema:"password"`
}

func (s *Server) coachSignInPost(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	var f passwordForm
	if err := s.form(r, &f); err != nil {
		return err
	}
	a, err := s.coachIn(r, f.Email, f.Password)
	err = s.turnedAway(r, byCoach, f.Email, err)
	if say, status, refused := refusal(err); refused {
		s.draw(w, r, status, view.CoachSignInPage{Email: f.Email, Error: say}.View())
		return nil
	}
	if err != nil {
		return err
	}
	return s.enter(w, r, a)
}

// coachIn finds a coach by address and password.
func (s *Server) coachIn(r *http.Request, email, password string) (game.Actor, error) {
	return s.attempt(r, byCoach, email, func(ctx context.Context, q *game.Queue) (game.Actor, error) {
		return s.store.OpenPassword(ctx, q, email, password)
	})
}

// open is where a card's pattern or a private link arrives; the secret stands
// behind the # and never reaches a log.
func (s *Server) open(w http.ResponseWriter, r *http.Request, in game.Actor) error {
	return s.show(w, r, view.OpenPage{In: in.Name}.View())
}

type tokenForm struct {
	Token string `schema:"token"`
	Go    string `schema:"go"` // on: sign out whoever is signed in
}

// openPost signs in with a card's pattern or a private link. It replaces nobody's
// session without being asked to.
func (s *Server) openPost(w http.ResponseWriter, r *http.Request, in game.Actor) error {
	var f tokenForm
	if err := s.form(r, &f); err != nil {
		return err
	}
	if in.Person != 0 && f.Go == "" {
		s.draw(w, r, http.StatusConflict, view.OpenPage{In: in.Name, Token: f.Token}.View())
		return nil
	}
	a, err := s.store.Open(r.Context(), club.Secret(f.Token)) // 256 bits need no throttle
	err = s.turnedAway(r, byLink, f.Token, err)
	if game.KindOf(err) == game.Gone {
		s.draw(w, r, http.StatusGone, view.OpenPage{Expired: true}.View())
		return nil
	}
	if err != nil {
		return err
	}
	return s.enter(w, r, a)
}

func (s *Server) setup(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	return s.show(w, r, view.SetupPage{}.View())
}

type setupForm struct {
	Token    string `schema:"token"`
	Club     string `schema:"club"`
	Name     string `schema:"name"`
	Email    string `schema:"email"`
	Password string `schema:"password"`
	Welfare  string `schema:"welfare"`
	Contact  string `schema:"contact"`
	Zone     string `schema:"zone"`
}

// setupPost makes the club and its first coach; the link works once. Whoever
// sends the same page twice is the coach who was just made, which the address
// and the password on the page prove.
func (s *Server) setupPost(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	var f setupForm
	if err := s.form(r, &f); err != nil {
		return err
	}
	a, err := s.store.CreateClub(r.Context(), club.Secret(f.Token), club.NewClub{
		Club: f.Club, Name: f.Name, Email: f.Email, Password: f.Password, Welfare: f.Welfare, Contact: f.Contact,
		Zone: f.Zone,
	})
	page := view.SetupPage{Token: f.Token, Club: f.Club, Name: f.Name, Email: f.Email, Welfare: f.Welfare,
		Contact: f.Contact}
	if game.KindOf(err) == game.Gone {
		a, err = s.coachIn(r, strings.TrimSpace(f.Email), f.Password)
		err = s.turnedAway(r, byCoach, f.Email, err)
	}
	if _, status, refused := refusal(err); refused {
		if page.Spent = true; status == http.StatusForbidden {
			status = http.StatusGone
		}
		s.draw(w, r, status, page.View())
		return nil
	}
	if page.Errors, err = problems(err); err != nil {
		return err
	}
	if page.Errors != nil {
		s.draw(w, r, http.StatusUnprocessableEntity, page.View())
		return nil
	}
	return s.enter(w, r, a)
}

func (s *Server) signOut(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	if err := s.store.SignOut(r.Context(), s.token(r)); err != nil {
		return err
	}
	w.Header().Set("Clear-Site-Data", `"cache"`) // no page of theirs stays in the browser's store
	http.SetCookie(w, &http.Cookie{Name: s.cookie(), Path: "/", MaxAge: -1, Secure: s.secure, HttpOnly: true,
		SameSite: http.SameSiteLaxMode})
	http.Redirect(w, r, "/in", http.StatusSeeOther)
	return nil
}

// health says that the process answers.
func (s *Server) health(w http.ResponseWriter, _ *http.Request, _ game.Actor) error {
	_, err := w.Write([]byte("ok\n"))
	return err
}

// readyWithin is how soon the question whether this node is ready is answered.
const readyWithin = 900 * time.Millisecond

// ready says whether this node should get requests, and if not why, in one word;
// the log has the cause.
func (s *Server) ready(w http.ResponseWriter, r *http.Request, _ game.Actor) error {
	word := s.notReady(r.Context())
	if word == "" {
		word = "ready"
	} else {
		w.WriteHeader(http.StatusServiceUnavailable)
	}
	_, err := w.Write([]byte(word + "\n"))
	return err
}

func (s *Server) notReady(ctx context.Context) string {
	if s.sockets.draining() {
		return "draining"
	}
	ctx, cancel := context.WithTimeout(ctx, readyWithin)
	defer cancel()
	err := s.store.Ready(ctx)
	if err == nil {
		return ""
	}
	s.seldom("this node is not ready", "err", err)
	var why *store.NotReady
	if errors.As(err, &why) {
		return why.Word
	}
	return store.NoDatabase
}

// tell says whom a child can turn to.
func (s *Server) tell(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, c, err := s.frame(r.Context(), a)
	if err != nil {
		return err
	}
	return s.show(w, r, view.TellPage{Page: page, Welfare: c.Welfare, Contact: c.Contact, Back: cameFrom(r, a)}.View())
}

// cameFrom is the way back: for a student on a game's page to that game, for
// everybody else to the own first page.
func cameFrom(r *http.Request, a game.Actor) view.Link {
	g, err := strconv.ParseUint(r.URL.Query().Get("game"), 10, 63)
	if a.Role != game.Student || err != nil || g == 0 {
		return view.Link{Href: firstPage(a.Role), Label: "Go back"}
	}
	return view.Link{Href: fmt.Sprintf("/play/%d", g), Label: "Back to the game"}
}
