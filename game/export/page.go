package export

import (
	"embed"
	"fmt"
	"html/template"
	"io"
	"time"

	"drover/game/ending"
)

//go:embed page.html
var pageFile embed.FS

// page is the readable page; html/template escapes every name.
var page = template.Must(template.New("page.html").Funcs(template.FuncMap{
	"day":    func(t time.Time) string { return t.Format("2 January 2006") },
	"date":   func(d Date) string { return d.Format("2 January 2006") },
	"ending": ending.NameOf,
	"stage":  func(id string) string { return ending.Stage(id).Name() },
}).ParseFS(pageFile, "page.html"))

// WriteHTML writes a page to read, without scripts and without anything from elsewhere.
func (d Document) WriteHTML(w io.Writer) error {
	if err := page.Execute(w, d); err != nil {
		return fmt.Errorf("write the page: %w", err)
	}
	return nil
}
