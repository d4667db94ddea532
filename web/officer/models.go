package officer

import (
	"drover/web/view"
)

// DeskPage is /welfare as an officer has it.
type DeskPage struct {
	view.Page
	Unopened  int
	Concerns  []ConcernLine // those that are not closed
	Emergency string        // whom to call
	Outside   string        // may be empty
	Others    string        // the names of the other officers
	Mail      string        // "last one today 17:41, arrived at the mail server"
	Staff     []StaffLine
	Guardians int
	Noted     []NotedLine
	Erasures  []ErasureLine // by number alone
	Back      int           // consents that were taken back
}

// ConcernLine is one concern in a list.
type ConcernLine struct {
	ID, Title, Say   string
	Unopened, Closed bool
	Main             bool // its button is the main one of the page
}

// ConcernsPage is /welfare/concerns.
type ConcernsPage struct {
	view.Page
	Open, Closed []ConcernLine
}

// ConcernPage is /welfare/concerns/{id}.
type ConcernPage struct {
	view.Page
	ID       string
	Title    string // "Told on Tuesday 24 November at 18:12"
	From     string // "from a child" until it is opened
	Opened   string // when and by whom; empty: nobody yet
	Closed   string // when and by whom; empty: it goes on
	About    string // the child
	Words    []string
	Notes    []NoteLine
	Student  string // number in an address
	Until    string // the hour of games ends then; empty: no reason is noted
	Reason   string // as typed in a refused form
	Text     string // of a note, as typed in a refused form
	Errors   view.Errors
	Unopened bool
}

// NoteLine is one note.
type NoteLine struct {
	By, At string
	Words  []string
}

// GamesPage is /welfare/students/{id}/games.
type GamesPage struct {
	view.Page
	Name, Until, Reason string
	Rows                []GameLine
	Older, Newer        string // addresses, empty: there are none
}

// GameLine is one game of a child.
type GameLine struct{ ID, Title, Day, Result string }

// StaffLine is a person in the list of who has access.
type StaffLine struct {
	ID, Name, Role, Groups string
	Seen                   string
	You, Barred            bool
	May                    bool // who looks may bar them
}

// AccessPage is /welfare/access.
type AccessPage struct {
	WelfarePage
	Staff     []StaffLine
	Guardians int
	Barred    []BarredLine
	NoOwner   bool // no owner of the club can act
}

// BarredLine is somebody who is barred.
type BarredLine struct {
	ID, Name, Say, Reason string
	May                   bool // who looks may give the access back
}

// GuardiansPage is /welfare/guardians.
type GuardiansPage struct {
	view.Page
	Rows []LinkLine
}

// LinkLine is one guardian.
type LinkLine struct {
	ID, Name, Children, Say string
	Barred                  bool
}

// BarPage is /welfare/bar/{id}.
type BarPage struct {
	view.Page
	ID, Name string
	Guardian bool
	Last     bool // the last owner who can act
	Already  bool
	Reason   string
	Errors   view.Errors
}

// ReadsPage is /welfare/reads.
type ReadsPage struct {
	view.Page
	Who, Day     string // as asked
	Rows         []NotedLine
	Older, Newer string // addresses, empty: there are none
	Errors       view.Errors
}

// NotedLine is a row of the audit, in words.
type NotedLine struct{ At, Who, What, Why string }
