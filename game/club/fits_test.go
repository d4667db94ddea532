package club_test

import (
	"testing"
	"time"

	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
)

// TestFits has a row on each side of each limit: moves, clock, fifty-move rule.
func TestFits(t *testing.T) {
	t.Parallel()
	hold := club.Drill{Ending: "KPK", Hold: true, Mode: practice.Practice}
	win := club.Drill{Ending: "KBNK", Mode: practice.Test, From: ending.Edge, To: ending.Mate, Defender: "longest"}
	pawn := func(to ending.Stage) club.Drill {
		return club.Drill{Ending: "KPK", Mode: practice.Test, From: ending.Front, To: to, Defender: "longest"}
	}
	for _, c := range []struct {
		name       string
		drill      club.Drill
		rule       club.Rule
		starts     []club.Asked
		field, say string
	}{
		{"no limits", win, club.Rule{}, []club.Asked{{33, 0}}, "", ""},
		{"as many moves as the longest start", win, club.Rule{Budget: 14}, []club.Asked{{14, 0}, {9, 0}}, "", ""},
		{"a move less", win, club.Rule{Budget: 13}, []club.Asked{{9, 0}, {14, 0}}, "budget",
			"takes 14 moves. Write at least 14, or 0"},
		{"one move", win, club.Rule{Budget: 1}, []club.Asked{{2, 0}}, "budget", "takes 2 moves. Write at least 2"},
		{"a pawn led to the end row", pawn(ending.Escort), club.Rule{Budget: 5, Clock: 60}, []club.Asked{{20, 0}}, "", ""},
		{"a pawn to the mate", pawn(ending.Mate), club.Rule{Budget: 19}, []club.Asked{{20, 0}}, "budget", "at least 20"},
		{"twelve moves in a minute", win, club.Rule{Clock: 60}, []club.Asked{{12, 0}}, "", ""},
		{"thirteen moves in a minute", win, club.Rule{Clock: 60}, []club.Asked{{13, 0}}, "clock",
			"takes 13 moves. At five seconds for each, write at least 2 minutes, or 0"},
		{"twenty-four in a minute", win, club.Rule{Clock: 60}, []club.Asked{{24, 0}}, "clock", "write at least 2 minutes,"},
		{"twenty-five in a minute", win, club.Rule{Clock: 60}, []club.Asked{{25, 0}}, "clock", "write at least 3 minutes,"},
		{"fourteen moves in a minute and a second for each", win, club.Rule{Clock: 60, Increment: 1}, []club.Asked{{14, 0}}, "", ""},
		{"one more", win, club.Rule{Clock: 60, Increment: 1}, []club.Asked{{15, 0}}, "clock",
			"takes 15 moves. At five seconds for each, write at least 2 minutes,"},
		{"forty in a minute and five for each", win, club.Rule{Clock: 60, Increment: 5}, []club.Asked{{40, 0}}, "", ""},
		{"fifty in two and two for each", win, club.Rule{Clock: 120, Increment: 2}, []club.Asked{{50, 0}}, "clock",
			"write at least 3 minutes,"},
		{"twelve moves to hold in a minute", hold, club.Rule{Clock: 60, Budget: 12}, []club.Asked{{12, 0}}, "", ""},
		{"thirteen to hold in a minute", hold, club.Rule{Clock: 60, Budget: 13}, []club.Asked{{13, 0}}, "clock",
			"13 moves are to be held. At five seconds for each, write at least 2 minutes,"},
		{"a clock that just leaves the moves", win, club.Rule{}, []club.Asked{{7, 87}}, "", ""},
		{"a clock that leaves one too few", win, club.Rule{}, []club.Asked{{3, 0}, {7, 88}}, "fens",
			"Position 2: the fifty-move rule (FIDE Laws 9.3) leaves 6 moves, and 7 are needed. Write 87 or less"},
		{"a clock that is over", win, club.Rule{}, []club.Asked{{7, 140}}, "fens", "leaves 0 moves"},
		{"ten moves to hold", hold, club.Rule{}, []club.Asked{{10, 81}}, "", ""},
		{"ten moves to hold, and nine are left", hold, club.Rule{}, []club.Asked{{10, 82}}, "fens",
			"leaves 9 moves, and 10 are needed. Write 81 or less"},
		{"a pawn's move starts the count anew", pawn(ending.Mate), club.Rule{}, []club.Asked{{20, 88}}, "", ""},
	} {
		c.drill.Rule = c.rule
		only(t, c.name, c.drill.Fits(c.starts), c.field, c.say)
	}
}

// TestFiftyRoom: the figure of Fits is the rule's own: mate on the hundredth
// half-move is still mate.
func TestFiftyRoom(t *testing.T) {
	t.Parallel()
	d := club.Drill{Ending: "KRRK", To: ending.Mate}
	for moves := 1; moves <= 50; moves++ {
		for clock := range 101 {
			fits := clock+2*moves-1 <= 100
			if err := d.Fits([]club.Asked{{Moves: moves, Clock: clock}}); (err == nil) != fits {
				t.Fatalf("%d moves after %d half-moves: %v", moves, clock, err)
			}
		}
	}
}

// TestDue has a row on each side of each limit.
func TestDue(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		name, day, today, say string
	}{
		{"today", "2026-11-26", "2026-11-26", ""},
		{"yesterday", "2026-11-25", "2026-11-26", "This day is over."},
		{"a year from now", "2027-11-26", "2026-11-26", ""},
		{"a day more", "2027-11-27", "2026-11-26", "more than a year away."},
		{"the year that was meant", "2062-11-26", "2026-11-26", "more than a year away."},
	} {
		field := "due"
		if c.say == "" {
			field = ""
		}
		only(t, c.name, club.ValidateDue("due", dayAt(t, c.day, 0), dayAt(t, c.today, 23)), field, c.say)
	}
}

// dayAt is an hour of a day.
func dayAt(t *testing.T, day string, hour int) time.Time {
	t.Helper()
	at, err := time.Parse(time.DateOnly, day)
	if err != nil {
		t.Fatal(err)
	}
	return at.Add(time.Duration(hour) * time.Hour)
}
