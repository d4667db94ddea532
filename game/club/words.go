package club

import (
	_ "embed" // the list of words
	"strings"
)

// wordList is one word a line, 2,048 of them: the English list of the open
// standard BIP-39 (2013, MIT licence) without words that do not belong on a
// child's card, filled up with plants, animals and things of our own choice.
//
//go:embed words.txt
var wordList string

var words = strings.Fields(wordList)
