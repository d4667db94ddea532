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
	Errors   view.Errors
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
}
