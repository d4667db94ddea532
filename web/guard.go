package web

import (
	"context"
	"crypto/rand"
	"crypto/sha256"
	"errors"
	"net/http"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/web/view"

	"github.com/a-h/templ"
	"github.com/go-chi/chi/v5"
)

// maxBody is the size of the largest form that is read, and maxPasted that of the
// largest form with pasted text.
const (
	maxBody   = 64 << 10
	maxPasted = 1 << 20
)

type contextKey int

const requestKey contextKey = iota

// identify gives each request a short id that a person can quote and the log
// holds.
func (s *Server) identify(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		id := rand.Text()[:10]
		w.Header().Set("X-Request-Id", id)
		next.ServeHTTP(w, r.WithContext(context.WithValue(r.Context(), requestKey, id)))
	})
}

func requestID(r *http.Request) string {
	id, _ := r.Context().Value(requestKey).(string)
	return id
}

// recoverer turns a panic into the page for a failure; the trace goes to the
// log alone.
func (s *Server) recoverer(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		defer func() {
			if p := recover(); p != nil {
				s.log.Error("panic", "request", requestID(r), "value", p, "trace", string(debug.Stack()))
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
		case len(rt.who) == 0:
			err = rt.handle(w, r, a)
		case err != nil && r.Method == http.MethodGet && rt.path != "/live/games/{id}":
			http.Redirect(w, r, "/in", http.StatusSeeOther)
			return
		case err != nil:
			err = errSignedOut
		case !slices.Contains(rt.who, a.Role):
			err = missing()
		default:
			err = rt.handle(w, r, a)
		}
		if err != nil {
			s.problem(w, r, err)
		}
	})
}

var errSignedOut = game.Fail(game.Denied, "You are signed out. Sign in again, then try once more.")

func missing() error {
	return game.Fail(game.Missing, "There is nothing here. It may have been removed, or the address is mistyped.")
}

// cookie is the session cookie's name; the prefix binds it to this host, which
// plain http does not allow.
func (s *Server) cookie() string {
	if s.secure {
		return "__Host-drover"
	}
	return "drover"
}

func (s *Server) token(r *http.Request) club.Secret {
	c, err := r.Cookie(s.cookie())
	if err != nil {
		return ""
	}
	return club.Secret(c.Value)
}

// actor is who the session says; an error of kind Missing means nobody.
func (s *Server) actor(r *http.Request) (game.Actor, error) {
	token := s.token(r)
	if token == "" {
		return game.Actor{}, missing()
	}
	return s.store.Session(r.Context(), token)
}

// enter opens a session for a person and leads to their first page.
func (s *Server) enter(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	if old := s.token(r); old != "" {
		if err := s.store.SignOut(r.Context(), old); err != nil {
			return err
		}
	}
	if a.Role == game.Coach || a.Role == game.Student { // the others have nothing to type
		if err := s.remember(w, r, a); err != nil {
			return err
		}
	}
	token, life, err := s.store.SignIn(r.Context(), a)
	if err != nil {
		return err
	}
	http.SetCookie(w, &http.Cookie{
		Name: s.cookie(), Value: string(token), Path: "/", MaxAge: int(life.Seconds()),
		Secure: s.secure, HttpOnly: true, SameSite: http.SameSiteLaxMode,
	})
	http.Redirect(w, r, firstPage(a.Role), http.StatusSeeOther)
	return nil
}

// firstPage is where a role begins.
func firstPage(role game.Role) string {
	switch role {
	case game.Coach:
		return "/stages"
	case game.Student:
		return "/today"
	case game.Guardian:
		return "/report"
	case game.Welfare:
	}
	return "/in"
}

// statuses maps kinds of failure to statuses.
var statuses = map[game.Kind]int{
	game.Bad: http.StatusUnprocessableEntity, game.Denied: http.StatusForbidden, game.Missing: http.StatusNotFound,
	game.Conflict: http.StatusConflict, game.Busy: http.StatusTooManyRequests, game.Away: http.StatusServiceUnavailable,
	game.Gone: http.StatusGone,
}

