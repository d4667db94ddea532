// Package view draws what all pages share: the shell, the parts of a page, the
// board and its page. A page is one templ component and one view model shaped like
// its screen: finished words and numbers, no database rows and no rules of the game.
// The pages themselves live beside their handlers, by audience; each gives itself to
// the shell as its child. Nothing inline: no script, style or event attribute leaves
// a page, so the strictest content security policy holds.
package view

import (
	"time"

	"drover/static"
)

// Link is an address and its words.
type Link struct{ Href, Label string }

// Role says whose page it is; it decides what the header offers.
type Role string

// The roles a header knows. Nobody is a person who is not signed in.
const (
	Nobody   Role = ""
	Coach    Role = "coach"
	Student  Role = "student"
	Guardian Role = "guardian"
	Officer  Role = "welfare"
)

// Who is the person the page is drawn for.
type Who struct {
	Role   Role
	Name   string // nickname of a student, "Coach Ines" for a coach
	Club   string
	Mark   string // names the person to the page, as /here does
	Stands bool   // a coach who stands in: no pages of the whole club
}

// Notice is one sentence above the page about what has just happened.
type Notice struct {
	Say   string // the fact
	More  string // what follows from it, may be empty
	Error bool   // stays until solved, drawn in the notice tint
	Undo  string // id of the change that a button undoes, empty: none
	Back  string // the page that the button leads back to, where it is not that of the thing; see coach.Undo
}

// undoing is the address that undoes the change.
func (n Notice) undoing() string {
	if n.Back == "" {
		return "/undo/" + n.Undo
	}
	return "/undo/" + n.Undo + "?back=" + n.Back
}

// Told is something about the own account, or about another coach's, that stays above
// every page until it is done with.
type Told struct {
	Say string
	ID  string // what 'I know' puts away; empty: it stays
	Way *Link  // what to do about it
}

// Own is how the person has the pages and the board.
type Own struct {
	Scheme string // "light" or "dark"; empty: as the device
	Big    bool   // the signs on the board
	Turned bool   // the own men stand at the top
	Sounds bool
}

// Page is what the shell needs. A handler fills Who and Notice; title, menu entry
// and files are set by each page itself.
type Page struct {
	Who    Who
	Notice *Notice
	Told   []Told
	Own    Own

	title  string
	menu   string
	layout string // class of the main element
	module string // ES module of the page below static/js, may be empty
}

// With returns the page with what the shell needs of one screen.
func (p Page) With(title, menu, layout, module string) Page {
	p.title, p.menu, p.layout, p.module = title, menu, layout, module
	return p
}

// themes are the colour of the header, which a browser gives to what stands above the
// page, for a light and a dark device.
func (p Page) themes() (light, dark string) {
	light, dark = "#FFFFFF", "#211B2A"
	switch p.Own.Scheme {
	case "light":
		return light, light
	case "dark":
		return dark, dark
	}
	return light, dark
}

// Part is a piece of a sentence: plain, bold, or with a stage mark before it.
type Part struct {
	Text  string
	Bold  bool
	Stage string // stage id; draws the full mark before the text
}

// Plain is a sentence of one plain part.
func Plain(text string) []Part {
	return []Part{{Text: text}}
}

// State is how far a stage is.
type State string

// The states of a stage mark.
const (
	NotBegun  State = "none"
	InWork    State = "half"
	Reached   State = "full"
	Mastered  State = "bell"
	LostAgain State = "lost"
)

// Mark is one stage mark with its state.
type Mark struct {
	Stage string // centralise, edge, corner, mate; front, escort; hold
	State State
}

// wide says whether something stands beside a mark in this state: a bell, or a fall.
func (s State) wide() bool { return s == Mastered || s == LostAgain }

// box is what is drawn of a mark in this state.
func (s State) box() string {
	if s.wide() {
		return "0 0 40 24"
	}
	return "0 0 24 24"
}

// stateWords say a mark's state to somebody who cannot see it.
var stateWords = map[State]string{
	NotBegun:  "not begun",
	InWork:    "in progress",
	Reached:   "reached",
	Mastered:  "mastered",
	LostAgain: "lost again",
}

// Ending is an ending as a page shows it: its id names the men.
type Ending struct {
	ID   string // KQK, KRK, KRRK, KBBK, KBNK
	Name string // "Bishop and knight"
}

// men are the attacker's men beside his king, as the letters of the sprite.
func (e Ending) men() []string {
	var men []string
	for i := 1; i < len(e.ID) && e.ID[i] != 'K'; i++ {
		men = append(men, string(e.ID[i]|0x20))
	}
	return men
}

// Choice is one entry of a select or a row of buttons.
type Choice struct {
	Value, Label string
	Chosen       bool
	Off          bool   // not offered beside what else is chosen; a page's module may offer it again
	Say          string // what it is, one sentence, said under the row where it is chosen
}

// Errors holds a sentence for each field that cannot be taken as it is, by the
// field's name in the form.
type Errors map[string]string

// Day writes a date without its year, as "Tuesday 24 November".
func Day(t time.Time) string { return t.Format("Monday 2 January") }

// asset is the address of a file of the static tree.
func asset(name string) string { return static.Path(name) }

// Sprite is the address of one drawing in the sprite.
func Sprite(id string) string { return static.Path("img/drover.svg") + "#" + id }

// First is the sentence of one field, or another where that field has none.
func (e Errors) First(field, other string) string {
	if say := e[field]; say != "" {
		return say
	}
	return other
}
