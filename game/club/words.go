package club

import (
	_ "embed" // the list of words
	"strings"
)

// wordList is one word on each line, 2,048 of them, all of our own choice: things,
// animals, food and doings of every day that a child of eight can read and type.
// A word that leaves the list goes on to open the cards it was printed on, since
// a sign-in compares hashes and never looks a word up here.
//
//go:embed words.txt
var wordList string

var words = strings.Fields(wordList)
