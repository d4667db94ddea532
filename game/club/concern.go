package club

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"
)

// The most characters of what is told to a welfare officer, of an officer's note, and of a
// reason that is noted.
const (
	MostTold   = 1000
	MostNote   = 4000
	MostReason = 300
)

// lines makes a text of several lines ready to be kept: what cannot be seen goes, since
// nobody who has something to tell is refused for how it is written.
func lines(s string) string {
	s = strings.NewReplacer("\r\n", "\n", "\r", "\n").Replace(strings.ToValidUTF8(s, ""))
	return strings.TrimSpace(strings.Map(func(r rune) rune {
		switch {
		case r == '\n':
			return r
		case unicode.IsControl(r), unicode.In(r, unicode.Zl, unicode.Zp):
			return ' '
		case unicode.In(r, unicode.Co, unicode.Cn, unicode.Cs), hidden(r):
			return -1
		}
		return r
	}, s))
}

// ValidateTold makes ready what a child or a guardian tells a welfare officer; it may be
// nothing. Only its length is held against a rule.
func ValidateTold(words string) (string, error) {
	words = lines(words)
	p := Problems{}
	if n := utf8.RuneCountInString(words); n > MostTold {
		p["words"] = fmt.Sprintf("Please keep this to %d characters; it had %d. You can tell the rest in person, or in a second one.",
			MostTold, n)
	}
	return words, p.Err()
}

// ValidateNote holds an officer's note against its rules.
func ValidateNote(words string) (string, error) {
	words = lines(words)
	p := Problems{}
	switch n := utf8.RuneCountInString(words); {
	case n == 0:
		p["words"] = "Please write the note first."
	case n > MostNote:
		p["words"] = fmt.Sprintf("Please keep a note to %d characters; it has %d.", MostNote, n)
	}
	return words, p.Err()
}

// ValidateReason holds the reason of something that needs one against its rules.
func ValidateReason(reason string) (string, error) {
	reason = Tidy(reason)
	p := Problems{}
	p.text("reason", reason, "the reason", MostReason)
	return reason, p.Err()
}

// SamePerson says whether two names may be those of one person: the same words, whatever
// they are called by before their name.
func SamePerson(a, b string) bool {
	a, b = bareName(a), bareName(b)
	return a != "" && a == b
}

// bareName is a name without what a club puts before or after it, as in 'Coach Maren'.
func bareName(name string) string {
	name, _, _ = strings.Cut(SameName(name), ",")
	return strings.TrimPrefix(strings.TrimSpace(name), "coach ")
}
