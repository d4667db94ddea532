package main

import (
	"bytes"
	"context"
	"strings"
	"testing"
)

// commandLine runs a line that reads nothing.
func commandLine(args ...string) (out, said string, status int) {
	var o, e bytes.Buffer
	status = run(context.Background(), args, streams{strings.NewReader(""), &o, &e})
	return o.String(), e.String(), status
}

// commands are all that the program has, each with the end of its own help.
var commands = map[string]string{
	"serve": "Run the site.", "demo": "fictional club", "probe": "Judge positions",
	"cohort": "Play simulated students", "tables": "List the endings",
}

// TestHelpDoesNothingElse: help, wherever a line asks for it, is printed and ends
// with status 0. A server, a demo or a list that began all the same would never end
// or would print more.
func TestHelpDoesNothingElse(t *testing.T) {
	t.Parallel()
	for command, about := range commands {
		for _, args := range [][]string{
			{command, "--help"}, {command, "-h"}, {"--help", command}, {"help", command},
			{command, "--nonsense", "--help"}, {command, "nonsense", "-h"}, {command, "--help=yes"},
		} {
			out, said, status := commandLine(args...)
			right := strings.HasPrefix(out, "Usage: drover "+command) && strings.Contains(out, about)
			if status != 0 || said != "" || !right {
				t.Errorf("%q: status %d, %q, %q", args, status, out, said)
			}
			if strings.Count(out, "Usage:") != 1 || strings.Contains(out, "LONGEST MATE") {
				t.Errorf("%q prints more than its help: %q", args, out)
			}
		}
	}
	for _, args := range [][]string{nil, {"--help"}, {"-h"}, {"help"}, {"nonsense", "--help"}} {
		out, said, status := commandLine(args...)
		if status != 0 || said != "" || !strings.HasPrefix(out, "Usage: drover <command>") {
			t.Errorf("%q: status %d, %q, %q", args, status, out, said)
		}
		for command := range commands {
			if !strings.Contains(out, command) {
				t.Errorf("%q does not name %s", args, command)
			}
		}
	}
}

// TestUnknownIsSaidInOneWay: what a line names and there is not is said in one
// sentence with the way on, by no words of the library, and nothing is done.
func TestUnknownIsSaidInOneWay(t *testing.T) {
	t.Parallel()
	type row struct {
		args []string
		say  string
	}
	rows := []row{
		{[]string{"nonsense"}, "I do not know the command nonsense. Try drover --help."},
		{[]string{"--nonsense"}, "I do not know the flag --nonsense. Try drover --help."},
		{[]string{"tables", "list"}, "I do not know the word list. Try drover tables --help."},
		{[]string{"tables", "--", "--list"}, "I do not know the word --list. Try drover tables --help."},
		{[]string{"serve", "--", "x"}, "I do not know the word --. Try drover serve --help."},
		{[]string{"tables", "--limit"}, "The flag --limit needs a number. Try drover tables --help."},
		{[]string{"tables", "--limit", "--bench"},
			"The flag --limit needs a number, not --bench. Try drover tables --help."},
		{[]string{"cohort", "--seed=x"}, "The flag --seed needs a number, not x. Try drover cohort --help."},
		{[]string{"cohort", "--students", "99999999999999999999"},
			"The flag --students needs a number, not 99999999999999999999. Try drover cohort --help."},
		{[]string{"admin"}, "Say what to do. Try drover admin --help."},
		{[]string{"admin", "nonsense"}, "I do not know the command nonsense. Try drover admin --help."},
		{[]string{"admin", "coaches", "x"}, "I do not know the word x. Try drover admin coaches --help."},
		{[]string{"admin", "password", "--x", "y"}, "I do not know the flag --x. Try drover admin password --help."},
		{[]string{"admin", "factor"}, "Say which coach: give the e-mail address. Try drover admin factor --help."},
		{[]string{"cohort", "--kind"}, "The flag --kind needs a text. Try drover cohort --help."},
		{[]string{"tables", "--bench=maybe"}, "The flag --bench takes no value. Try drover tables --help."},
		{[]string{"tables", "--bench", "--histogram"},
			"--bench and --histogram do not go together. Try drover tables --help."},
	}
	for command := range commands {
		rows = append(rows, row{[]string{command, "--nonsense"},
			"I do not know the flag --nonsense. Try drover " + command + " --help."},
			row{[]string{command, "-x=3"}, "I do not know the flag -x. Try drover " + command + " --help."})
		if command != "probe" { // to which any word is a position
			rows = append(rows, row{[]string{command, "nonsense"},
				"I do not know the word nonsense. Try drover " + command + " --help."})
		}
	}
	for _, r := range rows {
		out, said, status := commandLine(r.args...)
		if status != 2 || said != r.say+"\n" || out != "" {
			t.Errorf("%q: status %d, %q, %q, want %q", r.args, status, out, said, r.say)
		}
	}
}

// TestFlagsStillReachTheirCommand: a value may stand after a flag or behind a sign
// of equality, and may be below nought.
func TestFlagsStillReachTheirCommand(t *testing.T) {
	t.Parallel()
	for _, args := range [][]string{
		{"tables", "--limit", "-5"}, {"tables", "--limit=-5", "KQK"}, {"tables", "KQK", "--limit", "-5", "--bench"},
	} {
		_, said, status := commandLine(args...)
		if status != 1 || !strings.Contains(said, "--limit is -5 MiB: give 0 or more") {
			t.Errorf("%q: status %d, %q", args, status, said)
		}
	}
}
