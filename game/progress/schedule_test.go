package progress_test

import (
	"testing"

	"drover/game/progress"
)

// TestDefaultDates: with little to go by a stage is asked for after 7, 21 and 60
// days, and 3 days after a miss was made good (common practice).
func TestDefaultDates(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		trials []progress.Trial
		wait   progress.Day // from the last game
	}{
		"after the test":                {history("+++++"), 7},
		"not long after the test":       {history("+++++", 3, "-"), 4},
		"after a miss, at once":         {history("+++++", 7, "-"), 0},
		"after the check":               {history("+++++", 7, "+"), 21},
		"after the second of two":       {history("+++++", 7, "-+"), 3},
		"after the next check":          {history("+++++", 7, "+", 21, "+"), 60},
		"a miss on the day it was made": {history("+++++", 7, "+-"), 21},
		"played early":                  {history("+++++", 7, "+", 2, "+"), 60},
		"after a miss much later":       {history("+++++", 7, "+", 21, "-"), 0},
		"a test that was not passed":    {history("+--++"), 0},
		"the day of the check, helped":  {history("+++++", 7, "+", 21, "h"), 0},
	} {
		s := progress.MasteryOf(c.trials, nil)[rookMate]
		last := c.trials[len(c.trials)-1].Day
		if got := s.Due - last; s.Due != 0 && got != c.wait || s.Due == 0 && c.wait != 0 {
			t.Errorf("%s: due %d days after the last game, want %d: %+v", name, got, c.wait, s)
		}
	}
}

// TestModelDates: with more to go by the model of memory sets the date: later
// with each check that goes well, never beyond half a year, and soon after one
// that did not.
func TestModelDates(t *testing.T) {
	t.Parallel()
	wait := func(parts ...any) progress.Day {
		trials := history(parts...)
		return progress.MasteryOf(trials, nil)[rookMate].Due - trials[len(trials)-1].Day
	}
	often := wait("+++++", 7, "+", 7, "+", 7, "+")
	seldom := wait("+++++", 7, "+", 21, "+", 60, "+")
	missed := wait("+++++", 7, "+", 21, "-", 1, "+")
	longer := wait("+++++", 7, "+", 21, "+", 60, "+", 170, "+", 180, "+")
	if often < 20 || seldom <= often || seldom > 180 {
		t.Errorf("checked each week %d days, seldom %d", often, seldom)
	}
	if missed < 1 || missed >= often {
		t.Errorf("after a miss %d days, without %d", missed, often)
	}
	if longer != 180 {
		t.Errorf("after years of it %d days", longer)
	}
}

// TestBellCountsLikeItsGames: where the games behind a bell no longer say that a stage is
// mastered, dates follow from the bell as they would from its test and its check.
func TestBellCountsLikeItsGames(t *testing.T) {
	t.Parallel()
	all := history("+++++", 7, "+", 21, "+", 60, "+")
	later := all[len(all)-2:]
	bells := map[progress.Key]progress.Day{rookMate: 20_007}
	want, got := progress.MasteryOf(all, nil)[rookMate], progress.MasteryOf(later, bells)[rookMate]
	if got.Due != want.Due || got.Mastered != want.Mastered {
		t.Errorf("from the bell %+v, from its games %+v", got, want)
	}
}
