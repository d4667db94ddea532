package view_test

import (
	"net/http"
	"net/http/httptest"
	"regexp"
	"strings"
	"testing"

	"drover/static"
	"drover/web/view"
	"drover/web/view/viewtest"
)

// samples are the pages of this audience, each filled as a handler fills it.
func samples() viewtest.Pages {
	return viewtest.Pages{
		"problem": view.ProblemPage{Status: 404, Say: "There is no such page",
			Do: "The address may be old. Start from the first page.", RequestID: "h4k2"}.View(),
		"play": view.PlayPage{Page: view.Page{Who: viewtest.AsStudent}, Game: "12", Title: "Bishop and knight", Leave: "Enough for today",
			Sub: "drill 3, start 2 of 4"}.View(),
	}
}

func TestPages(t *testing.T) {
	t.Parallel()
	viewtest.Check(t, samples())
}

func TestNamesAreEscaped(t *testing.T) {
	t.Parallel()
	viewtest.CheckEscaped(t, &view.ProblemPage{}, &view.PlayPage{})
}

// TestMarksAreSmall: a mark, a grade and an icon take less than 600 bytes each.
func TestMarksAreSmall(t *testing.T) {
	t.Parallel()
	w := httptest.NewRecorder()
	static.Handler().ServeHTTP(w, httptest.NewRequest(http.MethodGet, static.Path("img/drover.svg"), nil))
	symbols := regexp.MustCompile(`(?s)<symbol id="([^"]+)".*?</symbol>`).FindAllStringSubmatch(w.Body.String(), -1)
	if len(symbols) < 60 {
		t.Fatalf("only %d drawings found", len(symbols))
	}
	for _, s := range symbols {
		if man := len(s[1]) == 1 || s[1] == "k-s"; !man && len(s[0]) >= 600 {
			t.Errorf("%s takes %d bytes", s[1], len(s[0]))
		}
	}
}

func TestHeaderFollowsTheRole(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		who        view.Who
		want, lack string
	}{
		{viewtest.AsStudent, "Not you?", "Students"},
		{viewtest.AsCoach, "Stage view", "Tell someone"},
		{viewtest.AsGuardian, "Sign out", "Not you?"},
		{viewtest.AsOfficer, "Concerns", "Stage view"},
		{view.Who{}, "Drover", "Sign out"},
	} {
		doc := viewtest.Parsed(t, view.ProblemPage{Page: view.Page{Who: c.who}, Say: "x"}.View())
		head := viewtest.Text(viewtest.Elements(doc, "header")[0])
		if !strings.Contains(head, c.want) || strings.Contains(head, c.lack) {
			t.Errorf("%q: %s", c.who.Role, head)
		}
	}
}

// TestWhatScrollsTakesTheFocus: the parts of the board page that may hold more than
// they show can be reached and scrolled by keys, and have a name.
func TestWhatScrollsTakesTheFocus(t *testing.T) {
	t.Parallel()
	doc := viewtest.Parsed(t, view.PlayPage{Page: view.Page{Who: viewtest.AsStudent}, Game: "12"}.View())
	for _, class := range []string{"verdict", "trail-side"} {
		if part := viewtest.One(t, doc, class); viewtest.Attr(part, "tabindex") != "0" ||
			viewtest.Attr(part, "aria-label") == "" {
			t.Errorf("%s cannot be scrolled by keys", class)
		}
	}
}

// TestBoardSaysItsKeys: what the keys do on the board stands on its page once, for
// who cannot see the board, where its grid can point to it.
func TestBoardSaysItsKeys(t *testing.T) {
	t.Parallel()
	doc := viewtest.Parsed(t, view.PlayPage{Page: view.Page{Who: viewtest.AsStudent}, Game: "12"}.View())
	var keys []string
	for _, p := range viewtest.WithClass(doc, "unseen") {
		if viewtest.Attr(p, "id") == "keys" {
			keys = append(keys, viewtest.Text(p))
		}
	}
	if len(keys) != 1 || keys[0] != "Arrow keys move, Enter picks up and puts down, Escape lets go, T turns the board." {
		t.Errorf("%q", keys)
	}
}
