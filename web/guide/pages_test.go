package guide

import (
	"context"
	"strings"
	"testing"

	"drover/game/ending"
	"drover/solver"
	"drover/web/site"
	"drover/web/view"
	"drover/web/view/viewtest"
)

// judge is one for all tests, since it keeps its tables.
var judge = ending.NewJudge(solver.NewTables())

// samples are the pages of this audience, each filled as a handler fills it.
func samples(t *testing.T) viewtest.Pages {
	t.Helper()
	coach, child := sample(t, "KRK", ending.Fourteen, view.Page{Who: viewtest.AsCoach}), sample(t, "KBNK", ending.Eight,
		view.Page{Who: viewtest.AsStudent})
	list := ListPage{Page: view.Page{Who: viewtest.AsGuardian}, Up: view.Link{Href: "/report", Label: "Report"}, Taught: []Row{{Ending: viewtest.Rook, Href: "/guide/KRK",
		Stages: []string{"edge", "mate"}}}}
	return viewtest.Pages{"guide-coach": coach.View(), "guide-child": child.View(), "guide-list": list.View()}
}

// sample is the page of an ending that is taught.
func sample(t *testing.T, code string, age int, page view.Page) EndingPage {
	t.Helper()
	g, _ := ending.GuideOf(code, false)
	m := EndingPage{Page: page, Up: view.Link{Href: "/today", Label: "Today"}, Ending: site.EndingOf(code), Age: age, Lead: lead(g)}
	all, err := (&examples{of: map[string][][2]ending.Example{}}).get(context.Background(), judge, g)
	if err != nil {
		t.Fatal(err)
	}
	m.Key = key(all)
	coach := page.Who.Role == view.Coach
	if coach {
		m.Choices = choices(site.GuidePath(code, false), age)
	}
	for i, step := range g.Steps {
		m.Stages = append(m.Stages, part(step, false, all[i], age, coach))
	}
	return m
}

func TestPages(t *testing.T) {
	t.Parallel()
	viewtest.Check(t, samples(t))
}

func TestNamesAreEscaped(t *testing.T) {
	t.Parallel()
	m := sample(t, "KQK", ending.Eight, view.Page{Who: viewtest.AsCoach})
	viewtest.CheckEscaped(t, &m, &ListPage{Taught: []Row{{Ending: viewtest.Rook}}})
}

// TestEachStageHasTwoBoards: two boards for a stage; the second has the move's two
// frames, and his pen or the gaps.
func TestEachStageHasTwoBoards(t *testing.T) {
	t.Parallel()
	doc := viewtest.Parsed(t, sample(t, "KBNK", ending.Eight, view.Page{Who: viewtest.AsStudent}).View())
	if n := len(viewtest.Elements(doc, "figure")); n != 8 {
		t.Errorf("%d figures", n)
	}
	if n := len(viewtest.WithClass(doc, "ring")); n != 8 {
		t.Errorf("%d frames for four moves", n)
	}
	if len(viewtest.WithClass(doc, "hurdle-line")) == 0 || len(viewtest.WithClass(doc, "wash")) == 0 {
		t.Error("no gap is drawn")
	}
	if text := viewtest.Text(doc); !strings.Contains(text, "A broken hurdle is a gap") {
		t.Error("the page does not say what a gap is")
	}
	for _, p := range sample(t, "KQK", ending.Eight, view.Page{}).Stages {
		if len(p.Shows.Board.Pen) == 0 || len(p.Begin.Board.Pen) > 0 || p.Begin.Board.Next != "" {
			t.Errorf("%s: the pen is drawn in %+v and %+v", p.Stage, p.Begin.Board, p.Shows.Board)
		}
	}
}

// TestDrillsAreLinksForCoaches: a coach goes from the drill to the shelf; a child reads
// its name and has no link to a page that is not theirs.
func TestDrillsAreLinksForCoaches(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		who  view.Who
		want int
	}{{viewtest.AsCoach, 3}, {viewtest.AsStudent, 0}, {viewtest.AsGuardian, 0}} {
		doc := viewtest.Parsed(t, sample(t, "KRK", ending.Eight, view.Page{Who: c.who}).View())
		var found []string
		for _, a := range viewtest.Elements(viewtest.Elements(doc, "main")[0], "a") {
			if href := viewtest.Attr(a, "href"); strings.HasPrefix(href, "/drills?") {
				found = append(found, href)
			}
		}
		if len(found) != c.want || c.want > 0 && found[1] != "/drills?ending=KRK&trains=kind-checks" {
			t.Errorf("%s: %q", c.who.Role, found)
		}
		if text := viewtest.Text(doc); !strings.Contains(text, "Drill: Rook: checks cost") {
			t.Errorf("%s: the drill is not named: %s", c.who.Role, text)
		}
	}
}

// TestBothWordings: a page has the words of one age alone.
func TestBothWordings(t *testing.T) {
	t.Parallel()
	eight := viewtest.Text(viewtest.Parsed(t, sample(t, "KRK", ending.Eight, view.Page{}).View()))
	fourteen := viewtest.Text(viewtest.Parsed(t, sample(t, "KRK", ending.Fourteen, view.Page{}).View()))
	if !strings.Contains(eight, "To the middle") || !strings.Contains(eight, "Rook to c7: only the turn had to pass.") ||
		strings.Contains(eight, "Rc7") {
		t.Errorf("for eight: %s", eight)
	}
	if !strings.Contains(fourteen, "Centralise") || !strings.Contains(fourteen, "Rc7 is a waiting move") ||
		!strings.Contains(fourteen, "the inner 36 squares") || strings.Contains(fourteen, "Rook to c7") {
		t.Errorf("for fourteen: %s", fourteen)
	}
}

// TestExamplesAreComputedOnce: the same positions are given out again, also to a reader
// who has gone away meanwhile.
func TestExamplesAreComputedOnce(t *testing.T) {
	t.Parallel()
	g, _ := ending.GuideOf("KQK", false)
	e := &examples{of: map[string][][2]ending.Example{}}
	gone, leave := context.WithCancel(context.Background())
	leave()
	first, err := e.get(gone, judge, g)
	if err != nil {
		t.Fatal(err)
	}
	second, err := e.get(context.Background(), nil, g) // no judge is asked
	if err != nil || &first[0] != &second[0] {
		t.Errorf("computed again: %v", err)
	}
}
