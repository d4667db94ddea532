package coach

import (
	"strconv"
	"strings"
	"unicode/utf8"

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
	Sheets   [][]PressCard
	Made     string
}

// How many letters of a name have room on a card in each size.
const (
	longName   = 11
	longerName = 24
)

// size is the class of a name that is too long for the usual letters.
func (c PressCard) size() string {
	switch n := utf8.RuneCountInString(c.Name); {
	case n > longerName:
		return "longer"
	case n > longName:
		return "long"
	}
	return ""
}

// mostWords is how many letters of the four words have room on one line in the usual size.
const mostWords = 22

// longWords says whether the words need smaller letters, so that a card stays as high as
// the others.
func (c PressCard) longWords() bool { return len(strings.Join(c.Words, " ")) > mostWords }

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
