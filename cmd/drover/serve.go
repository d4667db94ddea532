package main

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"os"
	"sync"
	"time"

	"drover/game/club"
	"drover/game/ending"
	"drover/game/live"
	"drover/solver"
	"drover/store"
	"drover/store/private"
	"drover/store/work"
	"drover/web"

	"github.com/KimMachineGun/automemlimit/memlimit"
)

// errShown is an error whose text the person has seen already.
var errShown = errors.New("shown")

type serveCommand struct{}

// Run serves the site until the context ends.
func (serveCommand) Run(ctx context.Context, std streams) error {
	s, err := readSettings(os.Environ())
	if err != nil {
		return err
	}
	log := slog.New(slog.NewTextHandler(std.err, nil))
	a := &app{settings: s, log: log, now: time.Now}
	return a.serve(ctx, func(ctx context.Context) error { return a.greet(ctx, std) })
}

// app is a running site: database, tables, server.
type app struct {
	settings settings
	log      *slog.Logger
	now      func() time.Time

	pg       *private.Server
	store    *store.Store
	crew     *work.Crew
	judge    *ending.Judge
	noted    int // how many were erased when that was last noted, and one; 0: not yet
	listener net.Listener
}

// serve opens everything, calls ready, and serves until the context ends; then
// it closes everything in the opposite order.
func (a *app) serve(ctx context.Context, ready func(context.Context) error) error {
	defer a.close()
	if err := a.open(ctx); err != nil {
		return err
	}
	hub := live.New(a.store, a.judge, a.store.Clock)
	site, err := web.New(web.Config{URL: a.settings.URL, Proxies: a.settings.Proxies}, a.store, hub, a.judge, a.log, a.now)
	if err != nil {
		return err
	}
	defer a.background(ctx, site, hub)()
	server := site.HTTPServer()
	failed := make(chan error, 1)
	go func() { failed <- server.Serve(a.listener) }()
	if err := ready(ctx); err != nil {
		return err
	}
	select {
	case err := <-failed:
		return fmt.Errorf("serve: %w", err)
	case <-ctx.Done():
	}
	return shutdown(site, server)
}

// background starts what runs beside requests. end stops it when no request is
// left: first the looks of coaches, because the hints of other nodes must still
// be heard for that.
func (a *app) background(ctx context.Context, site *web.Server, hub *live.Hub) (end func()) {
	work, stop := context.WithCancel(context.WithoutCancel(ctx))
	ended := make(chan struct{})
	go func() {
		defer close(ended)
		var both sync.WaitGroup
		both.Go(func() { site.Work(work) })
		both.Go(func() { a.noteErasures(work) })
		both.Wait()
	}()
	return func() {
		hub.Close()
		stop()
		select {
		case <-ended:
		case <-time.After(2 * time.Second): // the database hangs
		}
		bye, cancel := context.WithTimeout(context.WithoutCancel(ctx), time.Second)
		defer cancel()
		if err := a.store.Goodbye(bye); err != nil {
			a.log.Warn("this node could not say goodbye; another one notices that it is silent", "err", err)
		}
	}
}

// shutdown lets requests finish and tells open boards to come back. With what the
// background, the store and the private Postgres take, the program ends within
// twenty seconds whatever hangs.
func shutdown(site *web.Server, server *http.Server) error {
	ctx, cancel := context.WithTimeout(context.Background(), 6*time.Second)
	defer cancel()
	draining, stop := context.WithTimeout(ctx, 4*time.Second)
	defer stop()
	site.Drain(draining)
	if err := server.Shutdown(ctx); err != nil {
		return fmt.Errorf("shut down: %w", err)
	}
	return nil
}

// besideTables is the memory that the program needs beside its tables, so that a small
// machine does not make the garbage collector run all the time.
const besideTables = 192 << 20

// memory is how much memory the program may take before it collects harder: 40 % of
// the machine's or the container's, since Postgres lives there too. GOMEMLIMIT, where
// it is set, comes first.
func memory(tables int64) []memlimit.Option {
	return []memlimit.Option{memlimit.WithRatio(0.4), memlimit.WithMin(tables + besideTables),
		memlimit.WithProvider(memlimit.ApplyFallback(memlimit.FromCgroup, memlimit.FromSystem))}
}

