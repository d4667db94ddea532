package coach

import (
	"fmt"
	"strings"
	"testing"

	"drover/store"
	"drover/web/view"
	"drover/web/view/viewtest"
)

// samples are the pages of this audience, each filled as a handler fills it.
func samples() viewtest.Pages {
	page := view.Page{Who: viewtest.AsCoach}
	return viewtest.Pages{
		"students":       studentsSample(page).View(),
		"students-empty": StudentsPage{Page: page, Groups: []GroupPill{{Name: "All"}}}.View(),
		"student-new": StudentNewPage{Page: page, Form: StudentForm{Name: "Aki",
			Errors: view.Errors{"consent": "Tick this once the guardian has agreed."}}}.View(),
		"student-archived": StudentPage{Page: page, ID: "11", Name: "Runa", Number: "11", Archived: true}.View(),
		"register":         RegisterPage{Page: page, Club: "Harbour", Lists: []RegisterList{{"Tuesday", []string{"Runa", "Aki"}}}}.View(),
		"edit": EditPage{Page: page, ID: "11", Name: "Runa", Now: "Runa", Wording: 8, Clash: "Somebody else was first.",
			NowSay: "Now: Runa.", Groups: []view.Choice{{Value: "1", Label: "Tuesday", Chosen: true}}}.View(),
		"consent": ConsentPage{Page: page, ID: "11", Name: "Runa", By: "Una", On: "2026-09-04"}.View(),
		"groups":  GroupsPage{Page: page, Rows: []GroupLine{{ID: "1", Name: "Tuesday", Students: 2}}}.View(),
		"season": SeasonPage{Page: page, Students: []SeasonStudent{{"11", "Runa", "Tuesday", true}},
			Groups: []SeasonGroup{{"Tuesday", 2, []view.Choice{{Label: "stays"}}, "", ""},
				{"First team", 2, []view.Choice{{Label: "stays"}}, "", ""}}}.View(),
		"season-preview": SeasonPage{Page: page, Preview: true, Withdraw: true,
			Students: []SeasonStudent{{"11", "Runa", "Tuesday", true}}}.View(),
		"coaches": CoachesPage{Page: page, Owner: true, Barred: []BarredLine{{ID: "9", Name: "Una", Say: "guardian, stopped", Reason: "A reason"}}, URL: "https://drover.havnsund.example/join#1.abc",
			Rows: []PersonLine{{ID: "1", Name: "Maren", Email: "maren@club.example", Owner: true, You: true, Seen: "last here today"},
				{ID: "2", Name: "Ines", Stands: "stands in for Tuesday until 3 December"}},
			Successors: []view.Choice{{Value: "1", Label: "Maren"}}}.View(),
		"handover":   HandoverPage{Page: page, Rows: []HandoverLine{{"11", "Runa", "Today: rook, edge.", "Nothing stands out so far.", ""}}}.View(),
		"settings":   SettingsPage{Page: page, Form: settingsForm{Name: "Harbour", Zone: "UTC"}}.View(),
		"backed up":  SettingsPage{Page: page, Form: settingsForm{Name: "Harbour", Zone: "UTC"}, Backup: "today 07:10"}.View(),
		"student":    studentSample(page).View(),
		"card":       CardPage{Page: page, StudentID: "11", Card: pressSample(), Made: "25 November 2026"}.View(),
		"many":       ManyPage{Page: page}.View(),
		"many-read":  manySample(page).View(),
		"cards":      cardsSample(page).View(),
		"cards-none": CardsPage{Page: page}.View(),
		"sheet": SheetPage{Page: page, Of: 9, Done: 9, Made: "25 November 2026", No: "3",
			Sheets: [][]view.PressCard{{pressSample(), pressSample()}}}.View(),
		"sheet-made": SheetPage{Page: page, Of: 9, Done: 3, No: "3"}.View(),
		"sheet-over": SheetPage{Page: page}.View(),
		"student-waits": StudentPage{Page: page, ID: "11", Name: "Runa", Number: "11", Card: "No card yet",
			Waits: &ConsentPage{ID: "11", First: true}}.View(),
		"link": LinkPage{Page: page, StudentID: "11", Student: "Runa", Guardian: "Una",
			URL: "https://drover.havnsund.example/open#1.abcdefghijklmnopqrstuvwx", QR: qrSample(), Until: "23 February"}.View(),
		"over": OverPage{Page: page, Title: "Card for Runa", Say: "A card is shown for ten minutes.",
			StudentID: "11", Student: "Runa", Ask: "Is it lost?", Post: "/students/11/card", Button: "Make a new card",
			Hint: "The old card stops working at once."}.View(),
		"account": accountSample(page).View(),
		"again":   AgainPage{Page: page, Email: "maren@havnsund.example", Factor: true, Error: "This code does not fit."}.View(),
		"password": ChangePage{Page: page, What: changePassword, Now: "maren@havnsund.example",
			Errors: view.Errors{"password": "Please use at least 15 characters."}}.View(),
		"email":     ChangePage{Page: page, What: changeEmail, Email: "maren@havnsund.example"}.View(),
		"factor":    FactorPage{Page: page, Secret: "JFJD OWJY", QR: qrSample(), Until: "Thursday 3 December"}.View(),
		"factor-on": FactorPage{Page: page, On: true, Short: true, Codes: 9}.View(),
		"codes":     CodesPage{Page: page, On: true, Left: 10, Codes: []string{"abcd-efgh-ijkl-mnop"}}.View(),
		"codes-no":  CodesPage{Page: page, On: true, Left: 10}.View(),
		"reset-link": ResetLinkPage{Page: page, Name: "Per", URL: "https://drover.havnsund.example/reset/password#1.abc",
			QR: qrSample()}.View(),
		"drills":          drillsSample(page).View(),
		"drills-empty":    DrillsPage{Page: page, Misses: true}.View(),
		"drills-archived": DrillsPage{Page: page, Ask: store.ShelfAsk{Archived: true}}.View(),
		"drill-old":       AssignPage{Page: page, ID: "3", Name: "Rook", Old: true, Newer: "4"}.View(),
		"drill-gone":      AssignPage{Page: page, ID: "3", Name: "Rook", Old: true}.View(),
		"drill-again": AssignPage{Page: page, ID: "3", Name: "Rook", NewName: "Rook", Students: []AssignRow{{ID: "11", Name: "Runa", Chosen: true}},
			Errors: view.Errors{"again": "Runa has this open already."}}.View(),
		"drill-new":    drillNewSample(page).View(),
		"assign":       assignSample(page).View(),
		"stages":       stagesSample(page).View(),
		"next":         nextSample(page).View(),
		"next-none":    NextPage{Page: page, At: nextAt{No: 1}, Groups: []GroupPill{{Name: "All", On: true}}, Have: 2, Off: 1}.View(),
		"stages-empty": StagesPage{Page: page, Finding: view.Plain("No games yet")}.View(),
	}
}

