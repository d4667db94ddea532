// Package viewtest checks pages in tests: what must be true of every page, and the
// few words to look into one. Only tests use it.
package viewtest

import (
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"drover/static"
	"drover/web/view"

	"github.com/a-h/templ"
	"golang.org/x/net/html"
)

// The fixtures: Havnsund, a fishing village's chess club that does not exist, with
// nicknames only.
var (
	AsCoach    = view.Who{Role: view.Coach, Name: "Coach Maren", Club: "Havnsund chess club"}
	AsStudent  = view.Who{Role: view.Student, Name: "Runa", Club: "Havnsund chess club"}
	AsGuardian = view.Who{Role: view.Guardian, Name: "Una", Club: "Havnsund chess club"}
	AsOfficer  = view.Who{Role: view.Officer, Name: "Solveig", Club: "Havnsund chess club"}
)

// Endings as pages name them.
var (
	Queen   = view.Ending{ID: "KQK", Name: "Queen"}
	Rook    = view.Ending{ID: "KRK", Name: "Rook"}
	Bishops = view.Ending{ID: "KBBK", Name: "Two bishops"}
	Knight  = view.Ending{ID: "KBNK", Name: "Bishop and knight"}
)

// Pages are filled pages by name.
type Pages = map[string]templ.Component

// Check holds every page to what must be true of all.
func Check(t *testing.T, pages Pages) {
	t.Helper()
	for name, page := range pages {
		write(t, name, page)
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			doc := Parsed(t, page)
			for _, check := range []func(*testing.T, *html.Node){checkFrame, CheckNothingInline, checkLabels, checkNames,
				checkOneMain, checkFiles, checkDrawings} {
				check(t, doc)
			}
		})
	}
}

// write puts a page into the folder DROVER_SAMPLES, to look at in a browser.
func write(t *testing.T, name string, page templ.Component) {
	t.Helper()
	dir := os.Getenv("DROVER_SAMPLES")
	if dir == "" {
		return
	}
	//nolint:gosec // the folder is the developer's own
	if err := os.WriteFile(filepath.Join(dir, name+".html"), Rendered(t, page), 0o600); err != nil {
		t.Fatal(err)
	}
}

// checkFrame holds the frame to WCAG 2.2, 2.4.2 (title), 3.1.1 (language), 1.3.1 (one main
// heading, as common practice).
func checkFrame(t *testing.T, doc *html.Node) {
	t.Helper()
	if n := len(Elements(doc, "h1")); n != 1 {
		t.Errorf("%d h1", n)
	}
	if lang := Attr(Elements(doc, "html")[0], "lang"); lang != "en" {
		t.Errorf("lang %q", lang)
	}
	if title := Text(Elements(doc, "title")[0]); !strings.HasSuffix(title, " - Drover") || len(title) < 12 {
		t.Errorf("title %q", title)
	}
	if n := len(Elements(doc, "main")); n != 1 {
		t.Errorf("%d main", n)
	}
}

// CheckNothingInline holds a page to Content Security Policy Level 3: nothing inline
// survives script-src and style-src 'self'.
func CheckNothingInline(t *testing.T, doc *html.Node) {
	t.Helper()
	for _, e := range Elements(doc) {
		if e.Data == "style" || e.Data == "script" && !strings.HasPrefix(Attr(e, "src"), "/static/") {
			t.Errorf("inline <%s>", e.Data)
		}
		for _, a := range e.Attr {
			if a.Key == "style" || strings.HasPrefix(a.Key, "on") || strings.HasPrefix(strings.ToLower(a.Val), "javascript:") {
				t.Errorf("<%s %s=%q>", e.Data, a.Key, a.Val)
			}
		}
	}
}

// checkLabels holds fields to WCAG 2.2, 1.3.1 and 3.3.2: every field has a label, every
// id is there once.
func checkLabels(t *testing.T, doc *html.Node) {
	t.Helper()
	labelled, ids := map[string]bool{}, map[string]bool{}
	for _, l := range Elements(doc, "label") {
		labelled[Attr(l, "for")] = Text(l) != ""
		for _, in := range Elements(l, "input") {
			labelled[Attr(in, "name")+"="+Attr(in, "value")] = Text(l) != ""
		}
	}
	for _, e := range Elements(doc) {
		if id := Attr(e, "id"); id != "" && ids[id] {
			t.Errorf("id %q twice", id)
		} else if id != "" {
			ids[id] = true
		}
	}
	for _, f := range Elements(doc, "input", "select", "textarea") {
		if Attr(f, "type") != "hidden" && !labelled[Attr(f, "id")] && !labelled[Attr(f, "name")+"="+Attr(f, "value")] {
			t.Errorf("field %q has no label", Attr(f, "name"))
		}
		if say := Attr(f, "aria-describedby"); say != "" && !ids[say] {
			t.Errorf("field %q points at %q, which is not there", Attr(f, "name"), say)
		}
	}
}

