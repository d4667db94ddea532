package main

import (
	"bytes"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"sort"
	"strconv"
	"strings"
	"testing"

	"drover/migrations"
	"drover/static"
)

// root is the repository's folder, seen from this package.
const root = "../.."

// imports is the import table of DEVELOPERS.md: what a package may import of
// ours. A name that begins with + brings along what that package may import.
var imports = map[string][]string{
	"solver":            {},
	"game":              {},
	"game/board":        {"game"},
	"game/ending":       {"solver", "game/board", "game"},
	"game/practice":     {"game/ending", "game/board", "game"},
	"game/progress":     {"+game/club"},
	"game/club":         {"+game/practice"},
	"game/live":         {"+game/club"},
	"game/export":       {"+game/club"},
	"game/cohort":       {"+game/progress", "solver"},
	"store":             {"+game/progress", "+game/club", "game/export", "migrations"},
	"store/private":     {},
	"store/work":        {"+store"},
	"store/backup":      {"+store", "store/private"},
	"store/storetest":   {"+store", "store/private"},
	"web/view":          {"static", "+game/ending"},
	"web/view/viewtest": {"+web/view"},
	"web/site":          {"+store", "+game/live", "web/view"},
	"web/public":        {"+web/site"},
	"web/student":       {"+web/site"},
	"web/coach":         {"+web/site"},
	"web/guardian":      {"+web/site"},
	"web/officer":       {"+web/site"},
	"web/review":        {"+web/site"},
	"web/guide":         {"+web/site"},
	"web/certificate":   {"+web/site"},
	"web/notice":        {"+web/site"},
	"web":               {"web/public", "web/student", "web/coach", "web/guardian", "web/officer", "web/review", "web/guide", "web/certificate", "web/notice", "+web/site", "static"},
	"migrations":        {},
	"static":            {},
	"cmd/drover":        {"+web", "+game/cohort", "store/private", "store/work", "store/backup"},
	"deploy/mutation":   {},

	"deploy/measurement":      {"deploy/measurement/load", "store/private", "+store", "+game/cohort"},
	"deploy/measurement/load": {},
}

// allowed lists what a package may import.
func allowed(pkg string) map[string]bool {
	out := map[string]bool{}
	for _, name := range imports[pkg] {
		plain := strings.TrimPrefix(name, "+")
		out[plain] = true
		if plain != name {
			for k := range allowed(plain) {
				out[k] = true
			}
		}
	}
	return out
}

// source is one Go file of the project.
type source struct {
	pkg, path string // folder and file, from the root
	file      *ast.File
	text      []byte
	test      bool
	generated bool
}

// sources parses every Go file.
func sources(t *testing.T) []source {
	t.Helper()
	var out []source
	walk(t, "", func(path string) {
		if !strings.HasSuffix(path, ".go") {
			return
		}
		text, err := os.ReadFile(filepath.Join(root, path))
		if err != nil {
			t.Fatal(err)
		}
		file, err := parser.ParseFile(token.NewFileSet(), path, text, parser.ParseComments)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, source{filepath.ToSlash(filepath.Dir(path)), path, file, text, strings.HasSuffix(path, "_test.go"),
			ast.IsGenerated(file)})
	})
	if len(out) < 50 {
		t.Fatalf("only %d Go files found: is this the whole tree?", len(out))
	}
	return out
}

