package main

import (
	"context"
	"fmt"
	"log/slog"
	"net"
	"os"
	"time"

	"drover/solver"
)

type demoCommand struct{}

// Run serves a fictional club from a folder that is removed at the end. It
// reads no settings, so it cannot touch a Postgres that is already there.
func (demoCommand) Run(ctx context.Context, std streams) error {
	dir, err := os.MkdirTemp("", "drover-demo-")
	if err != nil {
		return fmt.Errorf("make a folder for the demo: %w", err)
	}
	defer os.RemoveAll(dir) // root has given it to the user that it became
	a := &app{
		settings: settings{Data: dir, Tables: solver.DefaultLimit}, now: time.Now,
		log: slog.New(slog.NewTextHandler(std.err, &slog.HandlerOptions{Level: slog.LevelWarn})),
	}
	if a.listener, err = freePort(ctx); err != nil {
		return err
	}
	a.settings.URL = "http://" + a.listener.Addr().String()
	fmt.Fprintln(std.out, "Starting a private database ...")
	return a.serve(ctx, func(ctx context.Context) error { return a.seed(ctx, std) })
}

// freePort listens on this machine alone: on 8080, or, where that is taken,
// on any free port.
func freePort(ctx context.Context) (net.Listener, error) {
	var lc net.ListenConfig
	l, err := lc.Listen(ctx, "tcp", "127.0.0.1:8080")
	if err == nil {
		return l, nil
	}
	if l, err = lc.Listen(ctx, "tcp", "127.0.0.1:0"); err != nil {
		return nil, fmt.Errorf("find a free port: %w", err)
	}
	return l, nil
}

// seed makes the fictional club and prints the way in.
func (a *app) seed(ctx context.Context, std streams) error {
	began := time.Now()
	links, games, err := makeClub(ctx, a, func(done, all int) {
		fmt.Fprintf(std.out, "\rPlaying the club's last weeks: %d of %d games ", done, all)
	})
	if err != nil {
		return fmt.Errorf("make the demo's club: %w", err)
	}
	fmt.Fprintf(std.out, "\rPlayed the club's last weeks: %d games in %.1f s.       \n", games,
		time.Since(began).Seconds())
	fmt.Fprintf(std.out, "\nDrover runs at %s\n"+
		"Open one of these in a browser (another browser, or a private window, for each person):\n\n", a.settings.URL)
	for _, l := range links {
		fmt.Fprintf(std.out, "  %-28s %s/open#%s\n", l.who, a.settings.URL, l.token)
	}
	fmt.Fprintln(std.out, "\nEverybody in it is invented. Ctrl-C stops the demo and removes it.")
	return nil
}