func pressSample() view.PressCard {
	return view.PressCard{Club: "Harbour", Name: "Runa", Number: "11", Man: "N", Words: []string{"lamp", "otter", "field", "moon"},
		QR: qrSample(), Address: "drover.havnsund.example"}
}

func manySample(page view.Page) ManyPage {
	return ManyPage{Page: page, Text: "nickname;wording", Draft: "7", Refused: "Born", Note: "Read as Windows-1252.",
		Sum: "One would be added, and one has a problem.", Add: "Add one student", Lines: []ManyLine{
			{No: "2", Name: "Aki", Wording: "for eight", Groups: "Tuesday", Consent: "waits for consent"},
			{No: "3", Name: "Runa", Say: "There is a Runa in the club already.", Double: true},
		}}
}

func cardsSample(page view.Page) CardsPage {
	return CardsPage{Page: page, Fresh: []view.Choice{{Value: "11", Label: "Runa", Chosen: true}},
		Old: []view.Choice{{Value: "12", Label: "Aki"}}, Waits: "Siv waits for consent, and gets no card."}
}

func TestPages(t *testing.T) {
	t.Parallel()
	viewtest.Check(t, samples())
}

func TestNamesAreEscaped(t *testing.T) {
	t.Parallel()
	page := view.Page{Who: viewtest.AsCoach, Notice: &view.Notice{Say: "x"}}
	students, student, drills := studentsSample(page), studentSample(page), drillsSample(page)
	drill, assign, stages := drillNewSample(page), assignSample(page), stagesSample(page)
	account, coaches := accountSample(page), CoachesPage{Page: page, Owner: true, Rows: []PersonLine{{ID: "2", Name: "Per"}}}
	viewtest.CheckEscaped(t, &account, &coaches, &students, &student, &drills, &drill, &assign, &stages,
		&CardPage{Page: page, Card: pressSample()}, &LinkPage{Page: page, QR: qrSample()})
}

