package main

import (
	"context"
	"fmt"
	"syscall"
	"time"

	"drover/deploy/measurement/load"
)

// settle is how long the server is left alone before its memory is read.
const settle = 10 * time.Second

// sockets measures what an idle socket costs: the server's memory before they are opened,
// afterwards, and a minute later.
func sockets(ctx context.Context, w *world) error {
	var limit syscall.Rlimit
	if err := syscall.Getrlimit(syscall.RLIMIT_NOFILE, &limit); err != nil {
		return fmt.Errorf("look at the limit of open files: %w", err)
	}
	if int(limit.Cur) < w.sockets+200 {
		return fmt.Errorf("%d sockets need as many open files, and %d are allowed: ask for fewer with -sockets", w.sockets,
			limit.Cur)
	}
	if err := w.start(ctx); err != nil {
		return err
	}
	if err := w.signedIn(ctx, (w.sockets+perPerson-1)/perPerson); err != nil {
		return err
	}
	w.stop() // so that what signing in has left behind is not counted
	if err := w.start(ctx); err != nil {
		return err
	}
	pause(ctx, settle)
	before, err := resident(w.node.Process.Pid)
	if err != nil {
		return err
	}
	plays, err := w.seats(ctx, 0, w.sockets, perPerson)
	if err != nil {
		return err
	}
	idle := load.Rest(plays)
	defer idle.Close()
	pause(ctx, settle)
	first, err := resident(w.node.Process.Pid)
	if err != nil {
		return err
	}
	m, err := w.spent(func() error { pause(ctx, time.Minute); return ctx.Err() })
	if err != nil {
		return err
	}
	second, err := resident(w.node.Process.Pid)
	if err != nil {
		return err
	}
	if idle.Lost() > 0 {
		return fmt.Errorf("the server closed %d of %d sockets", idle.Lost(), w.sockets)
	}
	each := func(now int64) float64 { return float64(now-before) / 1000 / float64(w.sockets) }
	met := each(first) <= 30 && each(second) <= 30 && each(second) <= 1.05*each(first)
	w.table.judge(met, "30 KB, not growing",
		fmt.Sprintf("memory of each of %d idle sockets, each with a game: at once, a minute later", w.sockets),
		"%.1f KB, %.1f KB (the server had %.0f MB without them)", each(first), each(second), float64(before)/1e6)
	w.table.add("processor time that they take", "server %.1f %%, Postgres %.1f %% of one core", 100*m.node.Minutes(),
		100*m.postgres.Minutes())
	return nil
}

// pause waits, or until the context ends.
func pause(ctx context.Context, d time.Duration) {
	timer := time.NewTimer(d)
	defer timer.Stop()
	select {
	case <-timer.C:
	case <-ctx.Done():
	}
}
