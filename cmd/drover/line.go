package main

import (
	"fmt"
	"reflect"
	"slices"
	"strconv"
	"strings"

	"github.com/alecthomas/kong"
)

// misuse is the sentence for a person whose command line asks for something
// that does not exist.
type misuse string

func (m misuse) Error() string { return string(m) }

// unknown says that a word, a flag or a command is not known, and where to look.
func unknown(kind, word, command string) misuse {
	return misuse(fmt.Sprintf("I do not know the %s %s. %s", kind, word, try(command)))
}

// try is the way on after a line that was not understood.
func try(command string) string {
	if command != "" {
		command += " "
	}
	return "Try drover " + command + "--help."
}

// helpOf says whether a line asks for help in any place, and returns the line
// that prints it: the help of the command that the line names, or else of the
// whole program.
func helpOf(app *kong.Application, args []string) ([]string, bool) {
	flags := args
	if end := slices.Index(args, "--"); end >= 0 {
		flags = args[:end]
	}
	asks := func(arg string) bool { return arg == "-h" || arg == "--help" || strings.HasPrefix(arg, "--help=") }
	if len(args) > 0 && args[0] != "help" && !slices.ContainsFunc(flags, asks) {
		return args, false
	}
	for i, arg := range flags {
		node := commandOf(app.Node, arg)
		if node == nil {
			continue
		}
		for _, more := range flags[i+1:] {
			if commandOf(node, more) != nil {
				return []string{arg, more, "--help"}, true
			}
		}
		return []string{arg, "--help"}, true
	}
	return []string{"--help"}, true
}

func commandOf(of *kong.Node, word string) *kong.Node {
	for _, node := range of.Children {
		if node.Name == word {
			return node
		}
	}
	return nil
}

// understood looks through a line before the library does, whose own sentences
// are written for programmers.
func understood(app *kong.Application, args []string) error {
	node, err := named(app.Node, args[0], "")
	if err != nil {
		return err
	}
	if len(node.Children) > 0 {
		if len(args) < 2 {
			return misuse("Say what to do. " + try(node.Name))
		}
		below, err := named(node, args[1], node.Name)
		if err != nil {
			return err
		}
		node, args = below, args[1:]
	}
	for i := 1; i < len(args); i++ {
		if args[i] != "--" && isFlag(args[i]) {
			skip, err := flagUnderstood(node, args[i:])
			if err != nil {
				return err
			}
			i += skip
		} else if len(node.Positional) == 0 {
			return unknown("word", args[i], path(node))
		}
		if args[i] == "--" { // all that follows are words
			return nil
		}
	}
	return nil
}

// path is a command's name with the one that it is a part of.
func path(node *kong.Node) string {
	if node.Parent == nil || node.Parent.Parent == nil {
		return node.Name
	}
	return node.Parent.Name + " " + node.Name
}

// named finds the command that a word names; within says of which command it is a part.
func named(of *kong.Node, word, within string) (*kong.Node, error) {
	node := commandOf(of, word)
	switch {
	case node == nil && isFlag(word):
		return nil, unknown("flag", word, within)
	case node == nil:
		return nil, unknown("command", word, within)
	}
	return node, nil
}

func isFlag(arg string) bool { return len(arg) > 1 && arg[0] == '-' }

// flagUnderstood checks the flag that a line goes on with, and says how many words
// after it are its value: flags are switches, or take a whole number or a text.
func flagUnderstood(node *kong.Node, args []string) (skip int, err error) {
	name, value, given := strings.Cut(args[0], "=")
	at := slices.IndexFunc(node.Flags, func(f *kong.Flag) bool { return "--"+f.Name == name })
	if at < 0 {
		return 0, unknown("flag", name, path(node))
	}
	if node.Flags[at].IsBool() {
		if given {
			return 0, misuse(fmt.Sprintf("The flag %s takes no value. %s", name, try(path(node))))
		}
		return 0, nil
	}
	text, needs := node.Flags[at].Target.Kind() == reflect.String, "a number"
	if text {
		needs = "a text"
	}
	if !given {
		if len(args) < 2 {
			return 0, misuse(fmt.Sprintf("The flag %s needs %s. %s", name, needs, try(path(node))))
		}
		value, skip = args[1], 1
	}
	if text {
		return skip, nil
	}
	if _, err := strconv.ParseInt(value, 10, 64); err != nil {
		return 0, misuse(fmt.Sprintf("The flag %s needs a number, not %s. %s", name, value, try(path(node))))
	}
	return skip, nil
}
