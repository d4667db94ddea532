package export

import (
	"embed"
	"fmt"
	"html/template"
	"io"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
)

//go:embed page.html
var pageFile embed.FS

// page is the readable page; html/template escapes every name.
var page = template.Must(template.New("page.html").Funcs(template.FuncMap{
	"date":   func(d Date) string { return d.Format("2 January 2006") },
	"ending": ending.NameOf,
	"stage":  func(id string) string { return ending.Stage(id).Name() },
	"deed":   func(action, by, about string) string { return club.Deed(action, game.Role(by), about) },
}).ParseFS(pageFile, "page.html"))

// Day is the day of a time where the club is.
func (d Document) Day(t time.Time) string { return d.local(t).Format("2 January 2006") }

// Clock is the day and the time of day where the club is.
func (d Document) Clock(t time.Time) string { return d.local(t).Format("2 January 2006, 15:04") }

func (d Document) local(t time.Time) time.Time { return club.Club{Zone: d.Zone}.Local(t) }

// Came says what came of a game.
func (g Game) Came() string {
	switch {
	case g.Result == "":
		return "under way"
	case g.Kind == "free": // as the database names it
		return "free practice"
	}
	return came[g.Result]
}

// came is how the results are called for somebody who does not play.
var came = map[string]string{
	string(practice.Clean): "won or held alone", string(practice.WonHelped): "done with help",
	string(practice.OverPar): "won alone, by a longer way", string(practice.NotWon): "not won", string(practice.NotHeld): "not held",
	string(practice.Stopped): "stopped while practice rested; it counts for nothing",
}

// Who is the reader's role in words.
func (r Reading) Who() string {
	switch r.Role {
	case string(game.Student):
		return "the child"
	case string(game.Coach):
		return "a coach"
	case string(game.Guardian):
		return "a guardian"
	}
	return "somebody who is not known"
}

// WriteHTML writes a page to read, without scripts and without anything from elsewhere.
func (d Document) WriteHTML(w io.Writer) error {
	if err := page.Execute(w, d); err != nil {
		return fmt.Errorf("write the page: %w", err)
	}
	return nil
}
