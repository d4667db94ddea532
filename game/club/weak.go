package club

import (
	_ "embed" // the list of common passwords
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/cases"
	"golang.org/x/text/unicode/norm"
)

// veryCommon is said of a password that many people have.
const veryCommon = "This is one of the first passwords that anybody tries. Choose a few words that come to nobody else's mind."

//go:embed commonest.txt
var commonestText string

// commonest are the 3,000 commonest passwords of 8 characters or more of a general list;
// commonest.LICENSE says which.
var commonest = func() map[string]bool {
	all := map[string]bool{}
	for _, p := range strings.Fields(commonestText) {
		all[p] = true
	}
	return all
}()

// site is the name that everybody here knows.
const site = "Drover"

// plain is what counts of a password when it is held against what others would
// try: letters, figures and what is drawn on them, whatever their case.
func plain(s string) []rune {
	var out []rune
	for _, r := range cases.Fold().String(norm.NFKC.String(s)) {
		if unicode.In(r, unicode.L, unicode.M, unicode.N) {
			out = append(out, r)
		}
	}
	return out
}

// guessed says why others would find a password early, or nothing. own are names
// and addresses that they know.
func guessed(password string, own []string) string {
	whole := plain(password)
	bare := []rune(strings.TrimFunc(string(whole), unicode.IsNumber))
	for _, p := range [][]rune{[]rune(strings.ToLower(password)), whole, bare} {
		switch {
		case 2*len(p) < len([]rune(password)): // most of it is something else
		case repeats(p, 1):
			return "Please use more than one letter: a few words do well."
		case firstTries[string(p)]:
			return veryCommon
		case made(p, own):
			return "This is made of a name or an address that others know. " +
				"Choose a few words that have nothing to do with you or the club."
		case repeats(p, leastPassword-1):
			return "This says the same thing again and again. Choose a few words that are all different."
		case runs(p):
			return "These are letters, figures or keys in a row. Choose a few words that do not belong together."
		}
	}
	return ""
}

// repeats says whether a text is one thing of at most so many characters, said
// twice or more; the last time it may break off.
func repeats(p []rune, most int) bool {
	for n := 1; n <= min(most, len(p)/2); n++ {
		if slices.Equal(p[n:], p[:len(p)-n]) {
			return true
		}
	}
	return false
}

// made says whether nothing but figures is left of a text without own names.
func made(p []rune, own []string) bool {
	const mark = "\x00"
	left := string(p)
	for _, name := range spellings(own) {
		left = strings.ReplaceAll(left, name, mark)
	}
	return strings.Contains(left, mark) && strings.Trim(left, mark+"0123456789") == ""
}

// spellings are names as plain has them, and the words of each that have three
// letters or more; the longest first.
func spellings(own []string) []string {
	var out []string
	add := func(s string, least int) {
		if p := string(plain(s)); len([]rune(p)) >= least {
			out = append(out, p)
		}
	}
	for _, name := range own {
		add(name, 1)
		for _, word := range strings.FieldsFunc(name, parts) {
			add(word, 3)
		}
	}
	slices.SortFunc(out, func(a, b string) int { return len(b) - len(a) })
	return out
}

// parts says whether a character stands between the words of a name.
func parts(r rune) bool { return unicode.In(r, unicode.P, unicode.S, unicode.Z) }

// addresses are an e-mail address and what stands before its @.
func addresses(email string) []string {
	name, _, _ := strings.Cut(email, "@")
	return []string{string(plain(email)), name}
}

// rows are what a finger runs along: the rows of the keyboards that most of us
// have, their slanting columns, the alphabet and the figures.
var rows = bothWays(
	"qwertyuiop", "asdfghjkl", "zxcvbnm", "qwertzuiop", "yxcvbnm", "azertyuiop", "qsdfghjklm", "wxcvbn",
	"1234567890", "0123456789",
	"abcdefghijklmnopqrstuvwxyz", "1qaz2wsx3edc4rfv5tgb6yhn7ujm8ik9ol0p", "qazwsxedcrfvtgbyhnujmikolp",
	"1q2w3e4r5t6y7u8i9o0p",
)

func bothWays(lines ...string) []string {
	for _, line := range lines {
		back := []rune(line)
		slices.Reverse(back)
		lines = append(lines, string(back))
	}
	return lines
}

// leastRun is the shortest run that counts.
const leastRun = 3

// runs says whether a text is made of runs along such rows; of the last one less
// than the shortest may stand there.
func runs(p []rune) bool {
	reached := make([]bool, len(p)+1)
	reached[0] = true
	for i := range p {
		if !reached[i] {
			continue
		}
		for n := leastRun; n <= longest(p[i:]); n++ {
			reached[i+n] = true
		}
		if len(p)-i < leastRun {
			return true
		}
	}
	return reached[len(p)]
}

// longest is the length of the longest run with which a text begins.
func longest(p []rune) int {
	most := 0
	for _, row := range rows {
		at := strings.IndexRune(row, p[0])
		n := 0
		for at >= 0 && n < len(p) && at+n < len(row) && rune(row[at+n]) == p[n] {
			n++
		}
		most = max(most, n)
	}
	return most
}
