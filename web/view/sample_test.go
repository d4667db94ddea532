package view

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"testing"

	"github.com/a-h/templ"
)

// The fixtures of this package: Havnsund, a fishing village's chess club that
// does not exist, with nicknames only.

var (
	asCoach    = Who{Role: Coach, Name: "Coach Maren", Club: "Havnsund chess club"}
	asStudent  = Who{Role: Student, Name: "Runa", Club: "Havnsund chess club"}
	asGuardian = Who{Role: Guardian, Name: "Una", Club: "Havnsund chess club"}
)

var (
	queen   = Ending{"KQK", "Queen"}
	rook    = Ending{"KRK", "Rook"}
	bishops = Ending{"KBBK", "Two bishops"}
	knight  = Ending{"KBNK", "Bishop and knight"}
)

// samples are all pages by name, each filled as a handler fills it.
func samples() map[string]templ.Component {
	pages := map[string]templ.Component{}
	for _, set := range []map[string]templ.Component{publicSamples(), studentSamples(), coachSamples(), gameSamples()} {
		for name, page := range set {
			pages[name] = page
		}
	}
	return pages
}

func publicSamples() map[string]templ.Component {
	return map[string]templ.Component{
		"signin": SignInPage{}.View(),
		"signin-wrong": SignInPage{Number: "11", Words: [4]string{"lamp", "otter", "field", "moon"},
			Error: "Number and words do not fit together. Look at the card once more."}.View(),
		"coach-in": CoachSignInPage{Email: "maren@havnsund.example",
			Error: "E-mail and password do not fit together."}.View(),
		"open":        OpenPage{}.View(),
		"expired":     OpenPage{Expired: true}.View(),
		"setup":       SetupPage{Club: "Havnsund chess club", Errors: Errors{"password": "This password is 9 characters long. Use at least 15, a short sentence for instance."}}.View(),
		"setup-spent": SetupPage{Spent: true}.View(),
		"problem": ProblemPage{Status: 404, Say: "There is no such page",
			Do: "The address may be old. Start from the first page.", RequestID: "h4k2"}.View(),
		"tell": TellPage{Page: Page{Who: asStudent}, Welfare: "Oddny",
			Contact: "at the door on club evenings, or 555 0134"}.View(),
	}
}

func studentSamples() map[string]templ.Component {
	due := []DueCard{
		{Post: "/today/start", Hidden: []Hidden{{"assignment", "3"}}, Title: "Rook", Stage: "edge",
			Line: "4 starts, due Thursday", FEN: "8/8/7R/8/5k2/8/8/5K2 w - - 0 1", Action: "Start"},
		{Post: "/today/start", Hidden: []Hidden{{"assignment", "4"}}, Title: "Bishop and knight", Stage: "corner",
			State: InWork, Line: "start 2 of 4", FEN: "8/8/2k5/8/2K1N3/2B5/8/8 w - - 0 1", Action: "Go on"},
		{Post: "/today/start", Hidden: []Hidden{{"assignment", "5"}}, Title: "Queen: still yours?", Stage: "mate",
			Line: "2 starts, last time 12 days ago", FEN: "8/3QK3/k7/8/8/8/8/8 w - - 0 1", Action: "Play it"},
	}
	endings := []EndingMarks{
		{queen, "mastered", []Mark{{"edge", Mastered}, {"mate", Mastered}}},
		{rook, "3 of 5 stages alone", []Mark{{"centralise", Mastered}, {"edge", InWork}, {"mate", Mastered}}},
		{bishops, "in progress", []Mark{{"centralise", Mastered}, {"edge", Reached}, {"corner", InWork}}},
		{knight, "not begun", []Mark{{"centralise", NotBegun}, {"edge", NotBegun}, {"corner", NotBegun}, {"mate", NotBegun}}},
	}
	return map[string]templ.Component{
		"today": TodayPage{Page: Page{Who: asStudent}, Lead: "Three things today, about 20 minutes.", Due: due,
			Endings: endings}.View(),
		"today-empty": TodayPage{Page: Page{Who: asStudent}, Lead: "Nothing is waiting."}.View(),
		"play": PlayPage{Page: Page{Who: asStudent}, Game: "12", Title: "Bishop and knight",
			Sub: "drill 3, start 2 of 4"}.View(),
	}
}

