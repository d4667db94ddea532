package main

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"path"
	"slices"
	"strings"
)

// change is one small change in a file.
type change struct {
	file      string // from the root
	line, col int
	kind      string // gremlins' name for it
	from, to  string // the token, and what takes its place
	nth       int    // which of its kind on its line, from 1
	covered   bool
	text      string // the line
}

func (c change) String() string {
	return fmt.Sprintf("%s:%d  %s %d: %s -> %s  | %s", c.file, c.line, c.kind, c.nth, c.from, c.to, c.text)
}

// swaps gives for each kind what takes a token's place; longer tokens come first.
var swaps = map[string][][2]string{
	"ARITHMETIC_BASE":       {{"+", "-"}, {"-", "+"}, {"*", "/"}, {"/", "*"}, {"%", "*"}},
	"CONDITIONALS_BOUNDARY": {{">=", ">"}, {"<=", "<"}, {">", ">="}, {"<", "<="}},
	"CONDITIONALS_NEGATION": {{"==", "!="}, {"!=", "=="}, {">=", "<"}, {"<=", ">"}, {">", "<="}, {"<", ">="}},
	"INCREMENT_DECREMENT":   {{"++", "--"}, {"--", "++"}},
	"INVERT_ASSIGNMENTS":    {{"+=", "-="}, {"-=", "+="}, {"*=", "/="}, {"/=", "*="}},
	"INVERT_BITWISE":        {{"&^", "&"}, {"<<", ">>"}, {">>", "<<"}, {"&", "|"}, {"|", "&"}, {"^", "&"}},
	"INVERT_BWASSIGN":       {{"&^=", "&="}, {"<<=", ">>="}, {">>=", "<<="}, {"&=", "|="}, {"|=", "&="}, {"^=", "&="}},
	"INVERT_LOGICAL":        {{"&&", "||"}, {"||", "&&"}},
	"INVERT_LOOPCTRL":       {{"break", "continue"}, {"continue", "break"}},
	"INVERT_NEGATIVES":      {{"-", "+"}},
	"REMOVE_SELF_ASSIGNMENTS": {{"&^=", "="}, {"<<=", "="}, {">>=", "="}, {"+=", "="}, {"-=", "="}, {"*=", "="}, {"/=", "="},
		{"%=", "="}, {"&=", "="}, {"|=", "="}, {"^=", "="}},
}

// gremlins lets the tool list the changes of a package, with every kind on.
func gremlins(ctx context.Context, u unit) ([]byte, error) {
	report := path.Join(scratch, "list.json")
	args := []string{"tool", "-modfile=deploy/mutate.mod", "gremlins", "unleash", "./" + u.dir, "--dry-run", "--silent",
		"--coverpkg", u.watched(), "--output", report, "--invert-assignments", "--invert-bitwise", "--invert-bwassign", "--invert-logical",
		"--invert-loopctrl", "--remove-self-assignments"}
	if said, err := runGo(ctx, args); err != nil {
		return nil, fmt.Errorf("list the changes of %s: %w\n%s", u.dir, err, said)
	}
	text, err := os.ReadFile(report) //nolint:gosec // our own file in the temporary folder
	if err != nil {
		return nil, fmt.Errorf("list the changes of %s: %w", u.dir, err)
	}
	return text, nil
}

// listing reads gremlins' report.
func listing(u unit, report []byte) ([]change, error) {
	var list struct {
		Files []struct {
			Name      string `json:"file_name"`
			Mutations []struct {
				Type, Status string
				Line, Column int
			}
		}
	}
	if err := json.Unmarshal(report, &list); err != nil {
		return nil, fmt.Errorf("read the changes of %s: %w", u.dir, err)
	}
	var out []change
	for _, f := range list.Files {
		if !wanted(u, f.Name) {
			continue
		}
		text, err := os.ReadFile(path.Join(u.dir, f.Name))
		if err != nil {
			return nil, fmt.Errorf("read what is to be changed: %w", err)
		}
		taken, err := addresses(f.Name, text)
		if err != nil {
			return nil, err
		}
		lines := strings.Split(string(text), "\n")
		for _, m := range f.Mutations {
			c := change{file: path.Join(u.dir, f.Name), line: m.Line, col: m.Column, kind: m.Type,
				covered: m.Status == "RUNNABLE"}
			if !taken[[2]int{m.Line, m.Column}] && m.Line <= len(lines) && c.swap(lines[m.Line-1]) {
				out = append(out, c)
			}
		}
	}
	return sorted(out), nil
}

