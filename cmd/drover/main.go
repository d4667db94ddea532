// Command drover is the whole program: the server, the demo, and the tools
// that answer from the same tables.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"

	"github.com/alecthomas/kong"
)

// program is the command line.
type program struct {
	Serve serveCommand `cmd:"" help:"Run the site. With DATABASE_URL it uses that Postgres, without it runs a private one."`
	Demo  demoCommand  `cmd:"" help:"Run the site with a fictional club on a private Postgres that is thrown away at the end."`
	Probe probeCommand `cmd:"" help:"Judge positions: FENs as arguments, or one a line on standard input; JSON lines out."`

	Cohort cohortCommand `cmd:"" help:"Play simulated students with a planted weakness, and say how often it is found."`
	Tables tablesCommand `cmd:"" help:"List the endings, measure how long their tables take to build, or count their positions."`
}

// streams are where a command reads and writes; tests give their own.
type streams struct {
	in       io.Reader
	out, err io.Writer
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	status := run(ctx, os.Args[1:], streams{os.Stdin, os.Stdout, os.Stderr})
	stop()
	os.Exit(status)
}

// run carries out a command line and returns the exit status: 0 done, 1 failed,
// 2 not understood.
func run(ctx context.Context, args []string, std streams) int {
	var p program
	parser, err := kong.New(&p, kong.Name("drover"), kong.Writers(std.out, std.err),
		kong.Description("Practice for the basic mates: an exact defender, a judge for every move, a view of the stage at which each student fails."),
		kong.Exit(func(int) {}), kong.BindTo(ctx, (*context.Context)(nil)), kong.Bind(std))
	if err != nil {
		fmt.Fprintln(std.err, "drover:", err)
		return 2
	}
	if len(args) == 0 || args[0] == "-h" || args[0] == "--help" || args[0] == "help" {
		args = []string{"--help"}
	}
	command, err := parser.Parse(args)
	if args[0] == "--help" {
		return 0
	}
	if err != nil {
		fmt.Fprintf(std.err, "drover: %v. Try: drover --help\n", err)
		return 2
	}
	if err := command.Run(); err != nil {
		if !errors.Is(err, errShown) {
			fmt.Fprintln(std.err, "drover:", err)
		}
		return 1
	}
	return 0
}
