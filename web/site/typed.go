package site

import (
	"bytes"
	"fmt"
	"net/url"
	"slices"
	"strings"

	"golang.org/x/net/html"
	"golang.org/x/net/html/atom"
)

// Typed is a form that was refused because its person was signed out.
type Typed struct {
	At     string // where it was to go
	Fields string // as a browser sends them
}

// never are the fields of which nothing is kept: secrets, and the id of one sending.
var never = []string{"password", "new", "again", "code", "token", "once"}

// Keeps says whether anything may be kept of the forms of a path: not of those that change
// how somebody signs in, nor of what is told to the welfare officers or what they write.
func Keeps(path string) bool {
	return !slices.ContainsFunc([]string{"/account", "/coaches", "/tell", "/welfare"},
		func(p string) bool { return strings.HasPrefix(path, p) })
}

// Typable is what may be kept of a form; empty where it is nothing.
func Typable(path string, form url.Values) string {
	if !Keeps(path) {
		return ""
	}
	kept := url.Values{}
	for name, values := range form {
		if !slices.Contains(never, name) {
			kept[name] = values
		}
	}
	return kept.Encode()
}

// Refill puts what was typed into its form on a page, where there is that form, and says
// so above it. It sends nothing, and touches no field that nobody sees.
func (t Typed) Refill(page []byte) ([]byte, error) {
	fields, err := url.ParseQuery(t.Fields)
	if err != nil {
		return page, nil //nolint:nilerr // somebody has changed it: there is nothing to fill in
	}
	doc, err := html.Parse(bytes.NewReader(page))
	if err != nil {
		return nil, fmt.Errorf("read a page of ours: %w", err)
	}
	form := find(doc, func(n *html.Node) bool { return n.DataAtom == atom.Form && attr(n, "action") == t.At })
	if form == nil || !fill(form, fields) {
		return page, nil
	}
	if main := find(doc, func(n *html.Node) bool { return n.DataAtom == atom.Main }); main != nil {
		main.InsertBefore(noticed("What you typed is here again. Look it over, then send it."), main.FirstChild)
	}
	var out bytes.Buffer
	if err := html.Render(&out, doc); err != nil {
		return nil, fmt.Errorf("write a page again: %w", err)
	}
	return out.Bytes(), nil
}

// noticed is a notice as view.NoticeBox draws it.
func noticed(say string) *html.Node {
	box := &html.Node{Type: html.ElementNode, DataAtom: atom.Div, Data: "div",
		Attr: []html.Attribute{{Key: "class", Val: "notice"}, {Key: "role", Val: "status"}}}
	p := &html.Node{Type: html.ElementNode, DataAtom: atom.P, Data: "p"}
	p.AppendChild(&html.Node{Type: html.TextNode, Data: say})
	box.AppendChild(p)
	return box
}

// fill sets the fields of a form and says whether there was one to set.
func fill(form *html.Node, fields url.Values) (some bool) {
	for n := range form.Descendants() {
		name := attr(n, "name")
		values, known := fields[name]
		switch {
		case name == "" || slices.Contains(never, name):
		case n.DataAtom == atom.Select:
			some = choose(n, values) || some
		case n.DataAtom == atom.Textarea && known:
			for n.FirstChild != nil {
				n.RemoveChild(n.FirstChild)
			}
			n.AppendChild(&html.Node{Type: html.TextNode, Data: values[0]})
			some = true
		case n.DataAtom == atom.Input:
			some = enter(n, values, known) || some
		}
	}
	return some
}

// enter sets one input.
func enter(n *html.Node, values []string, known bool) bool {
	switch attr(n, "type") {
	case "hidden", "password", "submit", "file":
		return false
	case "checkbox", "radio":
		set(n, "checked", slices.Contains(values, attr(n, "value")))
		return known
	}
	if known {
		set(n, "value", false)
		n.Attr = append(n.Attr, html.Attribute{Key: "value", Val: values[0]})
	}
	return known
}

// choose sets a select.
func choose(n *html.Node, values []string) (some bool) {
	for o := range n.Descendants() {
		if o.DataAtom == atom.Option {
			chosen := slices.Contains(values, attr(o, "value"))
			some = some || chosen
			set(o, "selected", chosen)
		}
	}
	return some
}

// set gives an attribute without a value to an element, or takes it away.
func set(n *html.Node, key string, on bool) {
	n.Attr = slices.DeleteFunc(n.Attr, func(a html.Attribute) bool { return a.Key == key })
	if on {
		n.Attr = append(n.Attr, html.Attribute{Key: key})
	}
}

func attr(n *html.Node, key string) string {
	for _, a := range n.Attr {
		if a.Key == key {
			return a.Val
		}
	}
	return ""
}

// find is the first element for which something is so.
func find(doc *html.Node, so func(*html.Node) bool) *html.Node {
	for n := range doc.Descendants() {
		if n.Type == html.ElementNode && so(n) {
			return n
		}
	}
	return nil
}
