package main

import (
	"context"
	"os"
	"os/signal"
	"syscall"
	"testing"

	"drover/store/storetest"
)

// TestMain runs the tests, or, where a test has started this binary as a
// server, the program itself: so that kill -9 hits a real process.
func TestMain(m *testing.M) {
	if os.Getenv("DROVER_TEST_RUN") == "" {
		code := m.Run()
		stopBrowser()
		os.Exit(storetest.Leaks(code))
	}
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, os.Args[1:], streams{os.Stdin, os.Stdout, os.Stderr})
	stop()
	os.Exit(code)
}
