package web

import (
	"fmt"
	"net"
	"net/http"
	"net/netip"
	"net/url"
	"slices"
	"strings"

	"drover/game"
	"drover/web/site"
	"drover/web/view"
)

// Address reads the address that people use, such as https://drover.club.example.
// Capital letters and the scheme's own port go, since a browser leaves them out of
// the Origin header too.
func Address(raw string) (*url.URL, error) {
	u, err := url.Parse(strings.TrimSpace(raw))
	if err != nil || u.Hostname() == "" || (u.Scheme != "http" && u.Scheme != "https") ||
		strings.Trim(u.Path, "/") != "" || u.RawQuery != "" || u.ForceQuery || u.Fragment != "" || u.User != nil {
		return nil, fmt.Errorf("DROVER_URL must be an address such as https://drover.club.example, "+
			"without a path, a question mark, a name or a password, not %q", raw)
	}
	return &url.URL{Scheme: u.Scheme, Host: plainHost(u.Scheme, u.Host)}, nil
}

// plainHost is a host as browsers write it.
func plainHost(scheme, host string) string {
	host = strings.ToLower(host)
	own := map[string]string{"http": ":80", "https": ":443"}[scheme]
	return strings.TrimSuffix(strings.TrimSuffix(host, own), ":")
}

// policyFor forbids everything that is not ours, and everything inline. Older WebKit
// does not count a socket of the page's own host as 'self', so the host is named.
func policyFor(base *url.URL) string {
	socket := strings.Replace(base.Scheme, "http", "ws", 1) + "://" + base.Host
	return "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self' " + socket +
		"; manifest-src 'self'; base-uri 'none'; form-action 'self'; frame-ancestors 'none'"
}

// Networks reads the networks of the reverse proxies.
func Networks(names []string) ([]netip.Prefix, error) {
	var all []netip.Prefix
	for _, name := range names {
		p, err := netip.ParsePrefix(name)
		if err != nil {
			return nil, fmt.Errorf("DROVER_PROXIES must be networks such as 127.0.0.1/32, not %q", name)
		}
		all = append(all, p)
	}
	return all, nil
}

// proxied says whether a request comes from a reverse proxy whose word is taken.
func (s *Server) proxied(r *http.Request) bool {
	from, err := netip.ParseAddrPort(r.RemoteAddr)
	return err == nil && slices.ContainsFunc(s.proxies, func(p netip.Prefix) bool { return p.Contains(from.Addr().Unmap()) })
}

// sameOrigin refuses forms from elsewhere: a form of ours has an Origin, and it is
// that of DROVER_URL, whatever a proxy makes of the other headers.
func (s *Server) sameOrigin(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		origin := r.Header.Get("Origin")
		if reads(r) || origin == s.Origin() || fromAnywhere(r) {
			next.ServeHTTP(w, r)
			return
		}
		why := "it came without the header Origin; a proxy in front must pass it on"
		if origin != "" {
			why = "its header Origin is another address than DROVER_URL; if people use that address, set it as DROVER_URL"
		}
		s.SayOnce(why, 0, 0, func() {
			s.Log.Warn("a form was refused: "+why, "origin", origin, "DROVER_URL", s.Origin())
		})
		s.Draw(w, r, http.StatusForbidden, view.ProblemPage{
			Status: http.StatusForbidden, RequestID: site.RequestID(r), Say: "This form was sent from somewhere other than " +
				s.Base.Host + ".",
			Do: "Open Drover there, and send the form again.", Home: s.Origin() + "/", HomeLabel: "Open " + s.Base.Host,
		}.View())
	})
}

// fromAnywhere says whether a form is the way out of a weekly mail, the one that is taken with
// any Origin and with none: a mail provider sends it on somebody's behalf (RFC 8058, 3.2). It
// looks at no cookie, only at the token of 256 bits in its own address, so whoever makes a
// browser send it must have the mail already.
func fromAnywhere(r *http.Request) bool {
	rest, is := strings.CutPrefix(r.URL.Path, "/unsubscribe/")
	return is && rest != "" && !strings.Contains(rest, "/")
}

