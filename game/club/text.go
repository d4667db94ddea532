package club

import (
	"fmt"
	"strings"
	"unicode"
	"unicode/utf8"

	"golang.org/x/text/cases"
	"golang.org/x/text/unicode/norm"
)

// Two characters without a shape of their own that join what stands around them
// or keep it apart.
const (
	nonJoiner = '\u200c'
	joiner    = '\u200d'
)

// spaced is white space that Tidy folds. What ends a line or a paragraph is left
// for the check to refuse.
func spaced(r rune) bool {
	return unicode.IsSpace(r) && r != '\u0085' && r != '\u2028' && r != '\u2029'
}

// Tidy trims a text, folds runs of white space, and removes joiners where they
// do nothing. They stay between letters of a script that writes with them, and
// inside an emoji.
func Tidy(s string) string {
	if !utf8.ValidString(s) {
		return s // for the check to refuse
	}
	text := []rune(s)
	kept := text[:0:0]
	for i, r := range text {
		if (r == joiner || r == nonJoiner) && !joins(r, text[:i], text[i+1:]) {
			continue
		}
		kept = append(kept, r)
	}
	return strings.Join(strings.FieldsFunc(string(kept), spaced), " ")
}

// joined are the scripts in which a joiner changes how letters are written (after
// RFC 5892, appendix A.1 and A.2, which lets it stand there).
var joined = []*unicode.RangeTable{
	unicode.Arabic, unicode.Syriac, unicode.Mandaic, unicode.Nko, unicode.Mongolian, unicode.Devanagari,
	unicode.Bengali, unicode.Gurmukhi, unicode.Gujarati, unicode.Oriya, unicode.Tamil, unicode.Telugu,
	unicode.Kannada, unicode.Malayalam, unicode.Sinhala, unicode.Myanmar, unicode.Khmer, unicode.Tibetan,
}

// joins says whether a joiner does something between two texts.
func joins(r rune, before, after []rune) bool {
	if len(before) == 0 || len(after) == 0 {
		return false
	}
	last, next := before[len(before)-1], after[0]
	if r == joiner && unicode.In(next, unicode.So, unicode.Sm) {
		return unicode.In(last, unicode.So, unicode.Sk, unicode.Variation_Selector) || waves(last)
	}
	for i := len(before) - 1; i > 0 && unicode.Is(unicode.M, last); i-- { // vowel signs belong to the letter before them
		last = before[i-1]
	}
	return unicode.In(last, joined...) && unicode.IsLetter(last) && unicode.In(next, joined...) && unicode.IsLetter(next)
}

// waves says whether a character is one of those that spell out, unseen, whose
// flag a flag is.
func waves(r rune) bool { return r >= 0xe0020 && r <= 0xe007f }

// flag is the black flag that such letters follow.
const flag = '\U0001f3f4'

// blank is a sign of the six-dot script in which no dot is raised.
const blank = '\u2800'

// visible says whether a character shows anything by itself; a mark does not.
func visible(r rune) bool {
	return unicode.In(r, unicode.L, unicode.N, unicode.P, unicode.S) && r != blank
}

// refused says why a text may not be kept, or nothing: characters that cannot be
// seen could make two names look the same, or turn around what stands beside one.
func refused(s string) string {
	if !utf8.ValidString(s) {
		return "There is something in this that cannot be read. Please type it again."
	}
	shows, waving := false, false
	for _, r := range s {
		waving = r == flag || waving && waves(r)
		switch {
		case unicode.IsControl(r), unicode.In(r, unicode.Zl, unicode.Zp):
			return "Please write this on one line, without control characters."
		case unicode.Is(unicode.Bidi_Control, r):
			return "There is a hidden sign in this that changes the direction of writing. Please type it again, without pasting."
		case unicode.In(r, unicode.Co, unicode.Cn, unicode.Cs):
			return "There is a character in this that not every device can show. Please choose another."
		case hidden(r) && !waving:
			return "There is a character in this that cannot be seen. Please type it again, without pasting."
		}
		shows = shows || visible(r)
	}
	if !shows {
		return "Please write at least one letter or sign that can be seen."
	}
	return ""
}

// hidden says whether a character is never seen: joiners, which Tidy has looked
// at, and the Arabic signs that are drawn around numbers are not meant.
func hidden(r rune) bool {
	return unicode.In(r, unicode.Cf, unicode.Other_Default_Ignorable_Code_Point) && r != joiner && r != nonJoiner &&
		!unicode.Is(unicode.Prepended_Concatenation_Mark, r)
}

// text holds a text of one line, as Tidy leaves it, against the rules of all such
// texts.
func (p Problems) text(field, value, what string, most int) {
	n := utf8.RuneCountInString(value)
	say := refused(value)
	switch {
	case n == 0:
		p[field] = "Please write " + what + "."
	case n > most:
		p[field] = fmt.Sprintf("Please keep this to %d characters; it has %d.", most, n)
	case say != "":
		p[field] = say
	}
}

// SameName returns the same text for names that a reader may take for one
// another. Case, width and style of letters do not matter, nor does what cannot
// be seen (Unicode Standard, section 3.13, and annex 15, form KC).
func SameName(name string) string {
	folded := cases.Fold().String(norm.NFKC.String(name))
	seen := strings.Map(func(r rune) rune {
		if unicode.In(r, unicode.Cf, unicode.Variation_Selector) {
			return -1
		}
		return r
	}, folded)
	return Tidy(norm.NFKC.String(seen))
}
