// Package web serves the site: the table of routes, the guards in front of them,
// the sockets, and the jobs that run beside. The pages live in a package for each
// audience (public, student, coach, guardian, and review for those who read games);
// what they share is in site, and what they draw with in view.
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
	"drover/web/certificate"
	"drover/web/coach"
	"drover/web/guardian"
	"drover/web/guide"
	"drover/web/notice"
	"drover/web/officer"
	"drover/web/public"
	"drover/web/review"
	"drover/web/site"
	"drover/web/student"

	"github.com/go-chi/chi/v5/middleware"
	"golang.org/x/net/publicsuffix"
)

// Config is what the pages need to know of where they run.
type Config struct {
	URL     string        // the address that people use, such as https://drover.club.example
	Beat    time.Duration // of silence on a socket before a beat; 0: two seconds
	Proxies []string      // networks, such as 127.0.0.1/32, of reverse proxies whose word on the client's address is taken; none by default
}

// Server is the site: what all pages share, the pages of each audience, and the
// guards and sockets in front of them.
type Server struct {
	*site.Site
	public   public.Pages
	student  student.Pages
	coach    coach.Pages
	guardian guardian.Pages
	officer  officer.Pages
	review   review.Pages
	guide    guide.Pages

	certificate certificate.Pages
	notices     notice.Pages

	client  func(http.Handler) http.Handler // finds the client's own address
	sockets *sockets
	beat    time.Duration
	hsts    string         // of an https site: to be reached by https alone
	policy  string         // what a page may load and reach
	proxies []netip.Prefix // reverse proxies whose word is taken
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
	all := site.New(base, st, hub, judge, log, now)
	server := &Server{
		Site: all, public: public.New(all), student: student.New(all), coach: coach.New(all), guardian: guardian.New(all),
		officer: officer.New(all), review: review.New(all), guide: guide.New(all), certificate: certificate.New(all),
		notices: notice.New(all), client: client, sockets: newSockets(), beat: cmp.Or(cfg.Beat, beatAfter), hsts: hsts(base),
		policy: policyFor(base), proxies: proxies,
	}
	all.Opens = server.pages().opens
	return server, nil
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

// HTTPServer makes the server for a listener, with the limits on time and size
// that a slow or hostile client meets.
func (s *Server) HTTPServer() *http.Server {
	return &http.Server{
		Handler: s.Handler(), ReadHeaderTimeout: 10 * time.Second, ReadTimeout: 30 * time.Second,
		WriteTimeout: 60 * time.Second, IdleTimeout: 2 * time.Minute, MaxHeaderBytes: 16 << 10,
		ErrorLog: slog.NewLogLogger(s.Log.Handler(), slog.LevelWarn),
	}
}
