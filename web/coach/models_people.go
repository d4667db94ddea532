package coach

import "drover/web/view"

// EditPage is /students/{id}/edit.
type EditPage struct {
	view.Page
	ID, Name string
	Now      string // the name as it is
	Wording  int
	Groups   []view.Choice
	Same     bool
	Revision int
	Clash    string // somebody else was first, empty: nobody
	NowSay   string // then how it is now
	Errors   view.Errors
}

// ConsentPage is /students/{id}/consent.
type ConsentPage struct {
	view.Page
	ID, Name string
	By, On   string
	Mistake  string
	First    bool   // no consent is noted yet
	Asked    bool   // guardians are asked again
	Signed   bool   // then: the guardian has agreed, and the club keeps the form
	Resting  bool   // practice rests now
	State    string // why practice rests, or will; empty: it does not
	Versions []view.Choice
	Errors   view.Errors

	Guardians      []view.Choice // who may have taken consent back
	BackWho        string        // who was chosen in a refused form
	BackBy, BackOn string
	BackErrors     view.Errors
}

// GroupsPage is /groups.
type GroupsPage struct {
	view.Page
	Rows []GroupLine
	Name string // of a new group, as typed in a refused form
	Say  string // why it was refused
}

// GroupLine is one group.
type GroupLine struct {
	ID, Name string
	Students int
	Say      string // why another name was refused
}

// SeasonPage is /season.
type SeasonPage struct {
	view.Page
	Students []SeasonStudent
	Groups   []SeasonGroup
	Withdraw bool
	Preview  bool // what would happen, to be done or changed
}

// SeasonStudent is a student who may leave.
type SeasonStudent struct {
	ID, Name, Groups string
	Leaves           bool
}

// SeasonGroup is a group that may go on to another.
type SeasonGroup struct {
	Name     string
	Students int
	Up       []view.Choice
	To       string // the group that it goes on to, empty: it stays
	Value    string
}

// SettingsPage is /settings.
type SettingsPage struct {
	view.Page
	Form   settingsForm
	Clash  string   // somebody else was first, empty: nobody
	Now    []string // then how it is now, in the order of the fields
	Errors view.Errors
	Backup string // when the last one was made, empty: there is none
}

// CoachesPage is /coaches.
type CoachesPage struct {
	view.Page
	Rows       []PersonLine
	Owner      bool // who looks is one
	Groups     []view.Choice
	Successors []view.Choice
	Until      string // as typed
	URL        string // the link to join that was made just now, empty: none
	Barred     []BarredLine
	Errors     view.Errors
}

// BarredLine is somebody whose access a welfare officer has stopped.
type BarredLine struct{ ID, Name, Say, Reason string }

// PersonLine is one coach.
type PersonLine struct {
	ID, Name, Email string
	Owner, You      bool
	Factor          bool   // a second factor is on
	Barred          bool   // by a welfare officer
	Stands          string // "stands in for Tuesday until 3 December", empty: for good
	Seen            string
}

// HandoverPage is /handover.
type HandoverPage struct {
	view.Page
	Groups []view.Choice
	Rows   []HandoverLine
}

// HandoverLine is one student.
type HandoverLine struct {
	ID, Name           string
	Done, Next, Stages string
}
