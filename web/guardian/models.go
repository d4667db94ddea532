package guardian

import (
	"fmt"

	"drover/game/ending"
	"drover/web/view"
)

// ReportPage is /report, a guardian's page.
type ReportPage struct {
	view.Page
	Name     string // the student's
	Rests    bool   // no consent stands
	Week     string // "Havnsund chess club, week of 23 November"
	Sentence []view.Part
	Days     []DayMinutes // seven, Monday first
	Stages   []string     // stage ids that occur, for the key
	Rows     []ReportRow
	Papers   []view.Link // certificates
	Bells    []string    // "Mate with king and rook is mastered; the bell stays. We'll ask once more in three weeks."
	Set      []SetRow    // the drills that are open for the child
	Weeks    WeeksPicture
	RemarkBy string // who wrote the latest remark
	Remark   string // empty: none
	Terms    []TermRow
	Next     string
	Help     string

	ID       string      // the child's number in addresses
	Siblings []Sibling   // where the guardian has several children
	Coach    string      // to a coach: the page of the student; the rest is a guardian's alone
	Consent  *ConsentBox // nil to a coach
	Erase    *EraseBox   // nil to a coach
	Mails    bool        // the page of the weekly mail has something to say
	Until    string      // "This link works until 31 December. Ask the coach for a new one at any time."
}

// Sibling leads to the report of another child.
type Sibling struct {
	Name, Href string
	Here       bool
	Say        string // what waits there: "All will be erased on 14 May, or in the days after it."
}

// WeeksPicture is the small picture of the last weeks.
type WeeksPicture struct {
	Heads []string // the Mondays
	Rows  []WeeksRow
}

// WeeksRow is one ending, week by week.
type WeeksRow struct {
	Name  string
	Cells []WeekCell
}

// WeekCell is one week of an ending: its stages, how many parts of games were played, and how
// many of them alone.
type WeekCell struct {
	Marks     []view.Mark
	Parts     []string // the same for a screen reader: "drive him to the edge: 1 of 2"
	Alone, Of int
}

// add counts a stage's games of the week. Its mark is filled where each was done alone, half
// filled where not each was, and empty where there was none.
func (c *WeekCell) add(stage ending.Stage, clean []bool) {
	alone := 0
	for _, is := range clean {
		if is {
			alone++
		}
	}
	mark := view.Mark{Stage: string(stage), State: view.InWork}
	switch {
	case len(clean) == 0:
		mark.State = view.NotBegun
	case alone == len(clean):
		mark.State = view.Reached
	}
	if len(clean) > 0 {
		c.Parts = append(c.Parts, fmt.Sprintf("%s: %d of %d", stage.Plain(), alone, len(clean)))
	}
	c.Marks, c.Alone, c.Of = append(c.Marks, mark), c.Alone+alone, c.Of+len(clean)
}

// SetRow is a drill that is open for a child, for its guardian.
type SetRow struct {
	Name string // as its coach named it: the child reads it too
	Say  string // "Set by Coach Maren, due Thursday."
}

// DayMinutes is one day's bar.
type DayMinutes struct {
	Day     string // "Mo"
	Minutes int
}

// ReportRow is one ending a month ago and now.
type ReportRow struct {
	Name            string // "Mate with king and rook"
	Before, Now     []view.Mark
	SayThen, SayNow string // "in progress", "two of three"
	Guide           string // the address of its guide
}
