package coach

import (
	"strings"
	"testing"

	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
)

// TestFirstSaid: what is to be taught first is said with its place and its counts, on a
// student's page and in the table.
func TestFirstSaid(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		found             progress.Diagnosis
		line, name, where string
		counts            string
	}{
		{progress.Diagnosis{Missing: 2}, "After 2 more games this page says what to teach first.", "", "", ""},
		{progress.Diagnosis{}, "Nothing stands out so far.", "", "", ""},
		{progress.Diagnosis{First: &progress.First{Ending: "KBNK", Habit: practice.KingHome, Stage: ending.Edge, N: 16, K: 13, Gain: 12.4}},
			"King left at home (bishop and knight, mostly at the edge): another man moved in 13 of 16 positions that asked for " +
				"the king. Without it a game would be about 12 moves shorter.",
			"King left at home", "bishop and knight, mostly edge", "13 of 16 chances"},
		{progress.Diagnosis{First: &progress.First{Ending: "KRK", Habit: practice.Checks, N: 40, K: 25, Gain: 3}},
			"Useless checks (rook): 25 of 40 chances for a useless check were taken. Without it a game would be about 3 moves shorter.",
			"Useless checks", "rook", "25 of 40 chances"},
		{progress.Diagnosis{First: &progress.First{Ending: "KRK", Stage: ending.Mate, N: 46, K: 17, Gain: 4, Shows: practice.Shuffling}},
			"Mate (rook): 17 of 46 moves went wrong. Habit there: moves that come no nearer. " +
				"Without it a game would be about 4 moves shorter.",
			"Mate", "rook, moves that come no nearer", "17 of 46 moves wrong"},
	} {
		if say := firstLine(c.found); say != c.line {
			t.Errorf("%+v: %s", c.found, say)
		}
		cell := firstCell(c.found)
		if c.name == "" {
			if cell != nil {
				t.Errorf("%+v: %+v", c.found, cell)
			}
			continue
		}
		if cell.Name != c.name || cell.Where != c.where || cell.Counts != c.counts {
			t.Errorf("%+v: %+v", c.found, cell)
		}
	}
}

// TestThread: the heading names the students whom the same thing helps most, adds up what
// was seen of all, and says a place only where it is the same.
func TestThread(t *testing.T) {
	t.Parallel()
	of := func(name string, f progress.First) progress.Overview {
		return progress.Overview{Student: club.Person{Name: name}, Found: progress.Diagnosis{First: &f}}
	}
	var m StagesPage
	m.thread([]progress.Overview{
		of("Juniper", progress.First{Ending: "KBNK", Habit: practice.KingHome, Stage: ending.Edge, N: 16, K: 13}),
		of("Kit", progress.First{Ending: "KBNK", Habit: practice.KingHome, Stage: ending.Edge, N: 15, K: 11}),
	})
	if say := m.Finding[0].Text; say != "Juniper and Kit leave the king at home" ||
		m.Evidence != "Bishop and knight, mostly at the edge: another man moved in 24 of 31 positions that asked for the king." ||
		m.Action.Label != "Set a drill for these 2" || !strings.Contains(m.Action.Href, "kind=king") {
		t.Errorf("%s: %s, %+v", say, m.Evidence, m.Action)
	}
	m.thread([]progress.Overview{
		of("Juniper", progress.First{Ending: "KRK", Habit: practice.Shuffling, Stage: ending.Edge, N: 9, K: 8}),
		of("Kit", progress.First{Ending: "KRK", Habit: practice.Shuffling, N: 9, K: 9}),
	})
	if strings.Contains(m.Evidence, "mostly") || !strings.Contains(m.Action.Href, "near=1") ||
		!strings.Contains(m.Action.Href, "from=centralise") {
		t.Errorf("%s, %+v", m.Evidence, m.Action)
	}
	m.thread([]progress.Overview{of("Wren", progress.First{Ending: "KBNK", Stage: ending.Corner, N: 46, K: 17})})
	if say := m.Finding[0].Text + m.Finding[1].Text; say != "Wren loses the thread on the way to the corner" ||
		m.Evidence != "Bishop and knight: 17 of 46 moves went wrong." || m.Action.Label != "Set a drill for Wren" {
		t.Errorf("%s: %s, %+v", say, m.Evidence, m.Action)
	}
}
