package progress_test

import (
	"testing"
	"time"

	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
)

// The rule of mastery: five games in test mode on one day, four of them passed,
// no help; then one of two games seven or more days later.

// finish is a trial of the rook's last stage: '+' clean, 'o' over par, 'h'
// helped, '-' not won.
func finish(day progress.Day, how rune) progress.Trial {
	t := progress.Trial{Day: day, Ending: "KRK", From: ending.Mate, To: ending.Mate, Moves: 6, Result: practice.Clean,
		Clean: map[ending.Stage]bool{ending.Mate: how == '+'}}
	switch how {
	case 'o':
		t.Result = practice.OverPar
	case 'h':
		t.Result = practice.WonHelped
	case '-':
		t.Result = practice.NotWon
	}
	return t
}

// history reads a history: a number of days before each word, then a letter a
// game.
func history(parts ...any) []progress.Trial {
	var out []progress.Trial
	day := progress.Day(20_000)
	for _, p := range parts {
		switch p := p.(type) {
		case int:
			day += progress.Day(p)
		case string:
			for _, how := range p {
				out = append(out, finish(day, how))
			}
		}
	}
	return out
}

var rookMate = progress.Key{Ending: "KRK", Stage: ending.Mate}

func TestMastered(t *testing.T) {
	t.Parallel()
	for name, c := range map[string]struct {
		trials           []progress.Trial
		tested, mastered bool
	}{
		"nothing":                       {nil, false, false},
		"four games":                    {history("++++"), false, false},
		"four of five":                  {history("+++-+"), true, false},
		"three of five":                 {history("++-+-"), false, false},
		"five over two days":            {history("+++", 1, "++"), false, false},
		"a day's rest is no beginning":  {history("++", 1, "+++", 1, "++"), false, false},
		"over par of one stage":         {history("+++oo"), false, false},
		"one helped":                    {history("++h++"), true, false},
		"two helped":                    {history("h+h++"), false, false},
		"the second five of a day":      {history("--+++++++-"), true, false},
		"no five out of the middle":     {history("---+++++--"), false, false},
		"a check after six days":        {history("+++++", 6, "+"), true, false},
		"a check after seven":           {history("+++++", 7, "+"), true, true},
		"a check after a month":         {history("+++++", 31, "+"), true, true},
		"the second of two":             {history("+++++", 7, "-+"), true, true},
		"the second a week later":       {history("+++++", 7, "-", 7, "+"), true, true},
		"two that miss":                 {history("+++++", 7, "--"), false, false},
		"a third comes too late":        {history("+++++", 7, "--", 1, "+"), false, false},
		"another test after two misses": {history("+++++", 7, "--", 1, "+++++", 7, "+"), true, true},
		"another test in between":       {history("+++++", 3, "+++++", 4, "+"), true, true},
		"helped in the check":           {history("+++++", 7, "h"), true, false},
		"failed a month later":          {history("+++++", 7, "+", 30, "-"), true, true},
	} {
		s := progress.MasteryOf(c.trials, nil)[rookMate]
		if (s.Tested != 0) != c.tested || (s.Mastered != 0) != c.mastered {
			t.Errorf("%s: %+v", name, s)
		}
	}
}

// TestNeverTakenAway: after a miss the stage needs a game and keeps its bell; a
// bell that was noted stays, also where the games have come to say less.
func TestNeverTakenAway(t *testing.T) {
	t.Parallel()
	s := progress.MasteryOf(history("+++++", 7, "+", 21, "-"), nil)[rookMate]
	if s.Mastered != 20_007 || !s.Missed || s.Due != 20_028 {
		t.Errorf("after a miss: %+v", s)
	}
	s = progress.MasteryOf(history("+++++", 7, "+", 21, "-+"), nil)[rookMate]
	if s.Mastered != 20_007 || s.Missed || s.Due != 20_031 {
		t.Errorf("after the game that brings it back: %+v", s)
	}
	bells := map[progress.Key]progress.Day{rookMate: 20_007}
	for name, trials := range map[string][]progress.Trial{
		"no games":        nil,
		"helped, as told": history("+++++", 7, "h"),
		"two misses":      history("+++++", 7, "h-"),
	} {
		if s := progress.MasteryOf(trials, bells)[rookMate]; s.Mastered != 20_007 || s.Due == 0 {
			t.Errorf("%s: %+v", name, s)
		}
	}
}