// problem is the one place that answers a failure: its kind becomes a status,
// its sentence a page, its cause a line of the log.
func (s *Server) problem(w http.ResponseWriter, r *http.Request, err error) {
	kind := game.KindOf(err)
	status, ok := statuses[kind]
	if !ok {
		status = http.StatusInternalServerError
	}
	var tooBig *http.MaxBytesError
	if errors.As(err, &tooBig) {
		status = http.StatusRequestEntityTooLarge
	}
	if (kind == game.Internal || kind == game.Away) && r.Context().Err() == nil { // else nobody waits for it any more
		s.log.Error("request failed", "request", requestID(r), "method", r.Method, "route",
			chi.RouteContext(r.Context()).RoutePattern(), "err", err)
	}
	page := view.ProblemPage{Status: status, Say: game.Saying(err), RequestID: requestID(r)}
	switch {
	case errors.Is(err, errSignedOut):
		page.Home, page.HomeLabel = "/in", "Sign in"
	case kind == game.Missing:
		page.Do = "Go back, or start from the first page."
	case kind == game.Internal:
		page.Do = "If it happens again, tell the person who runs this site."
	}
	s.draw(w, r, status, page.View())
}

// draw writes a page.
func (s *Server) draw(w http.ResponseWriter, r *http.Request, status int, c templ.Component) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	if status == http.StatusTooManyRequests && w.Header().Get("Retry-After") == "" {
		w.Header().Set("Retry-After", "30")
	}
	w.WriteHeader(status)
	if err := c.Render(r.Context(), w); err != nil && r.Context().Err() == nil {
		s.log.Warn("draw a page", "request", requestID(r), "err", err)
	}
}

// show draws a page that went well.
func (s *Server) show(w http.ResponseWriter, r *http.Request, c templ.Component) error {
	s.draw(w, r, http.StatusOK, c)
	return nil
}

// frame is what every page of a signed-in person starts from.
func (s *Server) frame(ctx context.Context, a game.Actor) (view.Page, club.Club, error) {
	c, err := s.store.Club(ctx, a.Club)
	if err != nil {
		return view.Page{}, c, err
	}
	return view.Page{Who: view.Who{Role: view.Role(a.Role), Name: a.Name, Club: c.Name, Mark: mark(a)}}, c, nil
}

// form reads a posted form into a struct; a field that it does not have is
// refused.
func (s *Server) form(r *http.Request, into any) error {
	if err := r.ParseForm(); err != nil {
		return game.Wrap(game.Bad, "This form could not be read. Load the page again and fill it in once more.", err)
	}
	for _, values := range r.PostForm {
		for _, v := range values {
			if !utf8.ValidString(v) || strings.ContainsRune(v, 0) {
				return game.Fail(game.Bad,
					"This form has characters in it that cannot be kept. Load the page again and type it in once more.")
			}
		}
	}
	if err := s.decoder.Decode(into, r.PostForm); err != nil {
		return game.Wrap(game.Bad,
			"This form has something in it that does not belong there. Load the page again and fill it in once more.", err)
	}
	return nil
}

// onceForm is the field of every form that makes something: the id that its page
// gave it.
type onceForm struct {
	Once string `schema:"once"`
}

// sent says how the form that was read arrived, so that it makes a thing only
// once. What was typed belongs to the id: if the browser brings an old page
// back and another name is typed there, the form makes another thing.
func (s *Server) sent(r *http.Request) store.Sent {
	in := store.Sent{Session: s.token(r)}
	if r.PostForm.Get("once") != "" {
		digest := sha256.Sum256([]byte(r.URL.Path + "\n" + r.PostForm.Encode()))
		in.Form = digest[:]
	}
	return in
}

// problems takes the marked fields out of an error; other errors come back.
func problems(err error) (view.Errors, error) {
	var p club.Problems
	if errors.As(err, &p) {
		return view.Errors(p), nil
	}
	return nil, err
}

// id reads a number from the address.
func id[T ~int64](r *http.Request, name string) (T, error) {
	n, err := strconv.ParseInt(chi.URLParam(r, name), 10, 64)
	if err != nil || n <= 0 {
		return 0, missing()
	}
	return T(n), nil
}