// walk visits the files below a folder, those of git and of builds aside.
func walk(t *testing.T, dir string, visit func(path string)) {
	t.Helper()
	err := filepath.WalkDir(filepath.Join(root, dir), func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		rel, err := filepath.Rel(root, path)
		if err != nil {
			return err
		}
		if d.IsDir() {
			if rel == ".git" || rel == "bin" {
				return fs.SkipDir
			}
			return nil
		}
		visit(filepath.ToSlash(rel))
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// TestImports holds every import of ours against the table, and the table
// against the tree: a package without a row fails, and a row without a package.
func TestImports(t *testing.T) {
	t.Parallel()
	seen := map[string]bool{}
	for _, s := range sources(t) {
		seen[s.pkg] = true
		if _, ok := imports[s.pkg]; !ok {
			t.Errorf("%s: package %s has no row in the import table", s.path, s.pkg)
			continue
		}
		if s.test {
			continue
		}
		may := allowed(s.pkg)
		for _, spec := range s.file.Imports {
			path, _ := strconv.Unquote(spec.Path.Value) // the parser has read it
			if of, ours := strings.CutPrefix(path, "drover/"); ours && !may[of] {
				t.Errorf("%s imports %s, which the table does not allow", s.path, of)
			}
		}
	}
	for pkg := range imports {
		if !seen[pkg] {
			t.Errorf("the import table has a row for %s, which is not there", pkg)
		}
	}
}

// TestBarred: some packages stay free of what is not theirs - the game of HTTP
// and SQL, the solver of everything but the standard library.
func TestBarred(t *testing.T) {
	t.Parallel()
	for _, s := range sources(t) {
		if s.test {
			continue
		}
		for _, spec := range s.file.Imports {
			path, _ := strconv.Unquote(spec.Path.Value)
			outside := strings.Contains(strings.Split(path, "/")[0], ".")
			switch {
			case s.pkg == "solver" && outside:
				t.Errorf("%s imports %s; the solver takes the standard library alone", s.path, path)
			case strings.HasPrefix(s.pkg, "game") && (path == "net/http" || path == "database/sql" ||
				strings.Contains(path, "/pgx")):
				t.Errorf("%s imports %s; the game knows no HTTP and no SQL", s.path, path)
			}
		}
	}
}

// TestTableInDevelopers: the table that people read has the same packages.
func TestTableInDevelopers(t *testing.T) {
	t.Parallel()
	text := read(t, "DEVELOPERS.md")
	_, table, found := strings.Cut(text, "| package | may import (ours) |")
	table, _, ended := strings.Cut(table, "\n\n")
	if !found || !ended {
		t.Fatal("DEVELOPERS.md has no import table")
	}
	for pkg := range imports {
		if !strings.Contains(table, "`"+pkg+"`") {
			t.Errorf("the import table of DEVELOPERS.md does not name %s", pkg)
		}
	}
}

// TestTreeInDevelopers: every folder and file that the tree of DEVELOPERS.md
// names is there, and every folder with Go code is named.
func TestTreeInDevelopers(t *testing.T) {
	t.Parallel()
	_, tree, _ := strings.Cut(read(t, "DEVELOPERS.md"), "## The tree\n\n")
	tree, _, _ = strings.Cut(tree, "\n\n## ")
	named := map[string]bool{}
	var dirs []string // the folder at each depth
	for _, line := range strings.Split(tree, "\n") {
		depth := (len(line) - len(strings.TrimLeft(line, " ")) - 4) / 2
		names, _, _ := strings.Cut(strings.TrimSpace(line), "  ")
		for _, name := range strings.Fields(names) {
			folder := strings.HasSuffix(name, "/")
			if !folder && !strings.Contains(name, ".") {
				break // the words that follow a single file
			}
			path := filepath.Join(append(slices.Clone(dirs[:min(depth, len(dirs))]), name)...)
			if _, err := os.Stat(filepath.Join(root, path)); err != nil {
				t.Errorf("the tree names %s, which is not there", path)
			}
			if named[path] = true; folder {
				dirs = append(dirs[:min(depth, len(dirs))], name)
			}
		}
	}
	for pkg := range imports {
		if !named[pkg] {
			t.Errorf("the tree does not name %s", pkg)
		}
	}
}

func read(t *testing.T, path string) string {
	t.Helper()
	b, err := os.ReadFile(filepath.Join(root, path))
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// TestPackageComments: each package says in its comment what it is.
func TestPackageComments(t *testing.T) {
	t.Parallel()
	said := map[string]bool{}
	for _, s := range sources(t) {
		doc := ""
		if s.file.Doc != nil {
			doc = s.file.Doc.Text()
		}
		begins := strings.HasPrefix(doc, "Package "+s.file.Name.Name+" ") || strings.HasPrefix(doc, "Command ")
		if !s.test && begins {
			said[s.pkg] = true
		}
	}
	for pkg := range imports {
		if !said[pkg] {
			t.Errorf("package %s has no package comment", pkg)
		}
	}
}

// TestLengths: no file is longer than 500 lines, no function than 100.
func TestLengths(t *testing.T) {
	t.Parallel()
	for _, s := range sources(t) {
		if s.generated {
			continue
		}
		if n := bytes.Count(s.text, []byte("\n")); n > 500 {
			t.Errorf("%s has %d lines; split it", s.path, n)
		}
		for _, d := range s.file.Decls {
			f, ok := d.(*ast.FuncDecl)
			if !ok {
				continue
			}
			base := s.file.FileStart
			body := s.text[f.Pos()-base : f.End()-base]
			if n := bytes.Count(body, []byte("\n")) + 1; n > 100 {
				t.Errorf("%s: %s has %d lines; split it", s.path, f.Name.Name, n)
			}
		}
	}
}

// TestTopLevel: the top folder holds what DEVELOPERS.md names and nothing else.
func TestTopLevel(t *testing.T) {
	t.Parallel()
	want := []string{"DEVELOPERS.md", "LICENSE", "README.md", "cmd", "deploy", "game", "go.mod", "go.sum", "migrations",
		"solver", "static", "store", "web"}
	entries, err := os.ReadDir(root)
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, e := range entries {
		if !strings.HasPrefix(e.Name(), ".") && e.Name() != "bin" { // bin is what the scripts build
			got = append(got, e.Name())
		}
	}
	sort.Strings(got)
	if !slices.Equal(got, want) {
		t.Errorf("top level holds %v, want %v", got, want)
	}
}

// TestGenerated: the committed code is what the templates give. It runs the
// generator of deploy/tools.mod, which changes nothing when it only checks.
func TestGenerated(t *testing.T) {
	t.Parallel()
	cmd := exec.CommandContext(t.Context(), "go", "tool", "-modfile=deploy/tools.mod", "templ", "generate", "-check",
		"-path", "web")
	cmd.Dir = root
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Errorf("%v: the generated templ code is stale; "+
			"run: go tool -modfile=deploy/tools.mod templ generate -path web\n%s", err, out)
	}
	walk(t, "web", func(path string) {
		made := strings.TrimSuffix(path, ".templ") + "_templ.go"
		if strings.HasSuffix(path, ".templ") {
			if _, err := os.Stat(filepath.Join(root, made)); err != nil {
				t.Errorf("%s has no generated code: %v", path, err)
			}
		}
	})
}

// TestMigrationNumbers: the steps run from 1 without a gap to Latest, each with
// its way up and down.
func TestMigrationNumbers(t *testing.T) {
	t.Parallel()
	names, err := fs.Glob(migrations.Files, "*.sql")
	if err != nil {
		t.Fatal(err)
	}
	ways := map[int][]string{}
	for _, name := range names {
		n, err := strconv.Atoi(name[:4])
		if err != nil {
			t.Fatalf("%s: a step's name begins with four digits", name)
		}
		parts := strings.SplitN(name, ".", 2)
		ways[n] = append(ways[n], parts[1])
	}
	for n := 1; n <= migrations.Latest; n++ {
		if !slices.Equal(ways[n], []string{"down.sql", "up.sql"}) {
			t.Errorf("step %d has %v, want one way down and one up", n, ways[n])
		}
	}
	if len(ways) != migrations.Latest {
		t.Errorf("%d steps, but Latest is %d", len(ways), migrations.Latest)
	}
}

// TestNoMarkupFromScript: script puts text in as text only.
func TestNoMarkupFromScript(t *testing.T) {
	t.Parallel()
	seen := 0
	walk(t, "static", func(path string) {
		if !strings.HasSuffix(path, ".js") {
			return
		}
		seen++
		text := read(t, path)
		for _, bad := range []string{"innerHTML", "outerHTML", "insertAdjacentHTML", "document.write", "eval(",
			"new Function", "http://", "https://"} {
			if bad == "http://" && strings.Count(text, bad) == strings.Count(text, "http://www.w3.org/2000/svg") {
				continue // the name of a namespace, which nobody fetches
			}
			if strings.Contains(text, bad) {
				t.Errorf("%s has %s", path, bad)
			}
		}
	})
	if seen == 0 {
		t.Error("no script was found")
	}
}

// TestCommands: what README.md and the integration call is there and may run.
func TestCommands(t *testing.T) {
	t.Parallel()
	for _, path := range []string{"deploy/demo", "deploy/test", "deploy/build", "deploy/mutate", "deploy/measure",
		".ci/run"} {
		info, err := os.Stat(filepath.Join(root, path))
		if err != nil || info.Mode()&0o111 == 0 {
			t.Errorf("%s must be there and executable: %v", path, err)
		}
	}
	if text := read(t, "deploy/golangci.yml"); !strings.Contains(text, "forbidigo") || !strings.Contains(text, "funlen") {
		t.Error("deploy/golangci.yml must keep the rules against sleeping and long functions")
	}
	for _, want := range []string{"./deploy/demo", "./deploy/test", "deploy/board.png", "DEVELOPERS.md",
		static.EngineWords()} {
		if !strings.Contains(read(t, "README.md"), want) {
			t.Errorf("README.md does not name %s", want)
		}
	}
}
