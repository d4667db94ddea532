package student

import (
	"fmt"
	"strings"
	"testing"

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
			Line:  "2 starts, last time 12 days ago", FEN: "8/3QK3/k7/8/8/8/8/8 w - - 0 1", Action: "Play it"},
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
	}
}

func TestPages(t *testing.T) {
	t.Parallel()
	viewtest.Check(t, samples())
}

func TestNamesAreEscaped(t *testing.T) {
	t.Parallel()
	viewtest.CheckEscaped(t, &TodayPage{Due: []DueCard{{Title: "x"}},
		Endings: []view.EndingMarks{{Ending: viewtest.Rook}}})
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
