package main

import (
	"context"
	"log/slog"
	"os"
	"runtime/debug"
	"time"

	"drover/store"
	"drover/store/private"
)

// beside is an app that does one thing at the server, beside a site that runs or by itself.
func beside(std streams) (*app, error) {
	s, err := readSettings(os.Environ())
	if err != nil {
		return nil, err
	}
	log := slog.New(slog.NewTextHandler(std.err, &slog.HandlerOptions{Level: slog.LevelWarn}))
	return &app{settings: s, log: log, now: time.Now}, nil
}

// reach finds the database, whose schema it leaves as it is: the one of the settings, or the
// private one, of a site that runs or started for this. From here on the program is the data
// folder's user.
func (a *app) reach(ctx context.Context) (at private.Addresses, runs bool, err error) {
	s := a.settings
	if s.Database != "" {
		at = private.Addresses{App: s.Database, Owner: s.Migrate}
		if at.Owner == "" {
			at.Owner = at.App
		}
		return at, false, nil
	}
	if a.pg != nil {
		return private.Addresses{App: a.pg.URL(), Owner: a.pg.OwnerURL()}, false, nil
	}
	if err := private.Become(s.Data); err != nil {
		return at, false, err
	}
	if at, runs, err = private.Running(s.Data); err != nil || runs {
		return at, runs, err
	}
	if a.pg, err = private.Start(ctx, s.Data, func(s string) { a.log.Warn(s) }); err != nil {
		return at, false, err
	}
	return private.Addresses{App: a.pg.URL(), Owner: a.pg.OwnerURL()}, false, nil
}

// openAt opens the store at an address.
func (a *app) openAt(ctx context.Context, address string) (err error) {
	if a.store, err = store.Open(ctx, address, a.now); err != nil {
		return err
	}
	return a.store.Ready(ctx)
}

// version names this program: its release, and the commit that it was built of.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	name := info.Main.Version
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" {
			name += " " + s.Value[:min(12, len(s.Value))]
		}
	}
	if name == "" {
		return "unknown"
	}
	return name
}
