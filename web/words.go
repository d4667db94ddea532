package web

import (
	"fmt"
	"time"

	"drover/game"
	"drover/game/ending"
	"drover/game/practice"
	"drover/store"
	"drover/web/view"
)

// shortDay writes a date as "4 September", with the year where it is another.
func shortDay(t, now time.Time) string {
	if t.Year() != now.Year() {
		return t.Format("2 January 2006")
	}
	return t.Format("2 January")
}

// ago writes a day as a person says it.
func ago(t, now time.Time) string {
	day := func(t time.Time) time.Time { return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC) }
	switch n := int(day(now).Sub(day(t)).Hours() / 24); {
	case n == 0:
		return "today"
	case n == 1:
		return "yesterday"
	case n > 1 && n < 7:
		return t.Format("Monday")
	}
	return shortDay(t, now)
}

// due writes a due day; empty where there is none.
func due(d *time.Time, now time.Time) string {
	if d == nil {
		return ""
	}
	today := time.Date(now.Year(), now.Month(), now.Day(), 0, 0, 0, 0, time.UTC)
	switch n := int(d.Sub(today).Hours() / 24); {
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

func startsWord(n int) string { return game.Count(n, "start") }

// taskName names what is played: the ending, or the draw that is held.
func taskName(code string, hold bool) string {
	if h, ok := ending.HoldOf(code); ok && hold {
		return h.Name
	}
	return ending.NameOf(code)
}

func endingOf(code string) view.Ending { return view.Ending{ID: code, Name: ending.NameOf(code)} }

// place names the part of the board that a stage is about.
func place(s ending.Stage) string {
	switch s {
	case ending.Centralise:
		return "the centre"
	case ending.Edge:
		return "the edge"
	case ending.Corner:
		return "the corner"
	case ending.Mate:
		return "the mate"
	case ending.Front:
		return "getting in front of the pawn"
	case ending.Escort:
		return "escorting the pawn"
	}
	return "the game"
}

// lostAt says at which part of a game something went wrong, in two pieces: a page may
// draw the stage's mark between them.
func lostAt(s ending.Stage) (at, where string) {
	switch s {
	case ending.Mate:
		return "just before ", "mate"
	case ending.Front, ending.Escort:
		return "while ", place(s)
	}
	return "at ", place(s)
}

// lostOn is lostAt of many games, in two pieces too.
func lostOn(s ending.Stage) (at, where string) {
	switch s {
	case ending.Centralise:
		return "before he is out of ", place(s)
	case ending.Edge, ending.Corner:
		return "on the way to ", place(s)
	case ending.Mate, ending.Front, ending.Escort:
	}
	return lostAt(s)
}

// lostWords is lostAt in one piece.
func lostWords(s ending.Stage) string {
	at, where := lostAt(s)
	return at + where
}

// resultWords writes a result for a list of games.
func resultWords(r practice.Result, failed ending.Stage, end practice.End) string {
	switch {
	case r == "":
		return "under way"
	case r == practice.NotWon && failed != "":
		return "not won, " + failedWords(end) + " " + lostWords(failed)
	case !r.Good() && end == practice.Abandoned:
		return "not finished"
	case !r.Good() && end == practice.Restarted:
		return "started again"
	}
	return string(r)
}

// failedWords says how a game that was not won ended, before the part in which
// it did: the win is lost only where the board took it.
func failedWords(end practice.End) string {
	switch end {
	case practice.Resigned:
		return "stopped"
	case practice.OverMoves:
		return "out of moves"
	case practice.Time:
		return "out of time"
	}
	return "lost the win"
}

// gameResult writes what came of a game for a list; of a task of the starting
// check it says the least.
func gameResult(g store.GameInfo) string {
	switch {
	case g.Kind == store.OfDrill && !g.Counts && g.Result != "":
		return "played with a coach"
	case g.Kind != store.OfNewcomer || g.Result == "":
		return resultWords(g.Result, g.Failed, g.End)
	case g.Result == practice.NotWon:
		return "not yet"
	}
	return "found"
}

// gameTitle names a game in a list: its drill and start, or what it was for.
func gameTitle(g store.GameInfo) string {
	switch {
	case g.Kind == store.OfRecheck:
		return ending.NameOf(g.Ending) + ", " + place(g.From) + ": re-check"
	case g.Kind == store.OfPart:
		return ending.NameOf(g.Ending) + ", the last part"
	case g.Kind == store.OfNewcomer:
		return ending.NameOf(g.Ending) + ": starting check"
	case g.Drill != "":
		return fmt.Sprintf("%s, start\u00a0%d", g.Drill, g.Start+1)
	}
	return fmt.Sprintf("%s, start\u00a0%d", ending.NameOf(g.Ending), g.Start+1)
}
