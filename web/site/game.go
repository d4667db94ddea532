package site

import (
	"fmt"
	"net/http"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/live"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
)

// GoPlay leads to a game, or where there is none to the first page.
func (s *Site) GoPlay(w http.ResponseWriter, r *http.Request, g game.GameID) error {
	to := fmt.Sprintf("/play/%d", g)
	if g == 0 {
		to = "/today"
	}
	http.Redirect(w, r, to, http.StatusSeeOther)
	return nil
}

// TestWord says before anything else that a game is a test.
func TestWord(m practice.Mode) string {
	if m == practice.Test {
		return "a test, "
	}
	return ""
}

// About is what the board page is told of a game.
func (s *Site) About(g store.GameInfo) live.About {
	a := live.About{Title: TaskName(g.Ending, g.Hold), Sub: TestWord(g.Mode) + fmt.Sprintf("start %d of %d", g.Start+1,
		g.Starts), Next: "/today", Again: g.Kind == store.OfDrill && g.Task != 0, Pace: g.Pace}
	switch g.Kind {
	case store.OfRecheck:
		a.Sub, a.First = "still yours? One start", "One short game, all alone. Your first move."
		return a
	case store.OfPart:
		a.Sub, a.First, a.Next = "the last part", Plenty+" Your first move.", "next"
		return a
	case store.OfPlacement:
		a.Title, a.Sub, a.Next = "Starting check", fmt.Sprintf("task %d of %d", g.Start+1, progress.PlacementCount()), "next"
		a.Task = progress.AskAt(g.Start)
		return a
	case store.OfTrial:
		a.Sub = TestWord(g.Mode) + "tried out"
		a.First, a.Next = "Nobody sees this game, and it counts for nothing. Your first move.", fmt.Sprintf("/drills/%d", g.DrillID)
		if g.Draft != 0 {
			a.Next = fmt.Sprintf("/drills/new?draft=%d", g.Draft)
		}
		a.Again, a.Trial = true, true
		return a
	case store.OfAgain:
		a.Sub, a.First, a.Again = fmt.Sprintf("once more from move %d", g.Start+1), nothing, true
		if g.Of != 0 {
			a.Next = fmt.Sprintf("/games/%d", g.Of)
		}
		return a
	case store.OfFree:
		a.Sub, a.First, a.Next, a.Again = "free practice", nothing, "next", true
		return a
	case store.OfDrill:
	}
	if g.InTest > 0 {
		return inTest(a, g)
	}
	if g.Try > 1 {
		a.Sub += fmt.Sprintf(", try %d", g.Try)
	}
	if g.Task != 0 && g.Start+1 < g.Starts {
		a.Next = "next"
	}
	return a
}

// inTest is what the page is told of a game of a test of five.
func inTest(a live.About, g store.GameInfo) live.About {
	place := fmt.Sprintf("game %d of %d", g.InTest, club.TestGames)
	a.Test, a.Sub, a.Again, a.Most = "Test, "+place, "test, "+place, false, club.Within(g.Ending, g.From, g.To)
	a.First = "All alone. Your first move."
	if a.Most > 0 {
		a.First = fmt.Sprintf("All alone, %s. Your first move.", club.Measure(a.Most))
	}
	if g.InTest < club.TestGames {
		a.Next = "next"
	}
	return a
}

// nothing is what a student reads before a game that counts for nothing.
const nothing = "This counts for nothing, so try what you like. Your first move."

// Plenty is what a child reads in place of a fourth try.
const Plenty = "Three tries is plenty. Let's do just the last part."

// TaskName names what is played: the ending, or the draw that is held.
func TaskName(code string, hold bool) string {
	if h, ok := ending.HoldOf(code); ok && hold {
		return h.Name
	}
	return ending.NameOf(code)
}

// resultWords writes a result for a list of games.
func resultWords(r practice.Result, failed ending.Stage, end practice.End) string {
	switch {
	case r == "":
		return "under way"
	case r == practice.NotWon && failed != "":
		return "not won, " + FailedWords(end) + " " + failed.Lost()
	case !r.Good() && end == practice.Abandoned:
		return "not finished"
	case !r.Good() && end == practice.Restarted:
		return "started again"
	case end == practice.Stopped:
		return "stopped, counts for nothing"
	}
	return string(r)
}

// FailedWords says how a game that was not won ended, before the part in which
// it did: the win is lost only where the board took it.
func FailedWords(end practice.End) string {
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

// GameResult writes what came of a game for a list; of a task of the starting
// check it says the least.
func GameResult(g store.GameInfo) string {
	switch {
	case g.Kind == store.OfDrill && !g.Counts && g.Result != "" && g.End != practice.Stopped:
		return "played with a coach"
	case g.Kind != store.OfPlacement || g.Result == "":
		return resultWords(g.Result, g.Failed, g.End)
	case g.Result == practice.NotWon:
		return "not yet"
	}
	return "found"
}

// GameResultIn is GameResult in two pieces: what came of a game, and where it was lost,
// empty where no stage can be named.
func GameResultIn(g store.GameInfo) (result, where string) {
	if g.Result == practice.NotWon && g.Failed != "" && g.Counts {
		where = FailedWords(g.End) + " " + g.Failed.Lost()
		g.Failed = ""
	}
	return GameResult(g), where
}

// GameTitle names a game in a list: its drill and start, or what it was for.
func GameTitle(g store.GameInfo) string {
	switch {
	case g.Kind == store.OfRecheck:
		return ending.NameOf(g.Ending) + ", " + g.From.Place() + ": re-check"
	case g.Kind == store.OfPart:
		return ending.NameOf(g.Ending) + ", the last part"
	case g.Kind == store.OfPlacement:
		return ending.NameOf(g.Ending) + ": starting check"
	case g.Kind == store.OfAgain:
		return fmt.Sprintf("%s, once more from move %d", TaskName(g.Ending, g.Hold), g.Start+1)
	case g.Kind == store.OfFree:
		return TaskName(g.Ending, g.Hold) + ": free practice"
	case g.Drill != "":
		return fmt.Sprintf("%s, start\u00a0%d", g.Drill, g.Start+1)
	}
	return fmt.Sprintf("%s, start\u00a0%d", ending.NameOf(g.Ending), g.Start+1)
}