func coachSamples() map[string]templ.Component {
	page := Page{Who: asCoach}
	return map[string]templ.Component{
		"students": studentsSample(page).View(),
		"students-empty": StudentsPage{Page: page, Form: StudentForm{Name: "Aki",
			Errors: Errors{"consent": "Tick this once the guardian has agreed."}}}.View(),
		"student": studentSample(page).View(),
		"card": CardPage{Page: page, StudentID: "11", Name: "Runa", Number: "11", Man: "N",
			Words: []string{"lamp", "otter", "field", "moon"}, QR: qrSample(), Address: "drover.havnsund.example",
			Made: "25 November 2026"}.View(),
		"link": LinkPage{Page: page, StudentID: "11", Student: "Runa", Guardian: "Una",
			URL: "https://drover.havnsund.example/open#1.abcdefghijklmnopqrstuvwx", QR: qrSample(), Until: "23 February"}.View(),
		"over": OverPage{Page: page, Title: "Card for Runa", Say: "A card is shown for ten minutes.",
			StudentID: "11", Student: "Runa", Ask: "Is it lost?", Post: "/students/11/card", Button: "Make a new card",
			Hint: "The old card stops working at once."}.View(),
		"drills":       drillsSample(page).View(),
		"drills-empty": DrillsPage{Page: page}.View(),
		"drill-new":    drillNewSample(page).View(),
		"assign":       assignSample(page).View(),
		"stages":       stagesSample(page).View(),
		"stages-empty": StagesPage{Page: page, Finding: Plain("No games yet")}.View(),
	}
}

func gameSamples() map[string]templ.Component {
	return map[string]templ.Component{
		"review": reviewSample().View(),
		"report": reportSample().View(),
	}
}

func studentsSample(page Page) StudentsPage {
	page.Notice = &Notice{Say: "Aki is on the roster.", More: "The card is made."}
	return StudentsPage{Page: page, Rows: []StudentRow{
		{"11", "Runa", "11", "yesterday", 24, "3 November"},
		{"12", "Aki", "12", "12 days ago", 1, "3 November"},
		{"13", "Little Thorbjorn of the upper harbour", "13", "not yet", 0, "none yet"},
	}, Form: StudentForm{Wording: 8}}
}

func studentSample(page Page) StudentPage {
	return StudentPage{
		Page: page, ID: "11", Name: "Runa", Number: "11", Card: "Made on 3 November.", HasCard: true,
		Consent:   "Una agreed on 4 September.",
		Guardians: []GuardianRow{{"1", "Una", "works until 31 December", true}, {"2", "Per", "stopped on 2 November", false}},
		Games: []GameRow{
			{"31", "Tuesday 24 November", "Rook, drill 3, start 2", "helped"},
			{"30", "Tuesday 24 November", "Bishop and knight, drill 6, start 1", "not won, lost at the corner"},
		},
	}
}

func drillsSample(page Page) DrillsPage {
	return DrillsPage{Page: page, Rows: []DrillRow{
		{"3", rook, "Rook: drive to the edge, then mate", "against a king that holds out longest, 4 starts",
			[]string{"Runa", "Aki", "Siv", "Bodil", "Jorun"}, 5, 2},
		{"6", knight, "Bishop and knight, whole", "against a king that seeks the centre, 4 starts", nil, 0, 0},
	}}
}

func drillNewSample(page Page) DrillNewPage {
	stage := func(chosen string) []Choice {
		var choices []Choice
		for _, id := range knightStages() {
			choices = append(choices, Choice{Value: id, Label: StageName(id), Chosen: id == chosen})
		}
		return choices
	}
	return DrillNewPage{
		Page: page, Title: "Rook: drive to the edge, then mate",
		Endings: []EndingChoice{
			{Ending: queen, Value: queen.ID, Stages: []string{"edge", "mate"}},
			{Ending: Ending{"KRRK", "Two rooks"}, Stages: []string{"edge", "mate"}},
			{Ending: rook, Value: rook.ID, Chosen: true, Stages: []string{"centralise", "edge", "mate"}},
			{Ending: bishops, Value: bishops.ID, Stages: []string{"centralise", "edge", "corner"}},
			{Ending: knight, Value: knight.ID, Stages: knightStages()},
		},
		From: stage("edge"), To: stage("mate"),
		Defenders: []Choice{{Value: "longest", Label: "Holds out longest", Chosen: true},
			{Value: "centre", Label: "Seeks the centre", Chosen: false}},
		Modes: []Choice{{Value: "guided", Label: "After each move", Chosen: true},
			{Value: "practice", Label: "Only when ground is lost", Chosen: false},
			{Value: "test", Label: "At the end", Chosen: false}},
		Count: "24", Seed: "77",
		Starts: []StartCard{{"5K2/8/8/3R4/8/5k2/8/8 w - - 0 1", "1 of 24", "mate in 13"},
			{"5K2/3R4/8/8/8/2k5/8/8 w - - 0 1", "2 of 24", "mate in 13"}},
		Line:   "Rook: drive to the edge, then mate, against a king that holds out longest.",
		Errors: Errors{"count": "24 starts are the most. Write a number from 1 to 24."},
	}
}

