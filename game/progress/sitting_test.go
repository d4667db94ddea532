package progress_test

import (
	"fmt"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
)

// numbered gives trials the numbers of their games, from 1.
func numbered(trials []progress.Trial) []progress.Trial {
	for i := range trials {
		trials[i].Game = game.GameID(i + 1)
	}
	return trials
}

// told is a record of trials on a day, as a store fills it: with what follows for mastery,
// where a day off moves what is due.
func told(trials []progress.Trial, today progress.Day, holidays ...club.Holiday) progress.Record {
	r := progress.Record{Now: today.Date().Add(20 * time.Hour), Trials: numbered(trials), Mastery: progress.MasteryOf(trials, nil)}
	for k, m := range r.Mastery {
		m.Due = progress.AfterHolidays(m.Due, holidays)
		r.Mastery[k] = m
	}
	return r
}

// TestSittings: what is said of a test while it is played and at its end, which is never
// other than what the rule of mastery makes of the same games.
func TestSittings(t *testing.T) {
	t.Parallel()
	away := func(from, to progress.Day) club.Holiday {
		return club.Holiday{From: from.Date(), To: to.Date(), Name: "Away"}
	}
	for name, c := range map[string]struct {
		trials       []progress.Trial
		today        progress.Day // from 20,000
		off          []club.Holiday
		played, won  int
		over, passed bool
		next         int
		again        progress.Day // from today; 0: it is not asked again
	}{
		"nothing":               {next: 1},
		"one":                   {trials: history("+"), played: 1, won: 1, next: 2},
		"four, one helped":      {trials: history("++h+"), played: 4, won: 3, next: 5},
		"four of five":          {trials: history("+++-+"), played: 5, won: 4, over: true, passed: true, next: 1, again: 7},
		"three of five":         {trials: history("++-+o"), played: 5, won: 3, over: true, next: 1},
		"broken off":            {trials: history("+++"), today: 1, next: 1},
		"another day":           {trials: history("++-+o", 1, "+"), today: 1, played: 1, won: 1, next: 2},
		"a second on that day":  {trials: history("--+++++"), played: 2, won: 2, next: 3},
		"in the holidays":       {trials: history("+++++"), off: []club.Holiday{away(20_005, 20_010)}, played: 5, won: 5, over: true, passed: true, next: 1, again: 11},
		"passed a second time":  {trials: history("+++++", 3, "+++++"), today: 3, played: 5, won: 5, over: true, passed: true, next: 1},
		"the re-check was made": {trials: history("+++++", 7, "+"), today: 7, played: 1, won: 1, next: 2},
	} {
		today := 20_000 + c.today
		r := told(c.trials, today, c.off...)
		s := progress.SittingOn(r.Trials, "KRK", ending.Mate, ending.Mate, today)
		if len(s.Games) != c.played || s.Won() != c.won || s.Over() != c.over || s.Passed() != c.passed || s.Next() != c.next {
			t.Errorf("%s: %d of %d, over %t, passed %t, next %d", name, s.Won(), len(s.Games), s.Over(), s.Passed(), s.Next())
		}
		again := r.AsksAgain(s)
		if c.again > 0 {
			again -= today
		}
		if s.Passed() && again != c.again {
			t.Errorf("%s: asked again in %d days, want %d", name, again, c.again)
		}
		if m := r.Mastery[rookMate]; s.Passed() && m.Tested == 0 {
			t.Errorf("%s: passed here, and not by the rule: %+v", name, m)
		}
	}
}

// TestSittingWith: a game's own place in its test, whatever was played after it.
func TestSittingWith(t *testing.T) {
	t.Parallel()
	trials := numbered(history("+-+", 1, "++-+++"))
	want := map[game.GameID]string{1: "1 1", 3: "3 2", 4: "1 1", 6: "3 2", 8: "5 4", 9: "1 1", 10: "0 0"}
	for id, said := range want {
		s := progress.SittingWith(trials, id)
		if got := fmt.Sprint(len(s.Games), " ", s.Won()); got != said || len(s.Games) > 0 && s.Last() != id {
			t.Errorf("game %d: %s, want %s", id, got, said)
		}
	}
}

