package web_test

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"net/http"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"drover/game/club"
	"drover/store"
	"drover/store/storetest"
	"drover/web"
)

// written are the actions that the store writes to the audit, as its source has them; what
// is put together of pieces stands here with its pieces.
func written(t *testing.T) map[string]bool {
	t.Helper()
	files, err := filepath.Glob("../store/*.go")
	if err != nil {
		t.Fatal(err)
	}
	pieces := map[string][]string{
		"what + happened":         {"student", "guardian", "group", "club", "drill", "assignment", "plan", "watched", "season"},
		`string(what) + " reset"`: {"password reset", "factor reset"},
		"what": {"coach joined", "officer joined", "coach ended", "officer ended",
			"term report changed", "term report signed", "term report dropped"},
		"action": {"concern opened", "concern closed", "concern reopened", "concern noted"},
	}
	found := map[string]bool{}
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		file, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(file, func(n ast.Node) bool {
			call, ok := n.(*ast.CallExpr)
			if !ok || len(call.Args) != 6 {
				return true
			}
			if f, ok := call.Fun.(*ast.Ident); !ok || f.Name != "audit" {
				return true
			}
			if lit, ok := call.Args[3].(*ast.BasicLit); ok {
				action, _ := strconv.Unquote(lit.Value) // a literal of the source
				found[action] = true
				return true
			}
			text := source(call.Args[3])
			if pieces[text] == nil {
				t.Errorf("%s: an action is put together as %s: say here of which pieces", name, text)
			}
			for _, p := range pieces[text] {
				if text == "what + happened" {
					found[p+" changed"], found[p+" as before"] = true, true
					continue
				}
				found[p] = true
			}
			return true
		})
	}
	return found
}

// source is an expression of the kinds that stand there as its text.
func source(e ast.Expr) string {
	switch e := e.(type) {
	case *ast.Ident:
		return e.Name
	case *ast.BasicLit:
		return e.Value
	case *ast.BinaryExpr:
		return source(e.X) + " + " + source(e.Y)
	case *ast.CallExpr:
		if len(e.Args) == 1 {
			return source(e.Fun) + "(" + source(e.Args[0]) + ")"
		}
	}
	return "something else"
}

// TestEveryActionHasWords: whatever code writes to the audit has words in 'Who read what'.
func TestEveryActionHasWords(t *testing.T) {
	t.Parallel()
	all := written(t)
	for _, by := range []string{"drill given", "sign-in failed", "sign-in refused"} { // written by statements of their own
		all[by] = true
	}
	if len(all) < 60 {
		t.Errorf("only %d actions were found", len(all))
	}
	for _, what := range web.Readings() {
		all[what] = what != ""
	}
	for action, is := range all {
		if is && !club.HasWords(action) {
			t.Errorf("%q has no words in game/club/deeds.go", action)
		}
	}
}

// TestReadsAreSearched: by a child's number and by day; a day that is none is said.
func TestReadsAreSearched(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "reads")
	o := s.as(s.officer(f, "Sol"))
	s.as(f.Guardian2).get("/report")
	if err := s.store.Read(ctx, f.Coach2, "student's page read", store.OfStudent, int64(f.Student.Person)); err != nil {
		t.Fatal(err)
	}
	number := f.Card2.Student.Number
	today := time.Now().UTC().Format(time.DateOnly)
	for query, want := range map[string]bool{fmt.Sprint("who=", number): true, fmt.Sprint("who=", number, "&day=", today): true,
		fmt.Sprint("who=", number, "&day=2020-01-02"): false, "who=999999": false, "": true} {
		body := o.get("/welfare/reads?" + query).body
		if strings.Contains(body, fmt.Sprintf("read the report of %s, number %d", f.Student2.Name, number)) != want {
			t.Errorf("%q: want %v", query, want)
		}
		if other := strings.Contains(body, "read the page of "+f.Student.Name); other && query != "" {
			t.Errorf("%q lists another child", query)
		}
	}
	if got := o.get("/welfare/reads?day=x"); got.status != http.StatusUnprocessableEntity || !strings.Contains(got.body, "Choose a day") {
		t.Errorf("no day: %d", got.status)
	}
}
