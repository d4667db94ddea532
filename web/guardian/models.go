package guardian

import "drover/web/view"

// ReportPage is /report, a guardian's page.
type ReportPage struct {
	view.Page
	Name     string // the student's
	Week     string // "Havnsund chess club, week of 23 November"
	Sentence []view.Part
	Days     []DayMinutes // seven, Monday first
	Stages   []string     // stage ids that occur, for the key
	Rows     []ReportRow
	Papers   []view.Link // certificates
	Bells    []string    // "Mate with king and rook is mastered; the bell stays. We'll ask once more in three weeks."
	Set      []SetRow    // the drills that are open for the child
	Next     string
	Help     string
	Consent  string // "You agreed to practice on 4 September."
	Kept     string // what is kept and for how long
	Until    string // "This link works until 31 December. Ask the coach for a new one at any time."
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
