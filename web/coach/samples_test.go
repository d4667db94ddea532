package coach

import (
	"drover/game/ending"
	"drover/web/view"
	"drover/web/view/viewtest"
)

func studentsSample(page view.Page) StudentsPage {
	page.Notice = &view.Notice{Say: "Aki is on the roster.", More: "The card is made."}
	return StudentsPage{Page: page, All: 3, Total: 3, Old: 2, NoCard: 1, Rows: []StudentRow{
		{"11", "Runa", "11", "Tuesday, First team", "yesterday", "rook, edge", "for eight", 24, 2, true, false, true, false},
		{"12", "Aki", "12", "Tuesday", "12 days ago", "bishop and knight, corner", "for fourteen", 1, 1, true, false, false, true},
		{"13", "Little Thorbjorn of the upper harbour", "13", "", "not yet", "", "for eight", 0, 1, false, true, false, false},
	}, Groups: []GroupPill{{"All", "/students", 3, true}, {"Tuesday", "/students?group=1", 2, false},
		{"no group", "/students?group=none", 1, false}},
		Into:    []view.Choice{{Value: "1", Label: "Tuesday"}},
		Playing: []PlayingRow{{"Runa", "/watch/3", "rook, edge, move 9", "a slip just now"}}}
}

func studentSample(page view.Page) StudentPage {
	return StudentPage{
		Page: page, ID: "11", Name: "Runa", Number: "11", Card: "Made on 3 November.", HasCard: true,
		Consent:   "Una agreed on 4 September.",
		Guardians: []GuardianRow{{"1", "Una", "works until 31 December", true, false}, {"2", "Per", "stopped on 2 November", false, true}},
		Tests: []TestRow{{"Rook", "24 November, four of five within 25 moves. Watched by Coach Ines.", "31", false},
			{"Queen, the mate", "23 November, five of five clean.", "30", true}},
		First: FirstSaid{Stage: "edge", Name: "Drive to the edge", Say: " (rook): 9 of 30 moves went wrong."},
		Weeks: WeeksPart{Time: "Practice this week: 34 minutes on 3 days. Last week: none.",
			Heads:   []WeekHead{{"16", "Nov"}, {"23", "Nov"}},
			Minutes: []WeekMinutes{{"Minutes", []string{"", "34"}, "34"}},
			Endings: []WeeksEnding{{viewtest.Rook, []WeeksRow{
				{Stage: "edge", Clean: 2, Of: 3, Href: "/students/11?stage=edge", Cells: []WeekCell{{}, {Bars: cellOf("101").drawn(),
					Width: "17", Clean: 2, Of: 3}}},
				{Stage: "mate", Cells: make([]WeekCell, 2)}}}}},
		Games: GamesPart{Student: "11", Head: "Rook, drive to the edge: 2 games, 1 clean", Rule: "Clean means this.", Stage: "edge",
			Held: true, Sum: "Done alone: 1 of 2 games.", Leaf: Leaf{Which: "Games 1 to 2 of 3", After: "/students/11?page=2"}, Rows: []GameRow{
				{ID: "31", Day: "Tuesday", Title: "Rook, drill 3, start 2", Result: "helped", Help: "2 hints", Watched: true, Minutes: "4",
					Clean: true, InDetail: "5 moves, best: 4"},
				{ID: "30", Day: "24 November", Title: "Rook, drill 6, start 1", Result: "not won", Stage: "mate",
					Where: "lost the win just before mate", Habit: "useless checks", Struck: "3 of 4 chances", Why: "a move cost 4"},
			}},
	}
}

func drillsSample(page view.Page) DrillsPage {
	return DrillsPage{Page: page, Misses: true, Rows: []DrillRow{
		{ID: "3", Ending: viewtest.Rook, Name: "Rook: drive to the edge, then mate", Line: "Against a king that holds out longest, 4 starts",
			Trains: "Take one more row each time.", Level: 2, Stages: []string{"edge", "mate"},
			Who: []string{"Runa", "Aki", "Siv", "Bodil", "Jorun"}, Has: 5, Through: 2},
		{ID: "6", Ending: viewtest.Knight, Name: "Bishop and knight, whole", Line: "Against a king that seeks the centre, 4 starts"},
	}}
}

func drillNewSample(page view.Page) DrillNewPage {
	stage := func(chosen string) []view.Choice {
		var choices []view.Choice
		for _, id := range viewtest.KnightStages() {
			choices = append(choices, view.Choice{Value: id, Label: ending.Stage(id).Name(), Chosen: id == chosen})
		}
		return choices
	}
	return DrillNewPage{
		Page: page, Title: "Rook: drive to the edge, then mate",
		Endings: []EndingChoice{
			{Ending: viewtest.Queen, Value: viewtest.Queen.ID, Stages: []string{"edge", "mate"}},
			{Ending: view.Ending{ID: "KRRK", Name: "Two rooks"}, Stages: []string{"edge", "mate"}},
			{Ending: viewtest.Rook, Value: viewtest.Rook.ID, Chosen: true, Stages: []string{"centralise", "edge", "mate"}},
			{Ending: viewtest.Bishops, Value: viewtest.Bishops.ID, Stages: []string{"centralise", "edge", "corner"}},
			{Ending: viewtest.Knight, Value: viewtest.Knight.ID, Stages: viewtest.KnightStages()},
		},
		From: stage("edge"), To: stage("mate"),
		Defenders: []view.Choice{{Value: "longest", Label: "Holds out longest", Chosen: true},
			{Value: "centre", Label: "Seeks the centre", Chosen: false}},
		Modes: []view.Choice{{Value: "guided", Label: "After each move", Chosen: true},
			{Value: "practice", Label: "Only when ground is lost", Chosen: false},
			{Value: "test", Label: "At the end", Chosen: false}},
		Count: "24", Seed: "77",
		Starts: []StartCard{{"5K2/8/8/3R4/8/5k2/8/8 w - - 0 1", "1 of 24", "mate in 13"},
			{"5K2/3R4/8/8/8/2k5/8/8 w - - 0 1", "2 of 24", "mate in 13"}},
		Line:   "Rook: drive to the edge, then mate, against a king that holds out longest.",
		Errors: view.Errors{"count": "24 starts are the most. Write a number from 1 to 24."},
	}
}