func TestStageTableShape(t *testing.T) {
	t.Parallel()
	m := stagesSample(view.Page{Who: viewtest.AsCoach})
	doc := viewtest.Parsed(t, m.View())
	table := viewtest.One(t, doc, "stages")
	rows := viewtest.Elements(viewtest.Elements(table, "tbody")[0], "tr")
	if len(rows) != len(m.Rows) {
		t.Fatalf("%d rows", len(rows))
	}
	for i, row := range rows {
		if n := len(viewtest.Elements(row, "td")); n != 13 { // twelve stages and the weakest
			t.Errorf("row %d has %d cells", i, n)
		}
	}
	cell := viewtest.Elements(rows[0], "td")[10]
	if got := viewtest.Text(cell); got != "1 of 10 clean" {
		t.Errorf("cell %q", got)
	}
	if n := len(viewtest.Elements(cell, "rect")); n != 10 {
		t.Errorf("%d bars", n)
	}
	if got := viewtest.Text(viewtest.Elements(rows[2], "td")[4]); got != "-" {
		t.Errorf("empty cell %q", got)
	}
	if len(viewtest.WithClass(rows[2], "few")) != 2 || len(viewtest.WithClass(rows[0], "few")) != 0 {
		t.Error("under five games is soft, ten are not")
	}
}

func TestStageCellDrawsTheLastTen(t *testing.T) {
	t.Parallel()
	c := cellOf("000000001111")
	drawn := c.drawn()
	if len(drawn) != 10 || drawn[0].height != "3" || drawn[9].height != "12" {
		t.Errorf("%v", drawn)
	}
}

func TestCardShowsItsSecretOnce(t *testing.T) {
	t.Parallel()
	doc := viewtest.Parsed(t, samples()["card"])
	if got := viewtest.Text(viewtest.One(t, doc, "press-words")); got != "lamp otter field moon" {
		t.Errorf("words %q", got)
	}
	if n := strings.Count(viewtest.Text(doc), "otter"); n != 1 {
		t.Errorf("the words stand %d times on the page", n)
	}
}

func TestQRPathIsTheMatrix(t *testing.T) {
	t.Parallel()
	matrix := qrSample()
	drawn := make([][]bool, len(matrix))
	for i := range drawn {
		drawn[i] = make([]bool, len(matrix))
	}
	for _, part := range strings.Split(view.QRPath(matrix), "M")[1:] {
		var x, y, run, back int
		if _, err := fmt.Sscanf(part, "%d %dh%dv1h-%dz", &x, &y, &run, &back); err != nil || run != back {
			t.Fatalf("%q: %v", part, err)
		}
		for i := range run {
			drawn[y][x+i] = true
		}
	}
	if fmt.Sprint(drawn) != fmt.Sprint(matrix) {
		t.Error("the path draws another matrix")
	}
}

func TestDrillFormKeepsItsChoices(t *testing.T) {
	t.Parallel()
	doc := viewtest.Parsed(t, drillNewSample(view.Page{Who: viewtest.AsCoach}).View())
	got := map[string]string{}
	for _, in := range viewtest.Elements(doc, "input") {
		if viewtest.Has(in, "checked") || viewtest.Attr(in, "type") == "hidden" {
			got[viewtest.Attr(in, "name")] = viewtest.Attr(in, "value")
		}
	}
	for _, o := range viewtest.Elements(doc, "option") {
		if viewtest.Has(o, "selected") {
			got[viewtest.Attr(o.Parent, "name")] = viewtest.Attr(o, "value")
		}
	}
	if id := got["once"]; len(id) < 26 { // 128 bits and more, in five bits a letter
		t.Errorf("the form's own id is %q", id)
	}
	delete(got, "once")
	want := map[string]string{"ending": "KRK", "from": "edge", "to": "mate", "defender": "longest", "mode": "guided",
		"seed": "77"}
	if fmt.Sprint(got) != fmt.Sprint(want) {
		t.Errorf("got %v, want %v", got, want)
	}
}
