package viewtest

import (
	"bytes"
	"context"
	"strings"
	"testing"

	"drover/web/view"

	"github.com/a-h/templ"
	"golang.org/x/net/html"
)

// Parsed is a page's tree.
func Parsed(t *testing.T, page templ.Component) *html.Node {
	t.Helper()
	doc, err := html.Parse(bytes.NewReader(Rendered(t, page)))
	if err != nil {
		t.Fatal(err)
	}
	return doc
}

// Elements are all elements below n with one of the names; no name means all.
func Elements(n *html.Node, names ...string) []*html.Node {
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

// Attr is the value of an attribute, empty where there is none.
func Attr(n *html.Node, key string) string {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val
		}
	}
	return ""
}

// Has says whether an element has an attribute.
func Has(n *html.Node, key string) bool {
	for _, a := range n.Attr {
		if a.Key == key {
			return true
		}
	}
	return false
}

// Text is the text below n, with single spaces.
func Text(n *html.Node) string {
	var b strings.Builder
	for d := range n.Descendants() {
		if d.Type == html.TextNode {
			b.WriteString(d.Data)
		}
	}
	return strings.Join(strings.Fields(b.String()), " ")
}

// WithClass are the elements that carry a class.
func WithClass(n *html.Node, class string) []*html.Node {
	var found []*html.Node
	for _, e := range Elements(n) {
		for _, c := range strings.Fields(Attr(e, "class")) {
			if c == class {
				found = append(found, e)
			}
		}
	}
	return found
}

// One is the one element that carries a class.
func One(t *testing.T, doc *html.Node, class string) *html.Node {
	t.Helper()
	found := WithClass(doc, class)
	if len(found) != 1 {
		t.Fatalf("%d elements of class %s", len(found), class)
	}
	return found[0]
}

// Rendered is a page's HTML.
func Rendered(t *testing.T, page templ.Component) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := page.Render(context.Background(), &out); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// KnightStages are the stages of bishop and knight; a list of its own each time,
// since a test fills pages with hostile text.
func KnightStages() []string { return []string{"centralise", "edge", "corner", "mate"} }

// Marks are stage marks, each written as its stage and its state: "edge bell".
func Marks(each ...string) []view.Mark {
	marks := make([]view.Mark, len(each))
	for i, text := range each {
		stage, state, _ := strings.Cut(text, " ")
		marks[i] = view.Mark{Stage: stage, State: view.State(state)}
	}
	return marks
}
