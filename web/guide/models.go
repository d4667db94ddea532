package guide

import (
	"drover/game/ending"
	"drover/web/view"
)

// ListPage is /guide: the endings that have a page.
type ListPage struct {
	view.Page
	Up     view.Link // the page above: the reader's own first one, or the shelf
	Taught []Row
	Held   []Row
}

// Row is one ending of the list.
type Row struct {
	Ending view.Ending
	Href   string
	Stages []string // stage ids, for their marks
}

// EndingPage is /guide/{code}: the method of one ending.
type EndingPage struct {
	view.Page
	Up      view.Link // as of the list
	Ending  view.Ending
	Hold    bool
	Age     int
	Choices []Choice // the two wordings, for a reader who may choose
	Lead    string
	Key     string // what is drawn on the second boards
	Stages  []Part
}

// Choice is a wording that can be chosen.
type Choice struct {
	Href, Label string
	Chosen      bool
}

// Part is one stage of the method.
type Part struct {
	Stage ending.Stage
	Wants string
	Often string     // what usually goes wrong
	Drill string     // the name of the drill against it
	Train string     // what that trains; empty: what the stage wants
	Way   *view.Link // to those drills on the shelf, for a coach
	Begin Figure     // a position to begin from
	Shows Figure     // one with what is to be seen in it
}

// Figure is a position with what is said below it.
type Figure struct {
	Board view.Sketch
	How   string
	Say   []string
}