// open takes the port first, so that a second start fails before it touches
// anything, and because only root may take a low one. Then it gives up root for
// the data folder's user, and opens the database while the tables are built.
func (a *app) open(ctx context.Context) error {
	var err error
	if a.listener == nil {
		var lc net.ListenConfig
		a.listener, err = lc.Listen(ctx, "tcp", a.settings.Listen)
	}
	if err != nil {
		return fmt.Errorf("listen on %s: %w. Stop what uses it, or choose another with DROVER_LISTEN", a.settings.Listen, err)
	}
	if a.settings.Database == "" {
		if err := private.Become(a.settings.Data); err != nil {
			return err
		}
	}
	if _, err := memlimit.Set(memory(a.settings.Tables)...); err != nil {
		a.log.Warn("the memory of this machine is not known: the program sets itself no limit", "err", err)
	}
	a.judge = ending.NewJudge(solver.NewTables(solver.Limit(a.settings.Tables)))
	tables := make(chan error, 1)
	go func() { tables <- a.judge.Ready(ctx) }()
	if err := a.openStore(ctx); err != nil {
		return err
	}
	return <-tables
}

func (a *app) openStore(ctx context.Context) error {
	owner, rows := a.settings.Migrate, a.settings.Database
	if rows == "" {
		var err error
		if a.pg, err = private.Start(ctx, a.settings.Data, func(s string) { a.log.Warn(s) }); err != nil {
			return err
		}
		owner, rows = a.pg.OwnerURL(), a.pg.URL()
	}
	if owner == "" {
		owner = rows
		a.log.Warn("the schema is migrated with DATABASE_URL itself; set DROVER_MIGRATE_URL " +
			"to keep the app's role from changing it")
	}
	if err := store.Migrate(ctx, owner); err != nil {
		return err
	}
	if owner != rows {
		if err := store.Grant(ctx, owner, rows); err != nil {
			return err
		}
	}
	if err := a.eraseAgain(ctx, owner); err != nil {
		return err
	}
	if err := a.openAt(ctx, rows); err != nil {
		return err
	}
	if err := a.unlock(); err != nil {
		return err
	}
	if a.settings.Post.On() {
		a.store.SendMail()
	}
	var err error
	a.crew, err = work.Start(ctx, rows, a.store, a.log, a.settings.Post)
	return err
}

// unlock gives the store the key that seals second factors: of the settings, or else of
// the data folder.
func (a *app) unlock() error {
	key := a.settings.Key
	if len(key) == 0 {
		var err error
		if key, err = private.Key(a.settings.Data); err != nil {
			return err
		}
	}
	vault, err := club.NewVault(key)
	if err != nil {
		return err
	}
	a.store.Unlock(vault)
	return nil
}

func (a *app) close() {
	if a.crew != nil {
		short, cancel := context.WithTimeout(context.Background(), 2*time.Second)
		if err := a.crew.Stop(short); err != nil {
			a.log.Warn("a job was cut short; it is done again", "err", err)
		}
		cancel()
	}
	if a.store != nil {
		closed := make(chan struct{})
		go func() { defer close(closed); a.store.Close() }()
		select {
		case <-closed:
		case <-time.After(2 * time.Second): // it waits for a database that hangs
		}
	}
	if a.pg != nil {
		a.pg.Stop()
	}
	if a.listener != nil {
		_ = a.listener.Close() // the server has closed it already, as a rule
	}
}

// greet prints where the site is and, before there is a club, the one-time
// link that makes one.
func (a *app) greet(ctx context.Context, std streams) error {
	fmt.Fprintf(std.out, "Drover runs at %s\n", a.settings.URL)
	token, err := a.store.NeedsSetup(ctx)
	if err != nil || token == "" {
		return err
	}
	fmt.Fprintf(std.out, "\nThere is no club yet. Make it within an hour with this link, which works once:\n%s/setup#%s\n",
		a.settings.URL, token)
	return nil
}
