package officer

import (
	"strings"
	"testing"

	"drover/web/view"
	"drover/web/view/viewtest"
)

// samples are the pages of this audience, each filled as a handler fills it.
func samples() viewtest.Pages {
	page := view.Page{Who: viewtest.AsOfficer}
	return viewtest.Pages{
		"welfare":        desk().View(),
		"erasures":       erasures().View(),
		"erasures-none":  ErasuresPage{Page: page, Number: "x", Errors: view.Errors{"number": "Nobody in the club has this number."}}.View(),
		"erasures-owner": ErasuresPage{Page: view.Page{Who: viewtest.AsCoach}, Owner: true, Outside: "A helpline"}.View(),
		"welfare-first": WelfarePage{Page: view.Page{Who: viewtest.AsCoach}, Welfare: "Marten", Contact: "In the club room", May: true,
			URL: "https://drover.havnsund.example/join#1.abc"}.View(),
		"welfare-read": WelfarePage{Page: view.Page{Who: viewtest.AsCoach}, Welfare: "Marten", Contact: "In the club room"}.View(),
		"welfare-second": WelfarePage{Page: page, May: true, Officer: true, Clash: "Somebody else was first.", Now: "Marten, in the room",
			Errors: view.Errors{"contact": "Please write how to reach them."}}.View(),
	}
}

func desk() WelfarePage {
	return WelfarePage{Page: view.Page{Who: viewtest.AsOfficer}, Welfare: "Marten", Contact: "In the club room", May: true, Officer: true,
		Officers: []Line{{ID: "7", Name: "Solveig", Email: "sol@club.example", Seen: "last here today", Factor: true, You: true},
			{ID: "8", Name: "Marten", Email: "marten@club.example", Seen: "not signed in now"}}}
}

func erasures() ErasuresPage {
	return ErasuresPage{Page: view.Page{Who: viewtest.AsOfficer}, Rows: []ErasureLine{
		{ID: "1", Number: "31", Name: "Wren", Asked: "asked for by a guardian, Hedda, 22 November", Confirm: "Confirm: erased on 2 December"},
		{ID: "2", Number: "8", Name: "Runa", Asked: "asked for by Ines, 19 November", Say: "All will be erased on 27 November."}}}
}

func TestPages(t *testing.T) {
	t.Parallel()
	viewtest.Check(t, samples())
}

func TestNamesAreEscaped(t *testing.T) {
	t.Parallel()
	m, e := desk(), erasures()
	viewtest.CheckEscaped(t, &m)
	viewtest.CheckEscaped(t, &e)
}

// TestAddressesAreForOfficers: a coach reads who the officers are, not how they sign in.
func TestAddressesAreForOfficers(t *testing.T) {
	t.Parallel()
	m := desk()
	m.Officer = false
	if body := viewtest.Text(viewtest.Parsed(t, m.View())); strings.Contains(body, "@club.example") || !strings.Contains(body, "Solveig") {
		t.Errorf("%s", body)
	}
}