func assignSample(page Page) AssignPage {
	return AssignPage{
		Page: page, ID: "3", Name: "Rook: drive to the edge, then mate",
		Line: "Against a king that holds out longest, 4 starts.",
		Starts: []StartCard{{"5K2/8/8/3R4/8/5k2/8/8 w - - 0 1", "1 of 4", "mate in 13"},
			{"5K2/3R4/8/8/8/2k5/8/8 w - - 0 1", "2 of 4", "mate in 13"}},
		Students: []AssignRow{{"11", "Runa", true, "1 of 4 starts done, due Thursday"}, {"12", "Aki", false, ""},
			{"13", "Siv", false, ""}},
	}
}

// bars turns "1101" into clean and not clean games.
func bars(s string) StageCell {
	c := StageCell{Of: len(s), Href: "/games?of=11"}
	for _, r := range s {
		c.Bars = append(c.Bars, r == '1')
		if r == '1' {
			c.Clean++
		}
	}
	return c
}

func stagesSample(page Page) StagesPage {
	row := func(id, name string, cells ...string) StageRow {
		r := StageRow{ID: id, Name: name}
		for _, c := range cells {
			r.Cells = append(r.Cells, bars(c))
		}
		return r
	}
	return StagesPage{
		Page:    page,
		Finding: []Part{{Text: "Bishop and knight: 5 of 14 games lost in "}, {Text: "the corner", Stage: "corner"}},
		Action:  &Link{"/drills/new", "Set a drill"},
		Endings: []StageColumns{{queen, []string{"edge", "mate"}}, {rook, []string{"centralise", "edge", "mate"}},
			{bishops, []string{"centralise", "edge", "corner"}}, {knight, knightStages()}},
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

func reviewSample() ReviewPage {
	return ReviewPage{
		Page: Page{Who: asCoach}, Game: "31", Up: Link{"/students/11", "Runa"},
		Sub:   "Rook, drill 3, start 2, Tuesday 24 November",
		Title: "Runa gave mate in 21 moves",
		Well:  "after the slip the centre was shut again in one move. From move 17 he was shut in for good.",
		End:   "Checkmate, FIDE Laws 5.1.1", At: 3,
		Positions: []Position{
			{0, "8/8/8/4k3/8/8/2R5/2K5 w - - 0 1", "", "Start", "mate in 14", "", nil},
			{1, "8/2R5/8/4k3/8/8/8/2K5 b - - 1 1", "c2c7", "1 Rc7", "mate in 14 before, 13 after", "", nil},
			{2, "8/2R5/3k4/8/8/8/8/2K5 w - - 2 2", "e5d6", "1 … Kd6", "mate in 13", "", nil},
			{15, "8/1R6/2K1k3/8/8/8/8/8 b - - 15 8", "b5b7", "8 Rb7", "mate in 9 before, 12 after", "", []string{"f5", "f4"}},
			{16, "8/1R6/2K5/5k2/8/8/8/8 w - - 16 9", "e6f5", "8 … Kf5", "mate in 12", "", nil},
			{41, "5K2/8/7R/8/8/8/8/7k b - - 41 21", "e6h6", "21 Rh6#", "", "h1", nil},
		},
		Looks: []Look{
			{"slip", "8 Rb7", 15, false, "The rook left row 5, and he walked out by f5 and f4.",
				[]string{"The centre stage is lost, and 4 moves.", "Kc7 would have kept it shut: only the turn had to pass."}},
			{"detour", "5 Rg5", 9, false, "2 moves longer than Kc6.", nil},
		},
		Groups: []TrackGroup{
			{"centralise", "2 moves, par 2", []TrackMove{{No: 1, SAN: "Rc7", Reply: "Kd6", Ply: 1, Grade: "on course",
				Before: 14, After: 13, Won: true}, {No: 2, SAN: "Rc5", Reply: "Ke6", Ply: 3, Grade: "on course", Before: 13,
				After: 12, Won: true}}},
			{"edge", "6 moves, slip at 8", []TrackMove{
				{No: 3, SAN: "Kb5", Reply: "Kd6", Ply: 5, Grade: "on course", Before: 12, After: 11, Won: true},
				{No: 4, SAN: "Kb6", Reply: "Ke7", Ply: 7, Grade: "on course", Before: 11, After: 10, Won: true},
				{No: 5, SAN: "Rg5", Reply: "Kf7", Ply: 9, Grade: "detour", Before: 10, After: 11, Won: true},
				{No: 6, SAN: "Rb5", Reply: "Ke7", Ply: 11, Grade: "on course", Before: 11, After: 10, Won: true},
				{No: 7, SAN: "Kc6", Reply: "Ke6", Ply: 13, Grade: "on course", Before: 10, After: 9, Won: true},
				{No: 8, SAN: "Rb7", Reply: "Kf5", Ply: 15, Grade: "slip", Before: 9, After: 12, Won: true},
			}},
			{"centralise", "1 move", []TrackMove{{No: 9, SAN: "Re7", Reply: "Kf4", Ply: 17, Grade: "on course", Before: 12,
				After: 11, Won: true}}},
			{"mate", "4 moves, par 4", []TrackMove{{No: 18, SAN: "Ke8", Reply: "Kh8", Ply: 35, Grade: "on course", Before: 4,
				After: 3, Won: true}, {No: 19, SAN: "Kf7", Reply: "Kh7", Ply: 37, Grade: "on course", Before: 3, After: 2,
				Won: true}, {No: 20, SAN: "Re6", Reply: "Kh8", Ply: 39, Grade: "on course", Before: 2, After: 1, Won: true},
				{No: 21, SAN: "Rh6#", Ply: 41, Grade: "on course", Before: 1, Won: true, Mate: true}}},
		},
	}
}

func reportSample() ReportPage {
	return ReportPage{
		Page: Page{Who: asGuardian}, Name: "Runa", Week: "Havnsund chess club, week of 23 November",
		Sentence: []Part{{Text: "Runa practised on "}, {Text: "4 days", Bold: true},
			{Text: ", 101 minutes in all. Mate with "}, {Text: "king and queen", Bold: true}, {Text: " is mastered."}},
		Days:   []DayMinutes{{"Mo", 18}, {"Tu", 35}, {"We", 0}, {"Th", 22}, {"Fr", 0}, {"Sa", 26}, {"Su", 0}},
		Stages: knightStages(),
		Rows: []ReportRow{
			{"Mate with king and queen", []Mark{{"edge", Mastered}, {"mate", Mastered}},
				[]Mark{{"edge", Mastered}, {"mate", Mastered}}, "mastered", "mastered"},
			{"Mate with king and rook", []Mark{{"centralise", InWork}, {"edge", NotBegun}, {"mate", Mastered}},
				[]Mark{{"centralise", Mastered}, {"edge", InWork}, {"mate", Mastered}}, "in progress", "two of three"},
			{"Mate with bishop and knight", []Mark{{"centralise", NotBegun}, {"edge", NotBegun}, {"corner", NotBegun},
				{"mate", NotBegun}}, []Mark{{"centralise", Reached}, {"edge", InWork}, {"corner", NotBegun}, {"mate", NotBegun}},
				"not begun", "in progress"},
		},
		Set: []SetRow{{"Rook: drive to the edge, then mate", "Set by Coach Maren, due Thursday."}, {"Monday's queens",
			"Set by Coach Maren."}},
		Next:    "With the rook, the king is now driven to the edge alone in three games of five. Expect a week or two of that.",
		Help:    "You do not need to know chess. Ask Runa to show you on a real board where the lone king may still walk, and to say why.",
		Consent: "You agreed to practice on 4 September.",
		Kept:    "Kept are a nickname and the games, each for 24 months.",
		Until:   "This link works until 31 December. Ask the coach for a new one at any time.",
	}
}

// rendered is a page's HTML.
func rendered(t *testing.T, page templ.Component) []byte {
	t.Helper()
	var out bytes.Buffer
	if err := page.Render(context.Background(), &out); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

// TestWriteSamples writes every page to the folder DROVER_SAMPLES, to look at in a
// browser; without the folder there is nothing to write.
func TestWriteSamples(t *testing.T) {
	dir := os.Getenv("DROVER_SAMPLES")
	if dir == "" {
		t.Skip("DROVER_SAMPLES names no folder")
	}
	for name, page := range samples() {
		if err := os.WriteFile(filepath.Join(dir, name+".html"), rendered(t, page), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// knightStages are the stages of bishop and knight; a list of its own each time,
// since a test fills pages with hostile text.
func knightStages() []string { return []string{"centralise", "edge", "corner", "mate"} }