// wholeQueens are trials of the whole queen's mate, by their moves; 0 is not won.
func wholeQueens(day progress.Day, moves ...int) []progress.Trial {
	var out []progress.Trial
	for _, n := range moves {
		t := progress.Trial{Day: day, Ending: "KQK", From: ending.Edge, To: ending.Mate, Moves: n, Result: practice.OverPar,
			Clean: map[ending.Stage]bool{ending.Edge: n > 0, ending.Mate: n > 0}}
		if n == 0 {
			t.Result = practice.NotWon
		}
		out = append(out, t)
	}
	return out
}

// part are the five games of a test of one stage of the queen's mate, all of them clean.
func part(day progress.Day, s ending.Stage) []progress.Trial {
	one := progress.Trial{Day: day, Ending: "KQK", From: s, To: s, Moves: 3, Result: practice.Clean, Clean: map[ending.Stage]bool{s: true}}
	return []progress.Trial{one, one, one, one, one}
}

// TestBellsAndCertificate: a bell rings with the game that makes a stage mastered, and no
// other; the certificate is there with the last of them, and says what it rests on.
func TestBellsAndCertificate(t *testing.T) {
	t.Parallel()
	plan, _ := ending.PlanOf("KQK")
	all := append(wholeQueens(20_000, 15, 14, 16, 9, 9), wholeQueens(20_009, 0, 12, 12)...)
	r := told(all, 20_009)
	for id, want := range map[game.GameID]int{1: 0, 5: 0, 6: 0, 7: 2, 8: 0, 99: 0} {
		if rung := r.Rung(id); len(rung) != want {
			t.Errorf("with game %d ring %v", id, rung)
		}
	}
	c, missing := r.CertificateOf(*plan)
	if len(missing) != 0 || c.Day != 20_009 || c.Later != 9 || c.Test.Won() != 4 || c.Test.Within() != 15 {
		t.Errorf("%+v, missing %v", c, missing)
	}
	if len(c.Tests) != 1 || c.Tests[0].Last() != 5 {
		t.Errorf("it rests on %+v", c.Tests)
	}
	parts := append(part(20_000, ending.Mate), append(part(20_001, ending.Edge), append(part(20_008, ending.Mate)[:1], part(20_009, ending.Edge)[:1]...)...)...)
	if c, missing := told(parts, 20_009).CertificateOf(*plan); len(missing) != 0 || len(c.Tests) != 2 || c.Test.Over() {
		t.Errorf("tested part by part: %+v, missing %v", c, missing)
	}
	before := told(all[:6], 20_009)
	if _, missing := before.CertificateOf(*plan); len(missing) != 2 {
		t.Errorf("before the re-check %v are missing", missing)
	}
	r.Bells = map[progress.Key]progress.Day{{Ending: "KQK", Stage: ending.Mate}: 19_000, {Ending: "KQK", Stage: ending.Edge}: 20_009}
	if rung := r.Rung(7); len(rung) != 1 || rung[0].Stage != ending.Edge {
		t.Errorf("what rang a year ago rings again: %v", rung)
	}
	// Of parts that were tested one by one, and where the games say less by now, no test is named.
	bells := map[progress.Key]progress.Day{{Ending: "KQK", Stage: ending.Mate}: 20_001, {Ending: "KQK", Stage: ending.Edge}: 20_005}
	r = progress.Record{Mastery: progress.MasteryOf(nil, bells)}
	if c, missing := r.CertificateOf(*plan); len(missing) != 0 || c.Day != 20_005 || c.Test.Over() || c.Later != 0 {
		t.Errorf("by its bells alone: %+v, missing %v", c, missing)
	}
}

// TestOffersInATest: the last part that was played in between takes no game of a test away.
func TestOffersInATest(t *testing.T) {
	t.Parallel()
	lost := progress.Try{Day: 20_000}
	part := progress.Try{Day: 20_000, Won: true, Part: true}
	tries := []progress.Try{lost, lost, lost, part, lost}
	if got := progress.NextOffer(tries, 20_000, 0, true); got != progress.NextTry {
		t.Errorf("after four games of a test and a last part: %v", got)
	}
	if got := progress.NextOffer(tries, 20_000, 0, false); got != progress.EnoughToday {
		t.Errorf("after five tries of a drill: %v", got)
	}
	if got := progress.NextOffer(append(tries, lost), 20_000, 0, true); got != progress.EnoughToday {
		t.Errorf("after five games of a test: %v", got)
	}
}
