// Command mutation makes small changes in Drover's code, one at a time, and counts
// how many of them the tests notice. A change is made in a copy that the go command
// reads in place of the file (-overlay), so the tree stays as it is.
package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"slices"
	"strings"
)

// unit is a package whose code is changed.
type unit struct {
	dir   string
	files []string // patterns of the files to change, also in folders below; none: all of the folder
	also  []string // packages that test this one too, asked where its own tests notice nothing
}

// units are the packages in which a change matters most.
var units = []unit{
	{dir: "solver"},
	{dir: "game/ending"},
	{dir: "game/practice", also: []string{"game/live"}},
	{dir: "game/progress"},
	{dir: "game/live"},
	{dir: "store", also: []string{"web"}},
	{dir: "web", files: []string{"guard.go", "address.go", "audit.go", "server.go", "routes.go",
		"site/attempt.go", "site/devices.go", "public/session.go", "public/sign_in.go",
		"site/form.go", "site/session.go", "site/site.go", "site/seldom.go"},
		also: []string{"web/public", "web/site"}},
}

// watched are the packages whose code the unit's tests are watched in.
func (u unit) watched() string {
	if slices.ContainsFunc(u.files, func(pattern string) bool { return strings.Contains(pattern, "/") }) {
		return "./" + u.dir + "/..."
	}
	return "./" + u.dir
}

// options are what the command line says.
type options struct {
	seed   uint64
	sample int
	at     string
	own    bool
	loud   bool
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	err := run(ctx, os.Args[1:], os.Stdout)
	stop()
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

// run reads the command line and does what it asks.
func run(ctx context.Context, args []string, out io.Writer) error {
	var o options
	flags := flag.NewFlagSet("deploy/mutate", flag.ContinueOnError)
	flags.Uint64Var(&o.seed, "seed", 1, "which changes the sample picks")
	flags.IntVar(&o.sample, "sample", 60, "how many changes are made in each package")
	flags.StringVar(&o.at, "at", "", "of the sample only the changes in these places: FILE:LINE,FILE:LINE")
	flags.BoolVar(&o.own, "own", false, "ask a package's own tests alone")
	flags.BoolVar(&o.loud, "v", false, "name also the changes that were caught, and the test that did it")
	if err := flags.Parse(args); err != nil {
		return fmt.Errorf("these arguments cannot be read: %w", err)
	}
	if o.sample < 1 {
		return fmt.Errorf("a sample has at least 1 change, not %d", o.sample)
	}
	if flags.Arg(0) == "hand" {
		return hand(ctx, flags.Args()[1:], out)
	}
	chosen, err := choose(flags.Args())
	if err != nil {
		return err
	}
	return survey(ctx, chosen, o, out)
}

// choose finds the packages that are named; all of them if none is.
func choose(names []string) ([]unit, error) {
	if len(names) == 0 {
		return units, nil
	}
	var chosen []unit
	for _, name := range names {
		name = strings.Trim(strings.TrimPrefix(name, "./"), "/")
		i := slices.IndexFunc(units, func(u unit) bool { return u.dir == name })
		if i < 0 {
			return nil, fmt.Errorf("%q is not one of the packages: %s (or hand)", name, listed())
		}
		chosen = append(chosen, units[i])
	}
	return chosen, nil
}

// listed names all packages.
func listed() string {
	var dirs []string
	for _, u := range units {
		dirs = append(dirs, u.dir)
	}
	return strings.Join(dirs, ", ")
}
