package student

import (
	"fmt"
	"strings"
	"testing"

	"drover/game/club"
	"drover/web/view"
	"drover/web/view/viewtest"

	"golang.org/x/net/html"
)

// samples are the pages of this audience, each filled as a handler fills it.
func samples() viewtest.Pages {
	due := []DueCard{
		{Post: "/today/start", Hidden: []view.Hidden{{Name: "assignment", Value: "3"}}, Title: "Rook", Stage: "edge",
			Line: "4 starts, due Thursday", FEN: "8/8/7R/8/5k2/8/8/5K2 w - - 0 1", Action: "Start"},
		{Post: "/today/start", Hidden: []view.Hidden{{Name: "assignment", Value: "4"}}, Title: "Bishop and knight",
			Stage: "corner",
			State: view.InWork, Line: "start 2 of 4", FEN: "8/8/2k5/8/2K1N3/2B5/8/8 w - - 0 1", Action: "Go on"},
		{Post: "/today/start", Hidden: []view.Hidden{{Name: "assignment", Value: "5"}}, Title: "Queen: still yours?",
			Stage: "mate",
			Line:  "2 starts, last checked 12 days ago", FEN: "8/3QK3/k7/8/8/8/8/8 w - - 0 1", Action: "Play it"},
	}
	endings := []view.EndingMarks{
		{Ending: viewtest.Queen, Say: "mastered", Marks: viewtest.Marks("edge bell", "mate bell"), Paper: "/certificate/KQK"},
		{Ending: viewtest.Rook, Say: "3 of 5 stages alone", Marks: viewtest.Marks("centralise bell", "edge half",
			"mate bell")},
		{Ending: viewtest.Bishops, Say: "in progress", Marks: viewtest.Marks("centralise bell", "edge full", "corner half")},
		{Ending: viewtest.Knight, Say: "not begun", Marks: viewtest.Marks("centralise none", "edge none", "corner none",
			"mate none")},
	}
	return viewtest.Pages{
		"today": TodayPage{Page: view.Page{Who: viewtest.AsStudent}, Lead: "Three things today, about 20 minutes.", Due: due,
			Endings: endings, Papers: []Paper{{viewtest.Queen, "Mate with king and queen is yours, every part of it.",
				"/certificate/KQK"}}}.View(),
		"today-empty": TodayPage{Page: view.Page{Who: viewtest.AsStudent}, Lead: "Nothing is waiting."}.View(),
		"own":         OwnPage{Page: view.Page{Who: viewtest.AsStudent}, Number: "11", Wait: "0.8 seconds"}.View(),
		"own-set": OwnPage{Page: view.Page{Who: viewtest.AsStudent, Own: view.Own{Scheme: "dark", Big: true}}, Number: "11", Wait: "1 second",
			Set: club.Own{Pace: club.SlowPace, Big: true, Turned: true, Sounds: true, Scheme: club.DarkScheme}}.View(),
	}
}

func TestPages(t *testing.T) {
	t.Parallel()
	viewtest.Check(t, samples())
}

func TestNamesAreEscaped(t *testing.T) {
	t.Parallel()
	viewtest.CheckEscaped(t, &TodayPage{Due: []DueCard{{Title: "x"}},
		Endings: []view.EndingMarks{{Ending: viewtest.Rook}}}, &OwnPage{})
}

func TestTodayShowsThreeAtMostAndTheFirstIsMain(t *testing.T) {
	t.Parallel()
	m := TodayPage{Page: view.Page{Who: viewtest.AsStudent}}
	for i := range 5 {
		m.Due = append(m.Due, DueCard{Post: "/today/start", Hidden: []view.Hidden{{Name: "assignment", Value: fmt.Sprint(i)}},
			Title:  "Rook",
			Action: "Start"})
	}
	doc := viewtest.Parsed(t, m.View())
	posted := func(in *html.Node) string {
		var out []string
		for _, in := range viewtest.Elements(in, "input") {
			out = append(out, viewtest.Attr(in, "value"))
		}
		return strings.Join(out, "")
	}
	more := viewtest.One(t, doc, "more-due")
	if got := posted(doc); got != "01234" || posted(more) != "34" || viewtest.Text(viewtest.Elements(more, "summary")[0]) != "Two more" {
		t.Errorf("assignments %q, of them behind 'more' %q", got, posted(more))
	}
	if form := viewtest.One(t, doc, "go").Parent; viewtest.Attr(viewtest.Elements(form, "input")[0], "value") != "0" {
		t.Error("the first card has not the main action")
	}
}

// TestEnoughLeavesFreePracticeSmall: who has played enough, with nothing set or all of it resting,
// has no main button, and free practice below.
func TestEnoughLeavesFreePracticeSmall(t *testing.T) {
	t.Parallel()
	student := view.Page{Who: viewtest.AsStudent}
	for name, m := range map[string]TodayPage{
		"nothing set": {Page: student, Rested: true}, "it rests": {Page: student, Rested: true, Due: []DueCard{{Title: "Rook"}}},
	} {
		doc := viewtest.Parsed(t, m.View())
		if link := viewtest.One(t, doc, "free-link"); viewtest.Attr(link, "class") != "free-link small" {
			t.Errorf("%s: free practice stands large", name)
		}
		if main := viewtest.WithClass(doc, "go"); len(main) > 0 {
			t.Errorf("%s: %s is a main button", name, viewtest.Text(main[0]))
		}
	}
}

// TestOwnShowsWhatIsSet: each choice stands in the form as it is kept, and of the sample
// the side is shown from which the child sees the board.
func TestOwnShowsWhatIsSet(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		set  club.Own
		want string
	}{
		{club.Own{}, "pace=club scheme=device sample 0"},
		{club.Own{Pace: club.SlowerPace, Turned: true, Scheme: club.LightScheme}, "pace=slower turned=on scheme=light sample 1"},
		{club.Own{Pace: club.QuickPace, Big: true, Sounds: true}, "pace=quick big=on sounds=on scheme=device sample 0"},
	} {
		doc := viewtest.Parsed(t, OwnPage{Page: view.Page{Who: viewtest.AsStudent}, Set: c.set}.View())
		var on []string
		for _, in := range viewtest.Elements(doc, "input") {
			if viewtest.Has(in, "checked") {
				on = append(on, viewtest.Attr(in, "name")+"="+viewtest.Attr(in, "value"))
			}
		}
		shown := 0
		for _, div := range viewtest.Elements(doc, "div") {
			if viewtest.Attr(div, "class") != "sample" {
				continue
			}
			if !viewtest.Has(div, "hidden") {
				on = append(on, fmt.Sprint("sample ", shown))
			}
			shown++
		}
		if got := strings.Join(on, " "); got != c.want || shown != 2 {
			t.Errorf("%+v: %s", c.set, got)
		}
	}
}
