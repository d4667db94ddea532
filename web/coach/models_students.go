package coach

import (
	"drover/store"
	"drover/web/view"
)

// StudentsPage is /students.
type StudentsPage struct {
	view.Page
	Ask         store.RosterAsk
	Rows        []StudentRow
	Playing     []PlayingRow
	Groups      []GroupPill
	Into        []view.Choice // groups that students can be put in
	All, Total  int           // in the club, and of those asked for
	Old, NoCard int           // archived, and without a card
	Waiting     int           // for consent, which are among those without a card
	Leaf        Leaf
}

// StudentRow is one line of the roster.
type StudentRow struct {
	ID        string
	Name      string
	Number    string // as printed on the card
	Groups    string // "Tuesday, First team"
	Last      string // last practice, "yesterday" or "not yet"
	What      string // "rook, edge"
	Wording   string
	Games     int
	Guardians int
	HasCard   bool
	Waits     bool // for consent
	Rests     bool // practice rests
	Asked     bool // guardians are asked again
}

// PlayingRow is a game that is being played now.
type PlayingRow struct {
	Name, Href string
	Say        string // "rook, edge, move 9"
	Now        string // what the last move was, where a coach should look
}

// GroupPill is a group with its number, a link that holds the roster to it.
type GroupPill struct {
	Name, Href string
	N          int
	On         bool
}

// StudentNewPage is /students/new.
type StudentNewPage struct {
	view.Page
	Form StudentForm
}

// RegisterPage is /students/register.
type RegisterPage struct {
	view.Page
	Club  string
	Lists []RegisterList
}

// RegisterList is one group of the register.
type RegisterList struct {
	Name  string
	Names []string
}

// StudentForm is the form that adds a student.
type StudentForm struct {
	Name      string
	ConsentBy string // guardian who agreed
	ConsentOn string // 2026-11-24
	Consent   bool
	Wording   int  // 8 or 14
	Same      bool // another child has this nickname, and that is meant
	Errors    view.Errors
}

// StudentPage is /students/{id}.
type StudentPage struct {
	view.Page
	ID, Name, Number string
	Card             string // "Made on 3 November", "No card yet"
	HasCard          bool
	Rests            string       // why practice rests, or will; empty: it does not
	Resting          bool         // practice rests now
	Waits            *ConsentPage // the form that notes the consent; nil: there is one
	Archived         bool         // then only the games are shown
	Erasing          string       // how the erasure of all about the student stands, empty: nobody has asked
	Consent          string       // "Tove's guardian Una agreed on 4 September."
	Guardians        []GuardianRow
	GuardianName     string // as typed in a refused form
	Stuck            []StuckRow
	Next             *NextDrill // nil: everything is mastered or waits for its check
	Set              setList    // the drills that are set
	Endings          []view.EndingMarks
	Tests            []TestRow    // that were passed in the last days
	Check            *CheckResult // nil: not for this student
	First            FirstSaid
	Weeks            WeeksPart
	Games            GamesPart
	Errors           view.Errors
}

// GuardianRow is one guardian and the state of the private link.
type GuardianRow struct {
	ID, Name string
	Link     string // "works until 31 December", "stopped"
	Live     bool   // it can be stopped

	Also bool // a guardian of another child, too
}

// CardPage is a card that has just been made. Its secrets are shown for ten
// minutes.
type CardPage struct {
	view.Page
	StudentID string
	Card      view.PressCard
	Made      string // "25 November 2026"
}

// LinkPage is a guardian's private link. It is shown for ten minutes.
type LinkPage struct {
	view.Page
	StudentID, Student, Guardian string
	Opens                        string // which reports it opens
	URL                          string
	QR                           [][]bool
	Until                        string // "23 February"
}

// OverPage stands where a card or a link is not shown any more, and offers a new
// one.
type OverPage struct {
	view.Page
	Title              string // "Card for Wren"
	Say                string // why it is not shown
	StudentID, Student string
	Ask                string // "Was it not printed in time?"
	Post, Button       string // makes a new one
	Hint               string // what that ends
}

// StuckRow is a student who is stuck in a drill.
type StuckRow struct {
	Say  string    // "Wren: stuck in the rook drill, three in a row not won"
	Why  string    // the reason for the proposal
	Href string    // the student's page
	Set  view.Link // the drill that is proposed
}

// NextDrill is the drill that is proposed for a student.
type NextDrill struct {
	Stage string // stage id of its mark
	Title string // "Rook: drive to the edge, then mate"
	Line  string // "guided, at random, against a king that seeks the centre"
	Why   string
	Set   view.Link
}

// CheckResult is a student's starting check as the coach sees it.
type CheckResult struct {
	Say   string
	Tasks []CheckTask
	Begin string // the button that begins one, empty: none
}

// CheckTask is one of its tasks and what came of it.
type CheckTask struct{ Ask, Said string }
