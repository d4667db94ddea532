package coach

import (
	"strconv"

	"drover/game"
	"drover/web/view"
)

// ManyPage is /students/many.
type ManyPage struct {
	view.Page
	Text            string
	Signed          bool
	Note            string // how a file was read
	Refused, Unread string // columns by name
	Draft           string // number of the table that was read; empty: none
	Lines           []ManyLine
	Sum             string // "22 students can be added."
	Add             string // the button, empty: nothing can be added
	Agreed          bool   // the table has consents
	Ticks           bool   // some lines may be ticked
	Added           int
	Errors          view.Errors
}

// ManyLine is one line of a table as it would be read.
type ManyLine struct {
	No, Name, Wording, Groups string
	Consent                   string // who agreed, and when
	Say                       string // the problem, empty: none
	Double, Same              bool   // it can be ticked; it is
}

// CardsPage is /cards.
type CardsPage struct {
	view.Page
	All        bool          // for all who have no card
	Fresh, Old []view.Choice // students without and with a card
	Waits      string        // who gets none yet
}

// SheetPage is /cards/sheet.
type SheetPage struct {
	view.Page
	No       string
	Of, Done int // cards; no cards: there is no sheet
	Gone     int // cards that are no longer shown
	Not      string
	Sheets   [][]view.PressCard
	Made     string
}

func (m ConsentPage) title() string {
	if m.First {
		return "Note the consent"
	}
	return "Consent"
}

func (m SheetPage) title() string {
	if m.Of == 0 || m.Done < m.Of {
		return "Sheet of cards"
	}
	n := 0
	for _, sheet := range m.Sheets {
		n += len(sheet)
	}
	return game.Upper(game.Count(n, "card"))
}

// progress says how far a sheet is.
func (m SheetPage) progress() string {
	return strconv.Itoa(m.Done) + " of " + strconv.Itoa(m.Of) + " are made."
}
