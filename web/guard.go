package web

import (
	"errors"
	"net/http"
	"runtime/debug"
	"strings"

	"drover/game"
	"drover/store"
	"drover/web/site"
	"drover/web/view"

	"github.com/go-chi/chi/v5"
)

// maxBody is the size of the largest form that is read, maxPasted that of the largest
// form with pasted text, and maxTable that of the largest form with a file, which says
// itself what is too large a file.
const (
	maxBody   = 64 << 10
	maxPasted = 1 << 20
	maxTable  = 4 << 20
)

// recoverer turns a panic into the page for a failure; the trace goes to the
// log alone.
func (s *Server) recoverer(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			if p := recover(); p != nil {
				s.Log.Error("panic", "request", site.RequestID(r), "value", p, "trace", string(debug.Stack()))
				s.problem(w, r, errors.New("panic"))
			}
		}()
		next.ServeHTTP(w, r)
	})
}

// headers sets what every answer carries (OWASP ASVS 5.0, 3.4).
func (s *Server) headers(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		h := w.Header()
		h.Set("Content-Security-Policy", s.policy)
		h.Set("X-Content-Type-Options", "nosniff")
		h.Set("Referrer-Policy", "same-origin")
		h.Set("Cross-Origin-Opener-Policy", "same-origin")
		h.Set("Cross-Origin-Resource-Policy", "same-origin")
		h.Set("Permissions-Policy", "camera=(self), microphone=(), geolocation=()")
		h.Set("Cache-Control", "no-store")
		if s.hsts != "" {
			h.Set("Strict-Transport-Security", s.hsts)
		}
		next.ServeHTTP(w, r)
	})
}

func limitBody(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		limit := int64(maxBody)
		if r.URL.Path == "/drills" { // pasted positions, which come back to their field where they are too many
			limit = maxPasted
		}
		if r.URL.Path == "/students/many" {
			limit = maxTable
		}
		r.Body = http.MaxBytesReader(w, r.Body, limit)
		next.ServeHTTP(w, r)
	})
}

// guarded lets a route's own roles pass.
func (s *Server) guarded(rt route) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		a, err := s.actor(r)
		switch {
		case err != nil && game.KindOf(err) != game.Missing:
		case len(rt.who.roles) == 0:
			err = rt.handle(w, r, a)
		case err != nil && r.Method == http.MethodGet && rt.path != "/live/games/{id}":
			http.Redirect(w, r, site.SignInFor(r.URL.Path), http.StatusSeeOther)
			return
		case err != nil && r.Method == http.MethodPost:
			err = s.public.SignedOut(w, r)
		case err != nil:
			err = errSignedOut
		case !rt.who.has(a.Role) && rt.path != "/live/games/{id}":
			err = s.otherRole(w, r, a)
		case !rt.who.has(a.Role):
			err = site.Missing()
		default:
			err = s.admitted(w, r, a, rt)
		}
		if err != nil {
			s.problem(w, r, err)
		}
	})
}

// scoped is missing where a coach who stands in asks for a student of another group, or for
// a page of the whole club. An officer reads a game only with a noted reason.
func (s *Server) scoped(r *http.Request, rt route, a game.Actor) error {
	switch {
	case a.Role == game.Welfare && rt.path == "/games/{id}":
		id, err := site.ID[game.GameID](r, "id")
		if err != nil {
			return err
		}
		return s.Store.ReasonForGame(r.Context(), a, id)
	case a.Role != game.Coach:
		return nil
	}
	if !rt.who.standsIn {
		is, err := s.Store.Substitute(r.Context(), a)
		if err == nil && is {
			err = site.Missing()
		}
		return err
	}
	switch {
	case strings.HasPrefix(rt.path, "/students/{id}"):
		id, err := site.ID[game.PersonID](r, "id")
		if err != nil {
			return err
		}
		return s.Store.InScope(r.Context(), a, id)
	case strings.HasSuffix(strings.TrimSuffix(rt.path, ".pgn"), "games/{id}") || rt.path == "/watch/{id}":
		id, err := site.ID[game.GameID](r, "id")
		if err != nil {
			return err
		}
		return s.Store.GameInScope(r.Context(), a, id)
	}
	return nil
}

// admitted answers somebody of the right role; whoever should have a second factor by now
// sets it up first.
func (s *Server) admitted(w http.ResponseWriter, r *http.Request, a game.Actor, rt route) error {
	signIn := strings.HasPrefix(rt.path, "/account") && !strings.HasPrefix(rt.path, "/account/calendar") && rt.path != "/account/mail"
	if (a.Role == game.Coach || a.Role == game.Welfare) && !signIn {
		due, err := s.Store.FactorDue(r.Context(), a)
		switch {
		case err != nil:
			return err
		case due && rt.path == "/live/games/{id}":
			return game.Fail(game.Denied, "Set up your second factor first.")
		case due:
			http.Redirect(w, r, "/account/factor", http.StatusSeeOther)
			return nil
		}
	}
	if err := s.scoped(r, rt, a); err != nil {
		return err
	}
	if r.Method == http.MethodGet && r.URL.Query().Has("typed") {
		return s.refilled(w, r, a, rt)
	}
	err := rt.handle(w, r, a)
	if errors.Is(err, store.ErrRests) { // a page that was open before has its buttons still
		http.Redirect(w, r, "/today", http.StatusSeeOther)
		return nil
	}
	return err
}

var errSignedOut = game.Fail(game.Denied, "You are signed out. Sign in again, then try once more.")

// actor is who the session says; an error of kind Missing means nobody.
func (s *Server) actor(r *http.Request) (game.Actor, error) {
	token := s.Token(r)
	if token == "" {
		return game.Actor{}, site.Missing()
	}
	return s.Store.Session(r.Context(), token)
}

// problem is the one place that answers a failure: its kind becomes a status,
// its sentence a page, its cause a line of the log.
func (s *Server) problem(w http.ResponseWriter, r *http.Request, err error) {
	kind := game.KindOf(err)
	status, ok := site.Statuses[kind]
	if !ok {
		status = http.StatusInternalServerError
	}
	var tooBig *http.MaxBytesError
	if errors.As(err, &tooBig) {
		status = http.StatusRequestEntityTooLarge
	}
	if (kind == game.Internal || kind == game.Away) && r.Context().Err() == nil { // else nobody waits for it any more
		s.Log.Error("request failed", "request", site.RequestID(r), "method", r.Method, "route",
			chi.RouteContext(r.Context()).RoutePattern(), "err", err)
	}
	page := view.ProblemPage{Status: status, Say: game.Saying(err), RequestID: site.RequestID(r)}
	switch {
	case kind == game.Missing:
		page.Do = "Go back, or start from the first page."
	case kind == game.Internal:
		page.Do = "If it happens again, tell the person who runs this site."
	}
	s.Draw(w, r, status, page.View())
}
