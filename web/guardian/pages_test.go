package guardian

import (
	"slices"
	"strings"
	"testing"
	"time"

	"drover/game/ending"
	"drover/store"
	"drover/web/view"
	"drover/web/view/viewtest"
)

// samples are the pages of this audience, each filled as a handler fills it.
func samples() viewtest.Pages {
	return viewtest.Pages{
		"report":       reportSample().View(),
		"erase":        ErasePage{view.Page{Who: viewtest.AsGuardian}, EraseBox{Child: "5", Name: "Runa"}}.View(),
		"erase-waits":  ErasePage{view.Page{Who: viewtest.AsGuardian}, EraseBox{"5", "Runa", "All will be erased on 14 May."}}.View(),
		"mail":         MailPage{Page: view.Page{Who: viewtest.AsGuardian}, Sends: true, Wanted: true}.View(),
		"mail-none":    MailPage{Page: view.Page{Who: viewtest.AsGuardian}}.View(),
		"mail-on":      mailSample(store.Address{Email: "una@home.example", Wanted: true, Confirmed: true, Outcome: store.LetterUnknown}).View(),
		"mail-asked":   mailSample(store.Address{Email: "una@home.example", Wanted: true}).View(),
		"mail-refused": mailSample(store.Address{Email: "una@home.example", Refused: &time.Time{}, Outcome: store.LetterRefused}).View(),
	}
}

func mailSample(own store.Address) MailPage {
	return MailPage{Page: view.Page{Who: viewtest.AsGuardian}, Sends: true, Own: &own, Asked: own.Email, Wanted: own.Wanted,
		Last: "Sunday 22 November", Refused: "Sunday 22 November", Errors: view.Errors{"email": "Look at it again."}}
}

func TestPages(t *testing.T) {
	t.Parallel()
	viewtest.Check(t, samples())
}

func TestNamesAreEscaped(t *testing.T) {
	t.Parallel()
	report := reportSample()
	viewtest.CheckEscaped(t, &report, &MailPage{Sends: true, Own: &store.Address{}, Last: "x"})
}

func reportSample() ReportPage {
	return ReportPage{
		Page: view.Page{Who: viewtest.AsGuardian}, Name: "Runa", Week: "Havnsund chess club, week of 23 November",
		Sentence: []view.Part{{Text: "Runa practised on "}, {Text: "4 days", Bold: true},
			{Text: ", 101 minutes in all. Mate with "}, {Text: "king and queen", Bold: true}, {Text: " is mastered."}},
		Days:   []DayMinutes{{"Mo", 18}, {"Tu", 35}, {"We", 0}, {"Th", 22}, {"Fr", 0}, {"Sa", 26}, {"Su", 0}},
		Stages: viewtest.KnightStages(),
		Papers: []view.Link{{Href: "/certificate/KQK", Label: "Certificate: mate with king and queen"}},
		Rows: []ReportRow{
			{"Mate with king and queen", viewtest.Marks("edge bell", "mate bell"),
				viewtest.Marks("edge bell", "mate bell"), "mastered", "mastered", "/guide/KQK"},
			{"Mate with king and rook", viewtest.Marks("centralise half", "edge none", "mate bell"),
				viewtest.Marks("centralise bell", "edge half", "mate bell"), "in progress", "two of three", "/guide/KRK"},
			{"Mate with bishop and knight", viewtest.Marks("centralise none", "edge none", "corner none", "mate none"),
				viewtest.Marks("centralise full", "edge half", "corner none", "mate none"),
				"not begun", "in progress", "/guide/KBNK"},
		},
		Set: []SetRow{{"Rook: drive to the edge, then mate", "Set by Coach Maren, due Thursday."}, {"Monday's queens",
			"Set by Coach Maren."}},
		Next: "With the rook, the king is now driven to the edge alone in three games of five. Expect a week or two of that.",
		Help: "You do not need to know chess. Ask Runa to show you on a real board where the lone king may still walk, and to say why.",
		ID:   "5", Siblings: []Sibling{{"Runa", "/report/5", true, ""}, {"Ask", "/report/6", false, ""}},
		Consent: &ConsentBox{Child: "5", Name: "Runa", Title: "You agreed on 4 September", Say: []string{"To practice and to what is kept for it."}},
		Weeks: WeeksPicture{Heads: []string{"2 Nov", "9 Nov", "16 Nov", "23 Nov"}, Rows: []WeeksRow{
			{"Mate with king and rook", weekSample()}}},
		Erase: &EraseBox{Child: "5", Name: "Runa"},
		Until: "This link works until 31 December. Ask the coach for a new one at any time.",
	}
}

// weekSample are four weeks of the rook's ending.
func weekSample() []WeekCell {
	cells := make([]WeekCell, shownWeeks)
	for i, weeks := range [][][]bool{{{false, true}, {true}, nil}, {nil, nil, nil}, {{true}, {true}, {true}}, {{true}, {false}, {false, false}}} {
		for j, stage := range []ending.Stage{ending.Centralise, ending.Edge, ending.Mate} {
			cells[i].add(stage, weeks[j])
		}
	}
	return cells
}

// TestWeekIsDrawnAndSaid: a mark says at a glance what its stage came to in a week, and the same
// stands in words.
func TestWeekIsDrawnAndSaid(t *testing.T) {
	t.Parallel()
	c := weekSample()[0]
	want := viewtest.Marks("centralise half", "edge full", "mate none")
	if !slices.Equal(c.Marks, want) || c.say() != "2 of 3" || strings.Join(c.Parts, "; ") != "shut the lone king out of the middle: 1 of 2; drive him to the edge: 1 of 1" {
		t.Errorf("%+v", c)
	}
}

func TestReportReadsAsText(t *testing.T) {
	t.Parallel()
	doc := viewtest.Parsed(t, reportSample().View())
	if got := viewtest.Text(viewtest.WithClass(doc, "lead")[0]); got != "Runa practised on 4 days, 101 minutes in all. Mate with king and queen is mastered." {
		t.Errorf("sentence %q", got)
	}
	days := viewtest.Elements(viewtest.One(t, doc, "days"), "li")
	if got := viewtest.Text(days[0]) + "; " + viewtest.Text(days[2]); got != "18 min Mo; no minutes We" {
		t.Errorf("days %q", got)
	}
}

func TestDayBarsKeepTheirProportions(t *testing.T) {
	t.Parallel()
	short := ReportPage{Days: []DayMinutes{{"Mo", 5}}}
	long := ReportPage{Days: []DayMinutes{{"Mo", 5}, {"Tu", 60}}}
	if short.most() != 15 || long.most() != 60 {
		t.Errorf("most %d and %d", short.most(), long.most())
	}
	if dayPath(60, 60) == dayPath(30, 60) {
		t.Error("half the minutes draw the same bar")
	}
}