// addresses are the places where an address is taken. The tool takes that & for one
// between bits; no such change could ever be built, so none is counted.
func addresses(name string, text []byte) (map[[2]int]bool, error) {
	set := token.NewFileSet()
	file, err := parser.ParseFile(set, name, text, parser.SkipObjectResolution)
	if err != nil {
		return nil, fmt.Errorf("read what is to be changed: %w", err)
	}
	at := map[[2]int]bool{}
	ast.Inspect(file, func(n ast.Node) bool {
		if u, ok := n.(*ast.UnaryExpr); ok && u.Op == token.AND {
			p := set.Position(u.OpPos)
			at[[2]int{p.Line, p.Column}] = true
		}
		return true
	})
	return at, nil
}

// wanted says whether a file is to be changed; of packages below the unit's own only
// those that it names.
func wanted(u unit, name string) bool {
	if len(u.files) == 0 {
		return !strings.Contains(name, "/")
	}
	return slices.ContainsFunc(u.files, func(pattern string) bool {
		ok, _ := path.Match(pattern, name) // the patterns are ours
		return ok
	})
}

// swap finds the token in its line and what takes its place.
func (c *change) swap(line string) bool {
	if c.col < 1 || c.col > len(line) {
		return false
	}
	c.text = strings.TrimSpace(line)
	for _, pair := range swaps[c.kind] {
		if strings.HasPrefix(line[c.col-1:], pair[0]) {
			c.from, c.to = pair[0], pair[1]
			return true
		}
	}
	return false
}

// sorted puts the changes in the order of the text, drops what is the same change
// under two names, and numbers those of one kind on one line.
func sorted(all []change) []change {
	slices.SortFunc(all, func(a, b change) int {
		return cmp.Or(cmp.Compare(a.file, b.file), cmp.Compare(a.line, b.line), cmp.Compare(a.col, b.col),
			cmp.Compare(a.kind, b.kind))
	})
	all = slices.CompactFunc(all, func(a, b change) bool {
		return a.file == b.file && a.line == b.line && a.col == b.col && a.to == b.to
	})
	seen := map[string]int{}
	for i := range all {
		key := fmt.Sprint(all[i].file, all[i].line, all[i].kind)
		seen[key]++
		all[i].nth = seen[key]
	}
	return all
}

// pick takes n changes at random. Each change has its own number, made of the seed and of
// the words of its line, so that an edit elsewhere leaves the rest of the sample as it was.
func pick(all []change, seed uint64, n int) []change {
	type numbered struct {
		change
		number uint64
	}
	seen := map[string]int{}
	var some []numbered
	for _, c := range all {
		key := fmt.Sprint(seed, c.file, c.text, c.kind, c.nth, c.to)
		seen[key]++
		h := sha256.Sum256(fmt.Append(nil, key, seen[key]))
		some = append(some, numbered{c, binary.BigEndian.Uint64(h[:])})
	}
	slices.SortFunc(some, func(a, b numbered) int { return cmp.Compare(a.number, b.number) })
	var out []change
	for _, s := range some[:min(n, len(some))] {
		out = append(out, s.change)
	}
	return sortedByPlace(out)
}

func sortedByPlace(some []change) []change {
	slices.SortFunc(some, func(a, b change) int {
		return cmp.Or(cmp.Compare(a.file, b.file), cmp.Compare(a.line, b.line), cmp.Compare(a.col, b.col),
			cmp.Compare(a.to, b.to))
	})
	return some
}

// made is the file's text with the change. A file that was edited since the changes were
// listed is refused.
func (c change) made(text string) (string, error) {
	lines := strings.SplitAfter(text, "\n")
	if c.line > len(lines) || strings.TrimSpace(lines[c.line-1]) != c.text {
		return "", fmt.Errorf("%s has changed meanwhile: line %d is no longer %q", c.file, c.line, c.text)
	}
	line := lines[c.line-1]
	lines[c.line-1] = line[:c.col-1] + c.to + line[c.col-1+len(c.from):]
	return strings.Join(lines, ""), nil
}

// at says whether the change is in one of the places, FILE:LINE,FILE:LINE; none are all.
func (c change) at(places string) bool {
	return places == "" || slices.Contains(strings.Split(places, ","), fmt.Sprintf("%s:%d", c.file, c.line))
}
