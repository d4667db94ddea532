package coach

import (
	"strings"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
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

// TestAlike: what is said of several students with the same action is one line; a link, a drill
// that was due and a plan stand alone.
func TestAlike(t *testing.T) {
	t.Parallel()
	line := func(kind progress.LineKind, id int64, name, what string) store.Line {
		at := time.Date(2026, 11, 20, 12, 0, 0, 0, time.UTC)
		return store.Line{Kind: kind, Subject: id, Name: name, What: what, Evidence: 7, At: &at, Guardian: "Per",
			Said: progress.Overview{
				Found: progress.Diagnosis{First: &progress.First{Ending: "KRK", Habit: practice.Checks, N: 20, K: 9}},
				Test:  &progress.Proposal{Ending: "KQK", Mode: practice.Test, Why: "It is time."},
			},
			Stuck: progress.StuckAt{Ending: "KRK", Lost: 3, Help: &progress.Proposal{Ending: "KRK", From: ending.Mate, Kind: ending.AtRandom, Why: "It helps."}}}
	}
	later, home := line(progress.LineStuck, 9, "Ivo", "KRK"), line(progress.LineStuck, 10, "Jo", "KRK")
	later.Stuck.Help.Why = "It helps later."
	home.Stuck.Help.Kind, home.Stuck.Help.Why = ending.KingMoves, "The king stays at home."
	lines := []store.Line{
		home, line(progress.LineStuck, 1, "Ada", "KRK"), later, line(progress.LineFirst, 1, "Ada", "KRK checks"),
		line(progress.LineFirst, 2, "Bo", "KBNK corner"), line(progress.LineFirst, 3, "Cleo", "KRK checks"),
		line(progress.LineTest, 4, "Dag", "KQK"), line(progress.LineTest, 5, "Elin", "KQK"),
		line(progress.LineSilent, 6, "Finn", ""), line(progress.LineSilent, 7, "Greta", ""),
		line(progress.LineCard, 6, "Finn", ""), line(progress.LineCard, 7, "Greta", ""),
		line(progress.LineLink, 8, "Hal", "31"), line(progress.LineLink, 8, "Hal", "32"),
	}
	var got []string
	keys := 0
	for _, same := range alike(lines) {
		l := sinceWords(same, club.Club{Zone: "UTC"}, time.Date(2026, 11, 26, 12, 0, 0, 0, time.UTC))
		got = append(got, l.Say+" | "+l.Do.Label)
		keys += len(l.Keys)
		if strings.Contains(l.Say, "Ivo") && (strings.Contains(l.Why, "helps") || strings.Contains(l.Why, "king")) {
			t.Errorf("of both it is said: %s", l.Why)
		}
		if l.Why == "" || l.Do.Href == "" {
			t.Errorf("%q has no reason or no action: %+v", l.Say, l)
		}
	}
	want := []string{
		"Stuck in the rook drill: Ada (three tries in a row not won), Ivo (three) | Set a drill for these 2",
		"Jo: stuck in the rook drill. Three tries in a row were not won. | Set a drill for Jo",
		"Ada and Cleo give useless checks | Set a drill for these 2",
		"Bo gives useless checks | See the drill",
		"Ready for a test, queen: Dag, Elin | Set it for these 2",
		"Silent for seven days: Finn, Greta | Set a short one",
		"Hal: the guardian's link has ended | Make a new link",
		"Hal: the guardian's link has ended | Make a new link",
		"No card yet: Finn, Greta | Make the cards",
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") || keys != len(lines) {
		t.Errorf("%d keys of %d lines:\n%s", keys, len(lines), strings.Join(got, "\n"))
	}
}

// TestNextBlockOverPages: the last of many with the same drill stands alone on the second page,
// and the page does not say that the drill is for one student.
func TestNextBlockOverPages(t *testing.T) {
	t.Parallel()
	next, ok := progress.Propose(progress.Known{})
	n := store.Nexts{Shelf: []club.Drill{{ID: 5, Name: "Two rooks: mate"}}}
	for i := range nextOnPage + 1 {
		n.Lines = append(n.Lines, store.NextLine{Student: club.Person{ID: game.PersonID(i + 1)}, Next: next})
	}
	m := NextPage{At: nextAt{No: 2}}
	if err := m.fill(n); err != nil || !ok || m.Shown != 1 || m.singles() != 0 || m.Blocks[0].All != nextOnPage+1 {
		t.Errorf("%v, %+v", err, m)
	}
}
