package main

import (
	"context"
	"fmt"
	"io"
	"net"
	"net/http"
	"net/url"
	"regexp"
	"strings"
	"sync/atomic"
	"time"

	"drover/deploy/measurement/load"
)

// pages measures how long the server takes for its pages, and how big they are.
func pages(ctx context.Context, w *world) error {
	if err := w.start(ctx); err != nil {
		return err
	}
	var who [3]load.Person
	for i, link := range []string{string(w.club.coaches[0]), string(w.club.student), string(w.club.guardian)} {
		var err error
		if who[i], err = w.site.SignIn(ctx, link); err != nil {
			return err //nolint:wrapcheck // it says what did not work
		}
	}
	m, err := w.spent(func() error { return w.readings(ctx, who[0], who[1], who[2]) })
	w.table.add("who worked while the pages were read", "%s", m)
	return err
}

// reading is a page with its goals.
type reading struct {
	what string
	who  load.Person
	path string
	most float64 // milliseconds; 0: no goal
	size int64   // KiB, compressed; 0: no goal
}

// readings measures page by page.
func (w *world) readings(ctx context.Context, coach, student, guardian load.Person) error {
	for _, p := range []reading{
		{"since the coach last looked", coach, "/since", 100, 100},
		{"what comes next", coach, "/next", 100, 100},
		{"stage view", coach, "/stages", 100, 200},
		{"roster", coach, "/students", 30, 0},
		{"drills page", coach, "/drills", 30, 0},
		{"drills found", coach, "/drills?ending=KRK&trains=edge", 100, 100},
		{"what is set for a group", coach, fmt.Sprintf("/set?group=%d&show=all", w.club.group), 100, 100},
		{"what is set for all", coach, "/set", 100, 100},
		{"term plan", coach, fmt.Sprintf("/plans/%d", w.club.plan), 100, 100},
		{"student's page", coach, fmt.Sprintf("/students/%d", w.club.person), 0, 0},
		{"review of a game", coach, fmt.Sprintf("/games/%d", w.club.ended), 0, 0},
		{"today", student, "/today", 0, 0},
		{"report", guardian, "/report", 0, 0},
	} {
		got, err := w.page(ctx, p.who, p.path)
		if err != nil {
			return err
		}
		met := (p.most == 0 || ms(got.took) <= p.most) && (p.size == 0 || got.small <= p.size<<10)
		w.table.judge(met, p.goal(), p.what+": answered (median of 20), processor time, bytes with gzip and plain",
			"%.1f ms, server %.1f and Postgres %.1f ms, %.1f KiB, %.1f KiB", ms(got.took), ms(got.work.node)/rounds,
			ms(got.work.postgres)/rounds, kib(got.small), kib(got.plain))
	}
	return nil
}

// goal is what a page is to reach, in words.
func (p reading) goal() string {
	var goals []string
	if p.most > 0 {
		goals = append(goals, fmt.Sprintf("%.0f ms", p.most))
	}
	if p.size > 0 {
		goals = append(goals, fmt.Sprintf("%d KiB compressed", p.size))
	}
	return strings.Join(goals, ", ")
}

// rounds is how often each page is loaded.
const rounds = 20

// loaded is what a page came to.
type loaded struct {
	took         time.Duration // median
	work         meter         // of all rounds
	small, plain int64         // bytes with gzip, and without
}

// page loads a page again and again.
func (w *world) page(ctx context.Context, who load.Person, path string) (p loaded, err error) {
	if p.plain, err = w.site.Get(ctx, who, path, false); err != nil {
		return p, err //nolint:wrapcheck // it says what did not work
	}
	var all []time.Duration
	p.work, err = w.spent(func() error {
		for range rounds {
			began := time.Now()
			if p.small, err = w.site.Get(ctx, who, path, true); err != nil {
				return err //nolint:wrapcheck // it says what did not work
			}
			all = append(all, time.Since(began))
		}
		return nil
	})
	p.took = load.Quantile(load.Sorted(all), 0.5)
	return p, err
}

// counted is a connection that counts what comes.
type counted struct {
	net.Conn
	n *atomic.Int64
}

// Read implements [net.Conn].
func (c counted) Read(p []byte) (int, error) {
	n, err := c.Conn.Read(p)
	c.n.Add(int64(n))
	return n, err
}

// named finds what a page, a style sheet or a script loads: by an attribute, by url(...), or
// by an import. A sprite's fragment is no file of its own.
var named = regexp.MustCompile(`(?:src|href)="([^"#]+)(?:#[^"]*)?"|url\(["']?([^"')]+)["']?\)|` +
	`(?:from|import)\s*["'](\.[^"']+)["']`)

// visit measures what a first visit of the board page brings over the wire, headers and all.
func visit(ctx context.Context, w *world) error {
	if err := w.start(ctx); err != nil {
		return err
	}
	student, err := w.site.SignIn(ctx, string(w.club.student))
	if err != nil {
		return err //nolint:wrapcheck // it says what did not work
	}
	var bytes atomic.Int64
	var d net.Dialer
	transport := &http.Transport{DialContext: func(ctx context.Context, network, address string) (net.Conn, error) {
		c, err := d.DialContext(ctx, network, address)
		return counted{c, &bytes}, err
	}}
	defer transport.CloseIdleConnections()
	page, err := url.Parse(fmt.Sprintf("%s/play/%d", w.site.Base, w.club.open))
	if err != nil {
		return fmt.Errorf("read our own address: %w", err)
	}
	queue, seen := []*url.URL{page}, map[string]bool{page.Path: true}
	for i := 0; i < len(queue); i++ {
		text, err := fetch(ctx, transport, queue[i], student)
		if err != nil {
			return err
		}
		for _, found := range named.FindAllStringSubmatch(text, -1) {
			to, err := queue[i].Parse(found[1] + found[2] + found[3])
			if err == nil && strings.HasPrefix(to.Path, "/static/") && !seen[to.Path] {
				seen[to.Path] = true
				queue = append(queue, to)
			}
		}
	}
	w.table.judge(bytes.Load() <= 60<<10, "60 KiB",
		"board page, a first visit with gzip: over the wire, in how many requests",
		"%.1f KiB, %d requests", kib(bytes.Load()), len(queue))
	return nil
}

// fetch gets a file as a browser does, and gives its text.
func fetch(ctx context.Context, t *http.Transport, from *url.URL, who load.Person) (string, error) {
	r, err := http.NewRequestWithContext(ctx, http.MethodGet, from.String(), http.NoBody)
	if err != nil {
		return "", fmt.Errorf("get %s: %w", from, err)
	}
	r.Header.Set("Cookie", who.Cookie())
	res, err := t.RoundTrip(r) // it asks for gzip, and unpacks what comes so
	if err != nil {
		return "", fmt.Errorf("get %s: %w", from, err)
	}
	defer res.Body.Close()
	text, err := io.ReadAll(res.Body)
	if err != nil || res.StatusCode != http.StatusOK {
		return "", fmt.Errorf("get %s: %s, %w", from, res.Status, err)
	}
	return string(text), nil
}
