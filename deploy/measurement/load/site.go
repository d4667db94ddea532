// Package load drives a running Drover as the browsers of its people do: it signs in
// with links, opens boards over sockets, plays known moves, and keeps a ledger of all
// that was acknowledged. It reads no flags and no settings, and knows nothing of how
// the server keeps its games.
package load

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"strings"
	"sync/atomic"
)

// Site is a Drover at an address.
type Site struct {
	Base   string // such as http://127.0.0.1:8080
	Ledger *Ledger

	client  *http.Client
	dialled atomic.Int64
}

// NewSite is the Drover at an address, with an empty ledger.
func NewSite(base string) *Site {
	s := &Site{Base: base, Ledger: NewLedger()}
	s.client = &http.Client{
		Transport:     &http.Transport{DialContext: s.dial, DisableCompression: true, MaxIdleConnsPerHost: 64},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}
	return s
}

// Close lets go of idle connections.
func (s *Site) Close() { s.client.CloseIdleConnections() }

// perAddress is how many connections are opened from one address of this machine: there
// are about 28,000 ports for each.
const perAddress = 20_000

// dial connects. To a server on this machine it uses ever more loopback addresses, so
// that ports do not run out.
func (s *Site) dial(ctx context.Context, network, address string) (net.Conn, error) {
	d := net.Dialer{}
	if host, _, err := net.SplitHostPort(address); err == nil && strings.HasPrefix(host, "127.") {
		n := s.dialled.Add(1) / perAddress
		d.LocalAddr = &net.TCPAddr{IP: net.IPv4(127, 0, byte(n/250), byte(1+n%250))}
	}
	return d.DialContext(ctx, network, address)
}

// Person is somebody who is signed in.
type Person struct {
	cookie string
}

// SignIn opens a card's pattern or a private link, and gives whoever is signed in then.
func (s *Site) SignIn(ctx context.Context, token string) (Person, error) {
	form := strings.NewReader(url.Values{"token": {token}}.Encode())
	r, err := http.NewRequestWithContext(ctx, http.MethodPost, s.Base+"/open", form)
	if err != nil {
		return Person{}, fmt.Errorf("sign in: %w", err)
	}
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Origin", s.Base)
	res, err := s.client.Do(r)
	if err != nil {
		return Person{}, fmt.Errorf("sign in: %w", err)
	}
	defer res.Body.Close()
	_, _ = io.Copy(io.Discard, res.Body) // so that the connection can serve again
	if res.StatusCode != http.StatusSeeOther {
		return Person{}, fmt.Errorf("sign in: the answer was %s", res.Status)
	}
	for _, c := range res.Cookies() {
		if strings.HasSuffix(c.Name, "drover") {
			return Person{cookie: c.Name + "=" + c.Value}, nil
		}
	}
	return Person{}, errors.New("sign in: the answer set no session")
}

// Cookie is the header that shows a page's server who asks.
func (p Person) Cookie() string { return p.cookie }

// Get reads a page as somebody, compressed if zipped is set and the server does so, and
// gives the number of its bytes as they came.
func (s *Site) Get(ctx context.Context, who Person, path string, zipped bool) (int64, error) {
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, s.Base+path, http.NoBody)
	if err != nil {
		return 0, fmt.Errorf("get %s: %w", path, err)
	}
	r.Header.Set("Cookie", who.cookie)
	if zipped {
		r.Header.Set("Accept-Encoding", "gzip")
	}
	res, err := s.client.Do(r)
	if err != nil {
		return 0, fmt.Errorf("get %s: %w", path, err)
	}
	defer res.Body.Close()
	n, err := io.Copy(io.Discard, res.Body)
	switch {
	case err != nil:
		return 0, fmt.Errorf("get %s: %w", path, err)
	case res.StatusCode != http.StatusOK:
		return 0, fmt.Errorf("get %s: the answer was %s", path, res.Status)
	}
	return n, nil
}
