package guardian

import (
	"slices"
	"strings"
	"testing"
	"time"

	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
	"drover/web/view"
)

// TestWeekSentence: each kind of week is a whole sentence, without a nought at its beginning.
func TestWeekSentence(t *testing.T) {
	t.Parallel()
	for want, week := range map[string]progress.Week{
		"Kim has not practised this week yet.":                                                          {},
		"Kim practised for 1 minute on 1 day this week; no game is finished yet.":                       {Seconds: 20, On: 1},
		"Kim had 3 minutes of free practice this week.":                                                 {Seconds: 150, Free: 150, On: 1},
		"This week Kim played 3 short games on 2 days, 8 minutes in all, and won 2 of them alone.":      {Games: 3, On: 2, Seconds: 480, Alone: 2},
		"This week Kim played 1 short game on 1 day, 1 minute in all, and won it alone.":                {Games: 1, On: 1, Seconds: 9, Alone: 1},
		"This week Kim played 2 short games on 1 day, 1 minute in all, and won or held none alone yet.": {Games: 2, On: 1, Seconds: 9, Holds: true},
		"This week Kim played 2 short games on 1 day, 2 minutes in all, 1 of them free practice, and won none alone yet.": {
			Games: 2, On: 1, Seconds: 80, Free: 30},
	} {
		if got := said(weekSentence("Kim", week)); got != want {
			t.Errorf("%+v:\n%s, want\n%s", week, got, want)
		}
	}
}

func said(parts []view.Part) string {
	var b strings.Builder
	for _, p := range parts {
		b.WriteString(p.Text)
	}
	return b.String()
}

// TestFirstStepIsPlain: what comes first says whose king it is about and why it comes first, and the
// question to ask fits it; every habit has one.
func TestFirstStepIsPlain(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		first     progress.First
		next, ask string
	}{
		{progress.First{Ending: "KRK", Stage: ending.Mate, K: 40, N: 88},
			"One thing helps Kim most now: to give the mate itself (mate with king and rook). So far 40 of the 88 moves in that part did not work. " +
				"Practice begins there.", "What does the board look like when it is mate?"},
		{progress.First{Ending: "KBNK", Stage: ending.Corner, K: 52, N: 238},
			"Against the lone king one thing helps Kim most now: to drive him to the corner (mate with bishop and knight). " +
				"So far 52 of the 238 moves in that part did not work. Practice begins there.", "To which corner must he go, and why that one?"},
		{progress.First{Ending: "KRK", Habit: practice.KingHome, K: 108, N: 169},
			"One thing helps Kim most now: to bring their own king along to help (mate with king and rook). So far that failed 108 times in 169. " +
				"Practice begins there.", "Where is your own king, and how can it help?"},
	} {
		if got := firstStep("Kim", &c.first); got != c.next {
			t.Errorf("%s, want\n%s", got, c.next)
		}
		if got := howToHelp("Kim", &c.first); !strings.Contains(got, c.ask) {
			t.Errorf("%s has no %q", got, c.ask)
		}
	}
	if !strings.Contains(howToHelp("Kim", nil), "Where can the lone king still walk") {
		t.Error("no question without a first step")
	}
	for _, h := range practice.Habits() {
		if !strings.HasSuffix(h.Ask(), "?") {
			t.Errorf("%s has no question", h.Name())
		}
	}
}

// TestNothingLately: a child whose games are older than the club keeps them has begun long ago.
func TestNothingLately(t *testing.T) {
	t.Parallel()
	none := progress.LastPlayed{Kind: progress.NothingYet}
	if got := nextSteps("Kim", none, false); got != "Kim begins soon: the coach has set the first games." {
		t.Error(got)
	}
	if got := nextSteps("Kim", none, true); !strings.Contains(got, "has not played for a long time") {
		t.Error(got)
	}
}

// TestBellsOfATerm: an ending whose stages were all mastered on one day is one line.
func TestBellsOfATerm(t *testing.T) {
	t.Parallel()
	at := func(day int) progress.Mastery {
		return progress.Mastery{Mastered: progress.DayOf(time.Date(2026, 11, day, 12, 0, 0, 0, time.UTC))}
	}
	edge, mate := progress.Key{Ending: "KQK", Stage: ending.Edge}, progress.Key{Ending: "KQK", Stage: ending.Mate}
	rook := progress.Key{Ending: "KRK", Stage: ending.Mate}
	got := bellsOf([]progress.Key{edge, mate, rook}, map[progress.Key]progress.Mastery{edge: at(6), mate: at(6), rook: at(9)})
	if want := []string{"Mate with king and queen: mastered on 6 November.", "Mate with king and rook, the mate: mastered on 9 November."}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
	got = bellsOf([]progress.Key{edge, mate}, map[progress.Key]progress.Mastery{edge: at(6), mate: at(7)})
	if want := []string{"Mate with king and queen, the edge: mastered on 6 November.", "Mate with king and queen, the mate: mastered on 7 November."}; !slices.Equal(got, want) {
		t.Errorf("%q, want %q", got, want)
	}
}
