package certificate

import (
	"fmt"
	"testing"

	"drover/game"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
	"drover/web/site"
	"drover/web/view"
	"drover/web/view/viewtest"
)

// signed is a certificate as a handler fills it, and asked one of which a part is missing.
func signed(t *testing.T, page view.Page) Page {
	t.Helper()
	plan, _ := ending.PlanOf("KRK")
	m := Page{Page: page, Up: view.Link{Href: "/today", Label: "Today"}, Club: "Havnsund chess club", Name: "Runa",
		Ending: site.EndingOf("KRK"), What: site.MateWith("KRK")}
	m.fill(*plan, progress.Certificate{Ending: "KRK", Day: 20_784, Test: whole(24, 25, 26, 22, 21), Later: 7},
		[]store.Watcher{{ID: 1, Name: "Coach Ines"}})
	return m
}

// whole is a test of the whole rook's mate, by the moves of its games.
func whole(moves ...int) progress.Sitting {
	s := progress.Sitting{Day: 20_777, Ending: "KRK", From: ending.Centralise, To: ending.Mate}
	for _, n := range moves {
		s.Games = append(s.Games, progress.Trial{Day: s.Day, Ending: s.Ending, From: s.From, To: s.To, Moves: n, Result: practice.OverPar})
	}
	return s
}

func asked(page view.Page) Page {
	plan, _ := ending.PlanOf("KRK")
	m := Page{Page: page, Up: view.Link{Href: "/report", Label: "Report"}, Name: "Runa", Own: page.Who.Role == view.Student,
		Ending: site.EndingOf("KRK"), What: site.MateWith("KRK")}
	m.toCome(progress.Record{}, *plan, []ending.Stage{ending.Edge, ending.Mate})
	return m
}

func TestPages(t *testing.T) {
	t.Parallel()
	viewtest.Check(t, viewtest.Pages{
		"certificate-child":    signed(t, view.Page{Who: viewtest.AsStudent}).View(),
		"certificate-guardian": signed(t, view.Page{Who: viewtest.AsGuardian}).View(),
		"certificate-coach":    signed(t, view.Page{Who: viewtest.AsCoach}).View(),
		"certificate-not-yet":  asked(view.Page{Who: viewtest.AsStudent}).View(),
		"certificate-to-come":  asked(view.Page{Who: viewtest.AsGuardian}).View(),
	})
}

func TestNamesAreEscaped(t *testing.T) {
	t.Parallel()
	m := signed(t, view.Page{Who: viewtest.AsCoach})
	viewtest.CheckEscaped(t, &m)
}

// TestWatchedAll: of an ending that was tested part by part the certificate names those alone
// who watched each of its tests.
func TestWatchedAll(t *testing.T) {
	t.Parallel()
	test := func(last game.GameID) progress.Sitting {
		return progress.Sitting{Games: []progress.Trial{{Game: last}}}
	}
	ines, per := store.Watcher{ID: 1, Name: "Coach Ines"}, store.Watcher{ID: 2, Name: "Coach Per"}
	by := map[game.GameID][]store.Watcher{5: {ines, per}, 10: {per}, 15: {}}
	for want, tests := range map[string][]progress.Sitting{
		"[]": nil, "[{1 Coach Ines} {2 Coach Per}]": {test(5)}, "[{2 Coach Per}]": {test(5), test(10)},
	} {
		if got := fmt.Sprint(watchedAll(tests, by)); got != want {
			t.Errorf("%s, want %s", got, want)
		}
	}
	if got := watchedAll([]progress.Sitting{test(5), test(15)}, by); len(got) != 0 {
		t.Errorf("with a test that nobody watched: %v", got)
	}
}

// TestWords: what a certificate says, of a test of the whole ending and of parts, and of one
// that is not to be had yet.
func TestWords(t *testing.T) {
	t.Parallel()
	m := signed(t, view.Page{Who: viewtest.AsStudent})
	for got, want := range map[string]string{
		m.Can:  "Runa can shut the lone king out of the middle, drive him to the edge and mate, however well he defends.",
		m.Test: "Tested in five games alone on one day, four within 25 moves, and asked again a week later.",
		m.Day:  "27 November 2026", m.Watched: "Watched by Coach Ines.",
		tested(progress.Certificate{}): "Tested in five games alone on one day, and asked again a week later or more.",
		later(9):                       "9 days later", later(21): "3 weeks later",
		asked(view.Page{Who: viewtest.AsStudent}).ToCome: "The certificate comes when you have mastered every part of it. Still to come: drive to the edge and mate.",
		asked(view.Page{}).ToCome:                        "The certificate comes when Runa has mastered every part of it. Still to come: drive to the edge and mate.",
	} {
		if got != want {
			t.Errorf("%q, want %q", got, want)
		}
	}
	queen, _ := ending.PlanOf("KQK")
	if got := can(*queen, "Runa", []string{"drive him to the edge", "mate"}); got != "Against a lone king, Runa can drive him to the edge and mate, however well he defends." {
		t.Error(got)
	}
	pawn, _ := ending.PlanOf("KPK")
	if got := can(*pawn, "Runa", []string{"a", "b"}); got != "Runa can a and b, however well the other side defends." {
		t.Error(got)
	}
}
