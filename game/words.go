package game

import (
	"strconv"
	"strings"
)

// Count writes a number with its word, as in "1 move" or "21 moves".
func Count(n int, what string) string {
	if n != 1 {
		what += "s"
	}
	return strconv.Itoa(n) + " " + what
}

// Number writes a number up to ten as a word, "no" for none, and others in figures.
func Number(n int) string {
	words := []string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten"}
	if n >= 0 && n < len(words) {
		return words[n]
	}
	return strconv.Itoa(n)
}

// List joins names as a sentence does: "A, B and C".
func List(names []string) string {
	if len(names) < 2 {
		return strings.Join(names, "")
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " and " + names[last]
}

// Lower writes what begins a sentence as it stands inside one.
func Lower(s string) string { return cased(s, strings.ToLower) }

// Upper writes what stands inside a sentence as it begins one.
func Upper(s string) string { return cased(s, strings.ToUpper) }

func cased(s string, change func(string) string) string {
	if s == "" {
		return ""
	}
	return change(s[:1]) + s[1:]
}