// checkNames holds drawings and controls to WCAG 2.2, 1.1.1 and 4.1.2: every drawing is
// silent or named, every control has words.
func checkNames(t *testing.T, doc *html.Node) {
	t.Helper()
	for _, s := range Elements(doc, "svg") {
		if !silent(s) && (Attr(s, "role") != "img" || Attr(s, "aria-label") == "") {
			t.Errorf("svg of class %q has no name", Attr(s, "class"))
		}
	}
	for _, b := range Elements(doc, "button", "a", "summary") {
		if Text(b) == "" && Attr(b, "aria-label") == "" {
			t.Errorf("<%s class=%q> has no words", b.Data, Attr(b, "class"))
		}
	}
}

// checkOneMain says that a page has at most one main button; two of them are none.
func checkOneMain(t *testing.T, doc *html.Node) {
	t.Helper()
	if n := len(WithClass(doc, "go")); n > 1 {
		t.Errorf("%d main actions", n)
	}
}

// checkFiles says that every file a page asks for is in the tree under the current
// checksum.
func checkFiles(t *testing.T, doc *html.Node) {
	t.Helper()
	for _, e := range Elements(doc, "link", "script", "use") {
		address, _, _ := strings.Cut(Attr(e, "href")+Attr(e, "src"), "#")
		w := httptest.NewRecorder()
		static.Handler().ServeHTTP(w, httptest.NewRequestWithContext(t.Context(), http.MethodGet, address, nil))
		if w.Code != http.StatusOK || !strings.Contains(w.Header().Get("Cache-Control"), "immutable") {
			t.Errorf("%s: status %d, %q", address, w.Code, w.Header().Get("Cache-Control"))
		}
	}
}

// checkDrawings says that every drawing a page uses is in the sprite.
func checkDrawings(t *testing.T, doc *html.Node) {
	t.Helper()
	w := httptest.NewRecorder()
	static.Handler().ServeHTTP(w, httptest.NewRequestWithContext(t.Context(), http.MethodGet,
		static.Path("img/drover.svg"), nil))
	for _, e := range Elements(doc, "use") {
		_, id, _ := strings.Cut(Attr(e, "href"), "#")
		if !strings.Contains(w.Body.String(), `<symbol id="`+id+`"`) {
			t.Errorf("no drawing %q", id)
		}
	}
}

// hostile is what a name could be at its worst.
const hostile = `"><script>alert(1)</script><b onclick='x'>&`

// poison sets every string a model can hold, but ids of a fixed set.
func poison(v reflect.Value) {
	switch v.Kind() {
	case reflect.String:
		if v.Type() == reflect.TypeFor[string]() && v.CanSet() {
			v.SetString(hostile)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			poison(v.Field(i))
		}
	case reflect.Pointer:
		if !v.IsNil() {
			poison(v.Elem())
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			poison(v.Index(i))
		}
	}
}

// CheckEscaped fills models with hostile text and holds their pages to OWASP ASVS 5.0,
// 1.2.1: what people type is written as text in every place. The models are pointers
// to filled ones.
func CheckEscaped(t *testing.T, models ...interface{ View() templ.Component }) {
	t.Helper()
	for _, m := range models {
		poison(reflect.ValueOf(m).Elem())
		t.Run(reflect.TypeOf(m).Elem().Name(), func(t *testing.T) {
			t.Parallel()
			doc := Parsed(t, m.View())
			CheckNothingInline(t, doc)
			if !strings.Contains(Text(Elements(doc, "body")[0])+attrs(doc), "<script>alert(1)</script>") {
				t.Error("the hostile name is not on the page at all, so nothing was tried")
			}
		})
	}
}

// attrs are all attribute values of a page in one string.
func attrs(doc *html.Node) string {
	var b strings.Builder
	for _, e := range Elements(doc) {
		for _, a := range e.Attr {
			b.WriteString(a.Val)
		}
	}
	return b.String()
}

// silent tells an element that it or an ancestor hides from a screen reader.
func silent(n *html.Node) bool {
	for ; n != nil; n = n.Parent {
		if Attr(n, "aria-hidden") == "true" {
			return true
		}
	}
	return false
}
