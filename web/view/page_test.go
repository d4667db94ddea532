package view

import (
	"bytes"
	"fmt"
	"net/http"
	"net/http/httptest"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/a-h/templ"
	"golang.org/x/net/html"

	"drover/static"
)

// parsed is a page's tree.
func parsed(t *testing.T, page templ.Component) *html.Node {
	t.Helper()
	doc, err := html.Parse(bytes.NewReader(rendered(t, page)))
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

// elements are all elements below n with one of the names; no name means all.
func elements(n *html.Node, names ...string) []*html.Node {
	var found []*html.Node
	for d := range n.Descendants() {
		if d.Type != html.ElementNode {
			continue
		}
		for _, name := range names {
			if d.Data == name {
				found = append(found, d)
			}
		}
		if len(names) == 0 {
			found = append(found, d)
		}
	}
	return found
}

func attr(n *html.Node, key string) string {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val
		}
	}
	return ""
}

func has(n *html.Node, key string) bool {
	for _, a := range n.Attr {
		if a.Key == key {
			return true
		}
	}
	return false
}

func text(n *html.Node) string {
	var b strings.Builder
	for d := range n.Descendants() {
		if d.Type == html.TextNode {
			b.WriteString(d.Data)
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

// withClass are the elements that carry a class.
func withClass(n *html.Node, class string) []*html.Node {
	var found []*html.Node
	for _, e := range elements(n) {
		for _, c := range strings.Fields(attr(e, "class")) {
			if c == class {
				found = append(found, e)
			}
		}
	}
	return found
}

// eachSample runs a check over every page.
func eachSample(t *testing.T, check func(t *testing.T, doc *html.Node)) {
	t.Helper()
	for name, page := range samples() {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			check(t, parsed(t, page))
		})
	}
}

// WCAG 2.2, 2.4.2 (title), 3.1.1 (language), 1.3.1 (one main heading, as common practice).
func TestFrameOfEveryPage(t *testing.T) {
	t.Parallel()
	eachSample(t, func(t *testing.T, doc *html.Node) {
		if n := len(elements(doc, "h1")); n != 1 {
			t.Errorf("%d h1", n)
		}
		if lang := attr(elements(doc, "html")[0], "lang"); lang != "en" {
			t.Errorf("lang %q", lang)
		}
		if title := text(elements(doc, "title")[0]); !strings.HasSuffix(title, " - Drover") || len(title) < 12 {
			t.Errorf("title %q", title)
		}
		if n := len(elements(doc, "main")); n != 1 {
			t.Errorf("%d main", n)
		}
	})
}

// Content Security Policy Level 3: nothing inline survives script-src and style-src 'self'.
func TestNothingInline(t *testing.T) {
	t.Parallel()
	eachSample(t, func(t *testing.T, doc *html.Node) {
		checkNothingInline(t, doc)
	})
}

func checkNothingInline(t *testing.T, doc *html.Node) {
	t.Helper()
	for _, e := range elements(doc) {
		if e.Data == "style" || e.Data == "script" && !strings.HasPrefix(attr(e, "src"), "/static/") {
			t.Errorf("inline <%s>", e.Data)
		}
		for _, a := range e.Attr {
			if a.Key == "style" || strings.HasPrefix(a.Key, "on") || strings.HasPrefix(strings.ToLower(a.Val), "javascript:") {
				t.Errorf("<%s %s=%q>", e.Data, a.Key, a.Val)
			}
		}
	}
}

// WCAG 2.2, 1.3.1 and 3.3.2: every field has a label, every id is there once.
func TestFieldsHaveLabels(t *testing.T) {
	t.Parallel()
	eachSample(t, func(t *testing.T, doc *html.Node) {
		labelled, ids := map[string]bool{}, map[string]bool{}
		for _, l := range elements(doc, "label") {
			labelled[attr(l, "for")] = text(l) != ""
			for _, in := range elements(l, "input") {
				labelled[attr(in, "name")+"="+attr(in, "value")] = text(l) != ""
			}
		}
		for _, e := range elements(doc) {
			if id := attr(e, "id"); id != "" && ids[id] {
				t.Errorf("id %q twice", id)
			} else if id != "" {
				ids[id] = true
			}
		}
		for _, f := range elements(doc, "input", "select", "textarea") {
			if attr(f, "type") != "hidden" && !labelled[attr(f, "id")] && !labelled[attr(f, "name")+"="+attr(f, "value")] {
				t.Errorf("field %q has no label", attr(f, "name"))
			}
			if say := attr(f, "aria-describedby"); say != "" && !ids[say] {
				t.Errorf("field %q points at %q, which is not there", attr(f, "name"), say)
			}
		}
	})
}

// WCAG 2.2, 1.1.1 and 4.1.2: every drawing is silent or named, every control has words.
func TestDrawingsAndControlsHaveNames(t *testing.T) {
	t.Parallel()
	eachSample(t, func(t *testing.T, doc *html.Node) {
		for _, s := range elements(doc, "svg") {
			if !silent(s) && (attr(s, "role") != "img" || attr(s, "aria-label") == "") {
				t.Errorf("svg of class %q has no name", attr(s, "class"))
			}
		}
		for _, b := range elements(doc, "button", "a", "summary") {
			if text(b) == "" && attr(b, "aria-label") == "" {
				t.Errorf("<%s class=%q> has no words", b.Data, attr(b, "class"))
			}
		}
	})
}

// Gorse marks the one main action of a page.
func TestAtMostOneMainAction(t *testing.T) {
	t.Parallel()
	eachSample(t, func(t *testing.T, doc *html.Node) {
		if n := len(withClass(doc, "go")); n > 1 {
			t.Errorf("%d main actions", n)
		}
	})
}

// Every file a page asks for is in the tree under the current checksum.
func TestFilesOfPagesExist(t *testing.T) {
	t.Parallel()
	eachSample(t, func(t *testing.T, doc *html.Node) {
		for _, e := range elements(doc, "link", "script", "use") {
			address, _, _ := strings.Cut(attr(e, "href")+attr(e, "src"), "#")
			w := httptest.NewRecorder()
			static.Handler().ServeHTTP(w, httptest.NewRequest(http.MethodGet, address, nil))
			if w.Code != http.StatusOK || !strings.Contains(w.Header().Get("Cache-Control"), "immutable") {
				t.Errorf("%s: status %d, %q", address, w.Code, w.Header().Get("Cache-Control"))
			}
		}
	})
}

// Every drawing a page uses is in the sprite.
func TestDrawingsExist(t *testing.T) {
	t.Parallel()
	w := httptest.NewRecorder()
	static.Handler().ServeHTTP(w, httptest.NewRequest(http.MethodGet, static.Path("img/drover.svg"), nil))
	eachSample(t, func(t *testing.T, doc *html.Node) {
		for _, e := range elements(doc, "use") {
			_, id, _ := strings.Cut(attr(e, "href"), "#")
			if !strings.Contains(w.Body.String(), `<symbol id="`+id+`"`) {
				t.Errorf("no drawing %q", id)
			}
		}
	})
}

// TestOneMainAction: a page has at most one main button; two of them are none.
func TestOneMainAction(t *testing.T) {
	t.Parallel()
	eachSample(t, func(t *testing.T, doc *html.Node) {
		n := 0
		for _, e := range elements(doc, "a", "button") {
			if slices.Contains(strings.Fields(attr(e, "class")), "go") {
				n++
			}
		}
		if n > 1 {
			t.Errorf("%d main buttons", n)
		}
	})
}

// TestMarksAreSmall: a mark, a grade and an icon take less than 600 bytes each.
func TestMarksAreSmall(t *testing.T) {
	t.Parallel()
	w := httptest.NewRecorder()
	static.Handler().ServeHTTP(w, httptest.NewRequest(http.MethodGet, static.Path("img/drover.svg"), nil))
	symbols := regexp.MustCompile(`(?s)<symbol id="([^"]+)".*?</symbol>`).FindAllStringSubmatch(w.Body.String(), -1)
	if len(symbols) < 60 {
		t.Fatalf("only %d drawings found", len(symbols))
	}
	for _, s := range symbols {
		if man := len(s[1]) == 1 || s[1] == "k-s"; !man && len(s[0]) >= 600 {
			t.Errorf("%s takes %d bytes", s[1], len(s[0]))
		}
	}
}

// TestLabelsBesideBars: in the track's chart no label lies over a bar or leaves the
// chart, whatever the distances were.
func TestLabelsBesideBars(t *testing.T) {
	t.Parallel()
	for far := 4; far <= 33; far++ {
		for before := 1; before <= far; before++ {
			for _, grade := range []string{"on course", "no nearer", "detour", "slip", "win gone"} {
				m := ReviewPage{Groups: []TrackGroup{{Moves: []TrackMove{
					{Before: far, After: far - 1, Grade: "on course"},
					{Before: before, After: min(far, before+2), Grade: grade}}}}}
				checkLabel(t, m.row(m.Groups[0].Moves[1]))
			}
		}
	}
}

func checkLabel(t *testing.T, row trackRowView) {
	t.Helper()
	at, err := strconv.ParseFloat(row.labelX, 64)
	if err != nil {
		t.Fatal(err)
	}
	left, right := at, at+labelChar*float64(len(row.label))
	if row.anchor == "end" {
		left, right = at-labelChar*float64(len(row.label)), at
	}
	if left < 0 || right > chartWide {
		t.Errorf("%q lies from %.0f to %.0f of %d", row.label, left, right, chartWide)
	}
	var from, to float64
	if n, _ := fmt.Sscanf(row.back, "M%f 13H%f", &from, &to); n == 2 && left < max(from, to) && right > min(from, to) {
		t.Errorf("%q lies from %.0f to %.0f, its bar %q", row.label, left, right, row.back)
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

// models are filled models of all pages that show what people typed.
func models() []interface{ View() templ.Component } {
	page := Page{Who: asCoach, Notice: &Notice{Say: "x"}}
	students, student, drills := studentsSample(page), studentSample(page), drillsSample(page)
	drill, assign, stages := drillNewSample(page), assignSample(page), stagesSample(page)
	review, report := reviewSample(), reportSample()
	card := CardPage{Page: page, Words: []string{"a", "b"}, QR: qrSample()}
	link := LinkPage{Page: page, QR: qrSample()}
	today := TodayPage{Page: page, Due: []DueCard{{Title: "x"}}, Endings: []EndingMarks{{Ending: rook}}}
	all := []interface{ View() templ.Component }{
		&SignInPage{}, &CoachSignInPage{}, &SetupPage{Errors: Errors{"club": hostile}}, &ProblemPage{}, &TellPage{}, &PlayPage{},
		&students, &student, &drills, &drill, &assign, &stages, &review, &report, &card, &link, &today,
	}
	for _, m := range all {
		poison(reflect.ValueOf(m).Elem())
	}
	return all
}

// OWASP ASVS 5.0, 1.2.1: what people type is written as text in every place.
func TestNamesAreEscaped(t *testing.T) {
	t.Parallel()
	for _, m := range models() {
		t.Run(reflect.TypeOf(m).Elem().Name(), func(t *testing.T) {
			t.Parallel()
			doc := parsed(t, m.View())
			checkNothingInline(t, doc)
			if !strings.Contains(text(elements(doc, "body")[0])+attrs(doc), "<script>alert(1)</script>") {
				t.Error("the hostile name is not on the page at all, so nothing was tried")
			}
		})
	}
}

// attrs are all attribute values of a page in one string.
func attrs(doc *html.Node) string {
	var b strings.Builder
	for _, e := range elements(doc) {
		for _, a := range e.Attr {
			b.WriteString(a.Val)
		}
	}
	return b.String()
}

// silent tells an element that it or an ancestor hides from a screen reader.
func silent(n *html.Node) bool {
	for ; n != nil; n = n.Parent {
		if attr(n, "aria-hidden") == "true" {
			return true
		}
	}
	return false
}