// reads says whether a request changes nothing by its method.
func reads(r *http.Request) bool {
	return r.Method == http.MethodGet || r.Method == http.MethodHead || r.Method == http.MethodOptions
}

// moved marks an address to which a wrong one led. A request that has it and is
// still under a wrong name came through a proxy that does not pass the name on: it
// is answered, since leading on would go round for ever.
const moved = "moved"

// lead takes a reader who came by a wrong address, such as the machine's number or
// plain http, to the same page under DROVER_URL.
func (s *Server) lead(next http.Handler) http.Handler {
	return http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		s.notice(r)
		if !reads(r) || !leads(r.URL.Path) {
			next.ServeHTTP(w, r)
			return
		}
		query := r.URL.Query()
		was, here := query.Has(moved), s.here(r)
		switch {
		case here == was: // a wrong address, or a right one that still has the mark
			query.Del(moved)
			if !here {
				query.Set(moved, "1")
			}
			to := url.URL{Scheme: s.Base.Scheme, Host: s.Base.Host, Path: r.URL.Path, RawPath: r.URL.RawPath,
				RawQuery: query.Encode()}
			http.Redirect(w, r, to.String(), http.StatusTemporaryRedirect)
			return
		case !here:
			s.SayOnce("wrong name", 0, 0, func() {
				s.Log.Warn("requests arrive under another name than DROVER_URL: a proxy in front must pass on the headers Host and X-Forwarded-Proto",
					"host", r.Host, "X-Forwarded-Proto", r.Header.Get("X-Forwarded-Proto"), "DROVER_URL", s.Origin())
			})
		}
		next.ServeHTTP(w, r)
	})
}

// leads says whether a path is a page: probes of the machine itself and files are
// answered under any name.
func leads(path string) bool {
	return path != "/healthz" && path != "/readyz" && path != "/here" &&
		!strings.HasPrefix(path, "/static/") && !strings.HasPrefix(path, "/live/")
}

// here says whether a request came by the address that people use, as far as this
// program can know.
func (s *Server) here(r *http.Request) bool {
	if plainHost(s.Base.Scheme, r.Host) != s.Base.Host {
		return false
	}
	return s.Base.Scheme != "https" || !s.proxied(r) || r.Header.Get("X-Forwarded-Proto") != "http"
}

// notice says once what a proxy in front tells of itself and the settings do not know.
func (s *Server) notice(r *http.Request) {
	from, proto := r.Header.Get("X-Forwarded-For"), r.Header.Get("X-Forwarded-Proto")
	peer, _, _ := net.SplitHostPort(r.RemoteAddr) // "" is said as it is
	if !s.proxied(r) {
		if from != "" || proto != "" {
			s.SayOnce("proxy not named", 0, 0, func() {
				s.Log.Warn("a request came through a proxy that DROVER_PROXIES does not name: all visitors count as one. "+
					"If the proxy is yours, name it", "DROVER_PROXIES", peer+"/32")
			})
		}
		return
	}
	if proto == "https" && s.Base.Scheme == "http" {
		s.SayOnce("https in front", 0, 0, func() {
			s.Log.Warn("the proxy in front serves https and DROVER_URL is http: sign-in and the board will not work",
				"DROVER_URL", "https://"+r.Host)
		})
	}
}

// hereNow says whose session this is, to a page that the browser kept in its memory
// and is about to show again.
func (s *Server) hereNow(w http.ResponseWriter, _ *http.Request, a game.Actor) error {
	who := "nobody"
	if a.Person != 0 {
		who = site.Mark(a)
	}
	w.Header().Set("Content-Type", "text/plain; charset=utf-8")
	if _, err := w.Write([]byte(who)); err != nil { //nolint:gosec // plain text of a role and a number
		return fmt.Errorf("say who is here: %w", err)
	}
	return nil
}
