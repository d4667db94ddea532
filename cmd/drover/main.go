// Command drover is the whole program: the server, the demo, and the tools that
// answer from the same tables of exact values.
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
	Serve     serveCommand     `cmd:"" help:"Run the site. With DATABASE_URL it uses that Postgres, without it runs a private one."`
	Demo      demoCommand      `cmd:"" help:"Run the site with a fictional club on a private Postgres that is thrown away at the end."`
	Recompute recomputeCommand `cmd:"" help:"Work out anew what the stage view says of each student, after the rules for it have changed. It reads the same settings as serve; stop the site first where it runs a private Postgres."`
	Admin     adminCommand     `cmd:"" help:"Help coaches back in, from the server: list them, reset a password or a second factor, make an owner. It reads the same settings as serve, and works while the site runs."`

	Backup   backupCommand   `cmd:"" help:"Write all that the site holds into one file, while it runs. The file holds children's data and keys: keep it as safe as the club's papers."`
	Restore  restoreCommand  `cmd:"" help:"Put a backup into a new data folder, or an empty database. It reads the same settings as serve."`
	MailTest mailTestCommand `cmd:"" help:"Send a mail to an address, and say how the mail server answered. It reads the same settings as serve."`

	Probe probeCommand `cmd:"" help:"Judge positions: give FENs as arguments, or one on each line of standard input, and read a line of JSON for each."`

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
	helped := false
	parser, err := kong.New(&p, kong.Name("drover"), kong.Writers(std.out, std.err),
		kong.Description("Practice for the basic mates: an exact defender, a judge for every move, "+
			"a view of the stage at which each student fails."),
		kong.WithHyphenPrefixedParameters(true), kong.Exit(func(int) { helped = true }),
		kong.BindTo(ctx, (*context.Context)(nil)), kong.Bind(std))
	if err != nil {
		fmt.Fprintln(std.err, "drover:", err)
		return 2
	}
	command, err := parse(parser, args)
	switch {
	case helped: // the library goes on after it has printed help
		return 0
	case err == nil:
		err = command.Run()
	}
	return status(err, std)
}

// parse reads a command line.
func parse(parser *kong.Kong, args []string) (*kong.Context, error) {
	args, help := helpOf(parser.Model, args)
	if !help {
		if err := understood(parser.Model, args); err != nil {
			return nil, err
		}
	}
	command, err := parser.Parse(args)
	if err != nil {
		if node := commandOf(parser.Model.Node, args[0]); node != nil && len(node.Children) > 0 && len(args) == 2 {
			return nil, misuse("Say which coach: give the e-mail address. " + try(args[0]+" "+args[1]))
		}
		return nil, misuse("I do not understand this line. " + try(args[0]))
	}
	return command, nil
}

// status says what went wrong, if anything did, and gives the exit status for it.
func status(err error, std streams) int {
	var m misuse
	switch {
	case err == nil:
		return 0
	case errors.As(err, &m):
		fmt.Fprintln(std.err, m)
		return 2
	case !errors.Is(err, errShown):
		fmt.Fprintln(std.err, "drover:", err)
	}
	return 1
}
