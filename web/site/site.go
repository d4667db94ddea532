// Package site is what the pages of all audiences share: reading a form, drawing a
// page, who is signed in, and the words for a day, a game and a stage.
package site

import (
	"context"
	"crypto/rand"
	"log/slog"
	"net/http"
	"net/url"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/live"
	"drover/store"
	"drover/web/view"

	"github.com/a-h/templ"
	"github.com/gorilla/schema"
)

// Site is what every handler needs.
type Site struct {
	Store  *store.Store
	Hub    *live.Hub
	Judge  *ending.Judge
	Log    *slog.Logger
	Now    game.Clock
	Base   *url.URL // the address that people use
	Secure bool     // https: secure cookies with the host prefix

	// Opens says whether a path is a page of ours that a role may open.
	Opens func(path string, role game.Role) bool

	decoder *schema.Decoder
	said    said
}

// New makes the site of an address.
func New(base *url.URL, st *store.Store, hub *live.Hub, judge *ending.Judge, log *slog.Logger, now game.Clock) *Site {
	d := schema.NewDecoder()
	d.IgnoreUnknownKeys(false)
	return &Site{Store: st, Hub: hub, Judge: judge, Log: log, Now: now, Base: base, Secure: base.Scheme == "https",
		decoder: d}
}

type contextKey int

const requestKey contextKey = iota

// Identify gives each request a short id that a person can quote and the log
// holds.
func (s *Site) Identify(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		id := rand.Text()[:10]
		w.Header().Set("X-Request-Id", id)
		next.ServeHTTP(w, r.WithContext(context.WithValue(r.Context(), requestKey, id)))
	})
}

// RequestID is the id that Identify gave a request.
func RequestID(r *http.Request) string {
	id, _ := r.Context().Value(requestKey).(string)
	return id
}

// Missing is the failure of an address behind which there is nothing for this person.
func Missing() error {
	return game.Fail(game.Missing, "There is nothing here. It may have been removed, or the address is mistyped.")
}

// Statuses maps kinds of failure to statuses.
var Statuses = map[game.Kind]int{
	game.Bad: http.StatusUnprocessableEntity, game.Denied: http.StatusForbidden, game.Missing: http.StatusNotFound,
	game.Conflict: http.StatusConflict, game.Busy: http.StatusTooManyRequests, game.Away: http.StatusServiceUnavailable,
	game.Gone: http.StatusGone,
}

// Draw writes a page.
func (s *Site) Draw(w http.ResponseWriter, r *http.Request, status int, c templ.Component) {
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	if status == http.StatusTooManyRequests && w.Header().Get("Retry-After") == "" {
		w.Header().Set("Retry-After", "30")
	}
	w.WriteHeader(status)
	if err := c.Render(r.Context(), w); err != nil && r.Context().Err() == nil {
		s.Log.Warn("draw a page", "request", RequestID(r), "err", err)
	}
}

// Show draws a page that went well.
func (s *Site) Show(w http.ResponseWriter, r *http.Request, c templ.Component) error {
	s.Draw(w, r, http.StatusOK, c)
	return nil
}

// Frame is what every page of a signed-in person starts from.
func (s *Site) Frame(ctx context.Context, a game.Actor) (view.Page, club.Club, error) {
	c, err := s.Store.Club(ctx, a.Club)
	if err != nil {
		return view.Page{}, c, err
	}
	page := view.Page{Who: view.Who{Role: view.Role(a.Role), Name: a.Name, Club: c.Name, Mark: Mark(a)}}
	if a.Role == game.Coach || a.Role == game.Welfare {
		own, err := s.Store.Account(ctx, a)
		if err != nil {
			return page, c, err
		}
		page.Who.Stands = own.Stands
		page.Told, err = s.told(ctx, a, c, own)
		return page, c, err
	}
	if a.Role == game.Student {
		own, err := s.Store.Own(ctx, a)
		if err != nil {
			return page, c, err
		}
		page.Own = view.Own{Scheme: string(own.Scheme), Big: own.Big, Turned: own.Turned, Sounds: own.Sounds}
	}
	return page, c, nil
}

// StudentFrame is Frame for a page of the student whom the address names, with the file.
func (s *Site) StudentFrame(r *http.Request, a game.Actor) (page view.Page, c club.Club, f store.StudentFile, err error) {
	student, err := ID[game.PersonID](r, "id")
	if err != nil {
		return page, c, f, err
	}
	if page, c, err = s.Frame(r.Context(), a); err != nil {
		return page, c, f, err
	}
	f, err = s.Store.StudentFile(r.Context(), a.Club, student)
	return page, c, f, err
}

// JoinLink is the link to join that the session has made a short while ago; empty: none.
func (s *Site) JoinLink(r *http.Request, a game.Actor, kind store.ShownKind) (string, error) {
	var token club.Secret
	err := s.Store.Shown(r.Context(), s.Token(r), kind, int64(a.Person), &token)
	if game.KindOf(err) == game.Missing {
		return "", nil
	}
	return s.Link("/join#" + string(token)), err
}

// Origin is the address as a browser names it in the Origin header.
func (s *Site) Origin() string { return s.Base.Scheme + "://" + s.Base.Host }

// Link makes an address of this site for print, mail or a pattern.
func (s *Site) Link(path string) string { return s.Origin() + path }
