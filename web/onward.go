package web

import (
	"bytes"
	"fmt"
	"net/http"
	"strconv"
	"strings"

	"drover/game"
	"drover/store"
	"drover/web/site"
	"drover/web/view"

	"github.com/go-chi/chi/v5"
)

// pages are those pages of the table to which somebody who signs in may be led.
type pages struct {
	mux *chi.Mux
	who map[string]audience
}

func (s *Server) pages() pages {
	p := pages{chi.NewRouter(), map[string]audience{}}
	for _, rt := range s.routes() {
		if rt.method == http.MethodGet && len(rt.who.roles) > 0 && !strings.HasPrefix(rt.path, "/live/") {
			p.mux.Get(rt.path, func(http.ResponseWriter, *http.Request) {})
			p.who[rt.path] = rt.who
		}
	}
	return p
}

// opens says whether a path is one of these pages, with numbers where the table has
// numbers, and a page for a role. No other text passes, so that it leads nowhere else.
func (p pages) opens(path string, role game.Role) bool {
	at := chi.NewRouteContext()
	if !strings.HasPrefix(path, "/") || !p.mux.Match(at, http.MethodGet, path) {
		return false
	}
	for _, value := range at.URLParams.Values {
		if n, err := strconv.ParseInt(value, 10, 64); err != nil || n <= 0 {
			return false
		}
	}
	return p.who[at.RoutePattern()].has(role)
}

// otherRole answers a person who asks for a page of another role: who is signed in here,
// and the ways on.
func (s *Server) otherRole(w http.ResponseWriter, r *http.Request, a game.Actor) error {
	page, _, err := s.Frame(r.Context(), a)
	if err != nil {
		return err
	}
	m := view.ProblemPage{
		Page: page, Status: http.StatusForbidden, Say: "You are signed in as " + a.Name,
		Do:   "This page is for somebody else in the club.",
		Home: site.FirstPage(a.Role), HomeLabel: "Go to your first page", Out: "/", RequestID: site.RequestID(r),
	}
	if r.Method == http.MethodGet {
		m.Out = r.URL.Path
	}
	s.Draw(w, r, m.Status, m.View())
	return nil
}

// held is an answer that is changed before it is sent.
type held struct {
	http.ResponseWriter
	status int
	body   bytes.Buffer
}

// WriteHeader keeps the status.
func (h *held) WriteHeader(status int) { h.status = status }

// Write keeps a part of the page.
func (h *held) Write(b []byte) (int, error) { return h.body.Write(b) }

// refilled answers with a page in whose form stands what its person had typed before the
// session ended. Where nothing is kept the page is as it always is.
func (s *Server) refilled(w http.ResponseWriter, r *http.Request, a game.Actor, rt route) error {
	no, _ := strconv.ParseInt(r.URL.Query().Get("typed"), 10, 64) // nothing is kept under 0
	var typed site.Typed
	err := s.Store.Shown(r.Context(), s.Token(r), store.ShownDraft, no, &typed)
	if game.KindOf(err) == game.Missing {
		return rt.handle(w, r, a)
	}
	if err != nil {
		return err
	}
	page := &held{ResponseWriter: w, status: http.StatusOK}
	if err := rt.handle(page, r, a); err != nil {
		return err
	}
	body := page.body.Bytes()
	if page.status == http.StatusOK && strings.HasPrefix(w.Header().Get("Content-Type"), "text/html") {
		if body, err = typed.Refill(body); err != nil {
			return err
		}
	}
	w.WriteHeader(page.status)
	if _, err := w.Write(body); err != nil && r.Context().Err() == nil {
		return fmt.Errorf("send a page: %w", err)
	}
	return nil
}