func assignSample(page view.Page) AssignPage {
	return AssignPage{
		Page: page, ID: "3", Name: "Rook: drive to the edge, then mate",
		Line: "Against a king that holds out longest, 4 starts.",
		Starts: []StartCard{{"5K2/8/8/3R4/8/5k2/8/8 w - - 0 1", "1 of 4", "mate in 13"},
			{"5K2/3R4/8/8/8/2k5/8/8 w - - 0 1", "2 of 4", "mate in 13"}},
		Students: []AssignRow{{"11", "Runa", true, "1 of 4 starts done, due Thursday"}, {"12", "Aki", false, ""},
			{"13", "Siv", false, ""}},
	}
}

// cellOf turns "1101" into clean and not clean games.
func cellOf(s string) StageCell {
	c := StageCell{Of: len(s), Href: "/games?of=11"}
	for _, r := range s {
		c.Bars = append(c.Bars, r == '1')
		if r == '1' {
			c.Clean++
		}
	}
	return c
}

// columnsOf are the columns of an ending.
func columnsOf(e view.Ending, stages ...string) StageColumns {
	c := StageColumns{Ending: e}
	for _, s := range stages {
		c.Stages = append(c.Stages, StageColumn{Stage: s, Sort: "/stages?sort=" + e.ID + "." + s})
	}
	return c
}

func stagesSample(page view.Page) StagesPage {
	row := func(id, name string, cells ...string) StageRow {
		r := StageRow{ID: id, Name: name}
		for _, c := range cells {
			r.Cells = append(r.Cells, cellOf(c))
		}
		return r
	}
	return StagesPage{
		Page:    page,
		Finding: []view.Part{{Text: "Bishop and knight: 5 of 14 games lost in "}, {Text: "the corner", Stage: "corner"}},
		Action:  &view.Link{Href: "/drills/new", Label: "Set a drill"},
		Endings: []StageColumns{columnsOf(viewtest.Queen, "edge", "mate"), columnsOf(viewtest.Rook, "centralise", "edge", "mate"),
			columnsOf(viewtest.Bishops, "centralise", "edge", "corner"), columnsOf(viewtest.Knight, viewtest.KnightStages()...)},
		Said:   []SaidLine{{Say: "Ready for a test, two bishops: Aki.", Do: view.Link{Href: "/drills/new", Label: "Set it"}}},
		Chosen: "KBNK",
		Rows: []StageRow{
			row("11", "Runa", "1111111111", "1111111111", "1111111111", "1011111111", "1111111111", "1011111111", "1111111101",
				"1111111011", "1111111111", "1111111111", "1000000000", "1111111111"),
			row("12", "Aki", "0111111111", "1111100111", "1111111111", "1110111110", "1111001111", "10111111", "011111101",
				"010111111", "1101110111", "1110110111", "0000010000", "1011110111"),
			row("13", "Siv", "111", "101", "", "", "", "", "", "", "", "", "", ""),
		},
	}
}

// qrSample is a matrix of the size of a real one; it opens nothing.
func qrSample() [][]bool {
	m := make([][]bool, 29)
	for y := range m {
		m[y] = make([]bool, 29)
		for x := range m[y] {
			m[y][x] = (x*7+y*13+x*y)%5 < 2
		}
	}
	return m
}

func accountSample(page view.Page) AccountPage {
	page.Told = []view.Told{{Say: "Your password was reset.", ID: "1"}}
	return AccountPage{Page: page, Email: "maren@havnsund.example", Factor: true, Codes: 9, Sessions: []SessionLine{
		{"ab", "Firefox on Linux", "26 November at 12:23", "26 November at 12:25", true},
		{"cd", "Safari on an iPad", "25 November at 18:00", "26 November at 08:11", false},
	}}
}

func nextSample(page view.Page) NextPage {
	page.Notice = &view.Notice{Say: "Given to Runa and Aki.", More: "Rook: mate.", Undo: "7", Back: "next"}
	return NextPage{Page: page, At: nextAt{Group: 1, No: 1}, Shown: 4, Total: 61,
		Groups: []GroupPill{{"All", "/next", 0, false}, {"Tuesday", "/next?group=1", 61, true}},
		Full:   []string{"Juniper", "Kit"}, Have: 3, Off: 1,
		Leaf: Leaf{Which: "Students 1 to 50 of 61", After: "/next?page=2"},
		Blocks: []NextBlock{
			{Drill: "3", Ending: viewtest.Rook, Name: "Rook: drive to the edge, then mate", Line: "Against a king that seeks the centre, 4 starts.",
				Items: []NextItem{{"11", "Runa", "edge", "Rook: most is lost in one stage, drive to the edge, so practice begins there.", "11 3 7 KRK edge"},
					{"13", "Little Thorbjorn of the upper harbour", "edge", "Rook is in progress: the next part to do alone is drive to the edge.", "13 3 7 KRK edge"}}, All: 13},
			{Ending: viewtest.Queen, Name: "Queen: test", New: "A new drill.", Why: "Every stage was done alone.",
				Items: []NextItem{{"12", "Aki", "", "", "12 0 7 KQK edge"}, {"14", "Siv", "", "", "14 0 7 KQK edge"}}, All: 2},
		}}
}
