// Package web serves the pages and the sockets: routes, sessions, forms, and
// the checks in front of them. Data comes from packages store and live, and
// package view draws the pages.
package web

import (
	"cmp"
	"context"
	"log/slog"
	"net/http"
	"net/netip"
	"net/url"
	"strings"
	"time"

	"drover/game"
	"drover/game/ending"
	"drover/game/live"
	"drover/store"

	"github.com/go-chi/chi/v5/middleware"
	"github.com/gorilla/schema"
	"golang.org/x/net/publicsuffix"
)

// Config is what the pages need to know of where they run.
type Config struct {
	URL     string        // the address that people use, such as https://drover.club.example
	Beat    time.Duration // of silence on a socket before a beat; 0: two seconds
	Proxies []string      // networks, such as 127.0.0.1/32, of reverse proxies whose word on the client's address is taken; none by default
}

// Server holds what the handlers share.
type Server struct {
	store   *store.Store
	hub     *live.Hub
	judge   *ending.Judge
	log     *slog.Logger
	now     game.Clock
	base    *url.URL
	client  func(http.Handler) http.Handler // finds the client's own address
	secure  bool                            // https: secure cookies with the host prefix, and HSTS
	decoder *schema.Decoder
	sockets *sockets
	beat    time.Duration
	said    said
	hsts    string         // of an https site: to be reached by https alone
	policy  string         // what a page may load and reach
	proxies []netip.Prefix // reverse proxies whose word is taken

	searches *game.Queue // for starts
}

// New makes a server. The address alone decides the cookie's name, the origins
// that may post and open sockets, and every link that is printed.
func New(cfg Config, st *store.Store, hub *live.Hub, judge *ending.Judge, log *slog.Logger,
	now game.Clock) (*Server, error) {
	base, err := Address(cfg.URL)
	if err != nil {
		return nil, err
	}
	proxies, err := Networks(cfg.Proxies)
	if err != nil {
		return nil, err
	}
	client := middleware.ClientIPFromRemoteAddr
	if len(cfg.Proxies) > 0 {
		client = middleware.ClientIPFromXFF(cfg.Proxies...)
	}
	d := schema.NewDecoder()
	d.IgnoreUnknownKeys(false)
	return &Server{
		store: st, hub: hub, judge: judge, log: log, now: now, base: base, secure: base.Scheme == "https",
		decoder: d, client: client, sockets: newSockets(), beat: cmp.Or(cfg.Beat, beatAfter), hsts: hsts(base),
		policy: policyFor(base), proxies: proxies,
		searches: game.NewQueue(searchesAtOnce, searchesWaiting, searchCrowd),
	}, nil
}

// hsts binds browsers to https for a year, with the names below ours, unless ours
// is a whole domain that may have other sites below it.
func hsts(base *url.URL) string {
	if base.Scheme != "https" {
		return ""
	}
	const year = "max-age=31536000"
	if domain, err := publicsuffix.EffectiveTLDPlusOne(base.Hostname()); err == nil &&
		domain == strings.ToLower(base.Hostname()) {
		return year
	}
	return year + "; includeSubDomains"
}

// Drain closes every socket with the code for a restart, and waits until they
// are gone or the context ends. The pages reconnect on their own.
func (s *Server) Drain(ctx context.Context) { s.sockets.drain(ctx) }

// origin is the address as a browser names it in the Origin header.
func (s *Server) origin() string { return s.base.Scheme + "://" + s.base.Host }

// link makes an address of this site for print, mail or a pattern.
func (s *Server) link(path string) string { return s.origin() + path }

// HTTPServer makes the server for a listener, with the limits on time and size
// that a slow or hostile client meets.
func (s *Server) HTTPServer() *http.Server {
	return &http.Server{
		Handler: s.Handler(), ReadHeaderTimeout: 10 * time.Second, ReadTimeout: 30 * time.Second,
		WriteTimeout: 60 * time.Second, IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 16 << 10,
		ErrorLog: slog.NewLogLogger(s.log.Handler(), slog.LevelWarn),
	}
}