// TestWholeEnding: a test from the first stage to the last masters each stage
// of the plan; it is passed within the plan's budget, not by clean stages. A
// part is passed by its stages.
func TestWholeEnding(t *testing.T) {
	t.Parallel()
	all := map[ending.Stage]bool{ending.Centralise: false, ending.Edge: true, ending.Mate: true}
	whole := func(day progress.Day, moves int) progress.Trial {
		return progress.Trial{Day: day, Ending: "KRK", From: ending.Centralise, To: ending.Mate, Moves: moves,
			Result: practice.OverPar, Clean: all}
	}
	plan, _ := ending.PlanOf("KRK")
	for moves, passed := range map[int]bool{plan.Pass - 1: true, plan.Pass: true, plan.Pass + 1: false} {
		if whole(1, moves).Passed() != passed {
			t.Errorf("%d moves: passed is %v", moves, !passed)
		}
	}
	var trials []progress.Trial
	for _, moves := range []int{25, 26, 20, 17, 25} {
		trials = append(trials, whole(20_000, moves))
	}
	trials = append(trials, whole(20_007, 22))
	got := progress.MasteryOf(trials, nil)
	for _, step := range plan.Steps {
		if s := got[progress.Key{Ending: "KRK", Stage: step.Stage}]; s.Mastered != 20_007 {
			t.Errorf("%s: %+v", step.Stage, s)
		}
	}
	part := whole(20_000, 12)
	part.From = ending.Edge
	if !part.Passed() {
		t.Error("a part with clean stages is not passed")
	}
	part.From = ending.Centralise
	part.To = ending.Edge
	if part.Passed() {
		t.Error("a part with a stage that is not clean is passed")
	}
}

// TestLostBefore: a game that was lost in an earlier stage tells nothing of the
// later ones.
func TestLostBefore(t *testing.T) {
	t.Parallel()
	trials := history("+++++", 7)
	trials = append(trials, progress.Trial{Day: 20_007, Ending: "KRK", From: ending.Centralise, To: ending.Mate,
		Result: practice.NotWon, Clean: map[ending.Stage]bool{ending.Centralise: false}})
	trials = append(trials, finish(20_007, '-'), finish(20_008, '+'))
	if s := progress.MasteryOf(trials, nil)[rookMate]; s.Mastered != 20_008 {
		t.Errorf("%+v", s)
	}
}

// TestDayOf: a day ends at midnight in the zone that the time is given in, also
// on the day when summer time begins.
func TestDayOf(t *testing.T) {
	t.Parallel()
	oslo, err := time.LoadLocation("Europe/Oslo")
	if err != nil {
		t.Fatal(err)
	}
	late := time.Date(2026, 3, 28, 23, 30, 0, 0, time.UTC) // half past midnight in Oslo
	if d, o := progress.DayOf(late), progress.DayOf(late.In(oslo)); o != d+1 {
		t.Errorf("%d in UTC, %d in Oslo", d, o)
	}
	for _, c := range []struct {
		at   time.Time
		want progress.Day
	}{
		{time.Date(1970, 1, 2, 0, 0, 0, 0, time.UTC), 1}, {time.Date(2026, 3, 29, 23, 59, 0, 0, oslo), 20_541},
		{time.Date(2026, 3, 30, 0, 0, 0, 0, oslo), 20_542},
	} {
		if got := progress.DayOf(c.at); got != c.want {
			t.Errorf("%v is day %d, want %d", c.at, got, c.want)
		}
	}
}
