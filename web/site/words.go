package site

import (
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/progress"
	"drover/web/view"
)

// InDays says a number of days as a person does.
func InDays(n progress.Day) string {
	switch {
	case n <= 1:
		return "tomorrow"
	case n < 7:
		return "in " + game.Number(int(n)) + " days"
	case n < 11:
		return "in a week"
	case n < 46:
		return "in " + game.Number(int(n+3)/7) + " weeks"
	}
	return "in " + game.Number(int(n+15)/30) + " months"
}

// ShortDay writes a date as "4 September", with the year where it is another.
func ShortDay(t, now time.Time) string {
	if t.Year() != now.Year() {
		return t.Format("2 January 2006")
	}
	return t.Format("2 January")
}

// Ago writes a day as a person says it.
func Ago(t, now time.Time) string {
	switch n := int(club.CalendarDay(now).Sub(club.CalendarDay(t)).Hours() / 24); {
	case n == 0:
		return "today"
	case n == 1:
		return "yesterday"
	case n > 1 && n < 7:
		return t.Format("Monday")
	}
	return ShortDay(t, now)
}

// Due writes a due day; empty where there is none.
func Due(d *time.Time, now time.Time) string {
	if d == nil {
		return ""
	}
	switch n := int(d.Sub(club.CalendarDay(now)).Hours() / 24); {
	case n < 0:
		return "was due " + d.Format("2 January")
	case n == 0:
		return "due today"
	case n == 1:
		return "due tomorrow"
	case n < 7:
		return "due " + d.Format("Monday")
	}
	return "due " + d.Format("2 January")
}

// StartsWord counts starts: "4 starts".
func StartsWord(n int) string { return game.Count(n, "start") }

// EndingOf is an ending as pages show it.
func EndingOf(code string) view.Ending { return view.Ending{ID: code, Name: ending.NameOf(code)} }

// MateWith names an ending for somebody who does not play.
func MateWith(code string) string {
	names := map[string]string{
		"KQK": "king and queen", "KRK": "king and rook", "KRRK": "two rooks", "KBBK": "two bishops",
		"KBNK": "bishop and knight", "KPK": "king and pawn",
	}
	if n := names[code]; n != "" {
		return "Mate with " + n
	}
	return "The ending " + code
}
