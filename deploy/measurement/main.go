// Command measurement measures how fast Drover is with a big club. It fills a Postgres
// of its own, starts the real server on it as a process of its own, and drives that over
// sign-ins and sockets.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"slices"
	"strings"
	"syscall"
	"time"
)

// options are what the command line says.
type options struct {
	drover   string // the program
	students int
	acts     int
	games    int // under way at once, where the wait for an acknowledgement is measured
	seconds  int // of that
	sockets  int
}

// part is a thing that is measured.
type part struct {
	name string
	what string
	run  func(context.Context, *world) error
}

// parts are all of them, in the order in which they run. Each starts a server of its own.
var parts = []part{
	{"moves", "the server's work for a move", moves},
	{"rate", "moves per second beside pgbench", rate},
	{"acks", "how long an acknowledgement takes", acks},
	{"stage", "the stage view and other pages", pages},
	{"sockets", "memory of idle sockets", sockets},
	{"visit", "what the board page loads", visit},
	{"browser", "the board page in Chromium", inBrowser},
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	err := run(ctx, os.Args[1:], os.Stdout)
	stop()
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// run reads the command line and measures what it names.
func run(ctx context.Context, args []string, out io.Writer) error {
	var o options
	flags := flag.NewFlagSet("deploy/measure", flag.ContinueOnError)
	flags.StringVar(&o.drover, "drover", "bin/drover", "the program to measure")
	flags.IntVar(&o.students, "students", 500, "students of the big club")
	flags.IntVar(&o.acts, "acts", 1_000_000, "acts that they have done in a year")
	flags.IntVar(&o.games, "games", 1000, "games under way at once in the part acks")
	flags.IntVar(&o.seconds, "seconds", 60, "how long each half of the part acks takes")
	flags.IntVar(&o.sockets, "sockets", 10_000, "idle sockets")
	flags.Usage = func() {
		fmt.Fprintln(flags.Output(), "deploy/measure [flags] [parts]; the parts are:")
		for _, p := range parts {
			fmt.Fprintf(flags.Output(), "  %-8s %s\n", p.name, p.what)
		}
		flags.PrintDefaults()
	}
	if err := flags.Parse(args); errors.Is(err, flag.ErrHelp) {
		return nil
	} else if err != nil {
		return fmt.Errorf("these arguments cannot be read: %w", err)
	}
	if o.students < 2 || o.acts < o.students || o.games < 1 || o.seconds < 1 || o.sockets < 1 {
		return errors.New("each number must be at least 1, and there must be two students who have done something")
	}
	if longest := length / 2 * int(every.Seconds()); o.seconds > longest {
		return fmt.Errorf("a game has not moves enough for %d seconds twice; ask for at most %d", o.seconds, longest)
	}
	chosen, err := choose(flags.Args())
	if err != nil {
		return err
	}
	return measure(ctx, o, chosen, out)
}

// choose finds the parts that are named; all of them if none is.
func choose(names []string) ([]part, error) {
	if len(names) == 0 {
		return parts, nil
	}
	var chosen []part
	for _, name := range names {
		i := slices.IndexFunc(parts, func(p part) bool { return p.name == name })
		if i < 0 {
			var known []string
			for _, p := range parts {
				known = append(known, p.name)
			}
			return nil, fmt.Errorf("%q is not one of the parts: %s", name, strings.Join(known, ", "))
		}
		chosen = append(chosen, parts[i])
	}
	return chosen, nil
}

// measure makes the world, runs the parts in it, compares the ledger with the database
// and prints the table, also where a part failed.
func measure(ctx context.Context, o options, chosen []part, out io.Writer) (err error) {
	w, err := newWorld(ctx, o, out)
	if err != nil {
		return err
	}
	defer w.close()
	defer w.table.print(out)
	for _, p := range chosen {
		began := time.Now()
		if err := w.measured(ctx, p); err != nil {
			return fmt.Errorf("%s: %w", p.name, err)
		}
		w.say("%s: done in %.0f s", p.name, time.Since(began).Seconds())
	}
	return w.balance(ctx)
}
