package student

import (
	"fmt"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
	"drover/web/site"
)

const testGames = club.TestGames

// gameVerdict says whether the last game of a test is one of those that pass it; empty where
// the panel says it all.
func gameVerdict(t progress.Sitting) string {
	if len(t.Games) == 0 {
		return ""
	}
	last, most := t.Games[len(t.Games)-1], t.Within()
	alone := last.Result.Alone()
	switch {
	case alone && most > 0 && last.Passed():
		return "That is " + club.Measure(most) + "."
	case alone && most > 0:
		return fmt.Sprintf("That is more than the %d moves of this test.", most)
	case last.Passed():
		return "It was clean."
	case alone:
		return "Clean takes fewer moves, or no move that costs much."
	case last.Result == practice.WonHelped:
		return "In a test only what is done alone counts."
	}
	return ""
}

// testVerdict says how a test stands: after its fifth game whether it is passed, and in how many
// days it is asked once more.
func testVerdict(t progress.Sitting, again progress.Day, open bool) string {
	n, measure := game.Number(t.Won()), club.Measure(t.Within())
	if t.Won() == 0 {
		n = "none"
	}
	switch {
	case !t.Over():
		return fmt.Sprintf("Game %d of %d: %s %s so far.", len(t.Games), testGames, n, measure)
	case t.Passed():
		say := fmt.Sprintf("The test is passed: %s of %s %s.", n, game.Number(testGames), measure)
		if again > 0 {
			say += fmt.Sprintf(" We ask once more %s.", site.InDays(again))
		}
		return say
	}
	return notYet(t, open)
}

// notYet is said of a test that is over and not passed.
func notYet(t progress.Sitting, open bool) string {
	n := game.Number(t.Won())
	if t.Won() == 0 {
		n = "none"
	}
	say := fmt.Sprintf("Not yet: %s of %s %s.", n, game.Number(testGames), club.Measure(t.Within()))
	if open {
		say += " It can be tried again another day."
	}
	return say
}

// testLine says on today what a test asks, and how much of it is played.
func testLine(t progress.Sitting) string {
	say := fmt.Sprintf("A test of %s games, all alone, on one day; %s %s pass.", game.Number(testGames),
		game.Number(club.TestPassed), club.Measure(t.Within()))
	switch n := len(t.Games); {
	case t.Over():
		return notYet(t, true)
	case n == 1:
		say += " One of five is played today."
	case n > 1:
		say += fmt.Sprintf(" %s of five are played today.", game.Upper(game.Number(n)))
	}
	return say
}

// papersFor is how many days the first page offers a new certificate.
const papersFor = 7

// papers are the certificates of endings that were mastered in the last days.
func papers(of progress.Record) []Paper {
	var out []Paper
	for _, plan := range ending.Plans() {
		c, missing := of.CertificateOf(plan)
		if len(missing) == 0 && of.Today()-c.Day < papersFor {
			out = append(out, Paper{site.EndingOf(plan.Code), site.MateWith(plan.Code) + " is yours, every part of it.",
				"/certificate/" + plan.Code})
		}
	}
	return out
}

// bells are the stages that are mastered with a game.
func bells(of progress.Record, id game.GameID) []thenBell {
	var out []thenBell
	for _, k := range of.Rung(id) {
		say := yours(k)
		if due := of.Mastery[k].Due - of.Today(); due > 0 {
			say += fmt.Sprintf(" We'll ask once more %s.", site.InDays(due))
		}
		out = append(out, thenBell{string(k.Stage), say})
	}
	return out
}
