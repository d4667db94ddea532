package view

import (
	"strings"
	"unicode/utf8"
)

// PressCard is one card as it is printed.
type PressCard struct {
	Club, Name, Number string
	Man                string // a man of one's own: K Q R B N P, lower case for the dark one
	Words              []string
	QR                 [][]bool // true is dark, rows from the top, no quiet zone
	Address            string   // where to type the words, without scheme
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
