package view

import (
	"fmt"
	"strings"
	"testing"

	"golang.org/x/net/html"
)

func one(t *testing.T, doc *html.Node, class string) *html.Node {
	t.Helper()
	found := withClass(doc, class)
	if len(found) != 1 {
		t.Fatalf("%d elements of class %s", len(found), class)
	}
	return found[0]
}

func TestSignInKeepsWhatWasTyped(t *testing.T) {
	t.Parallel()
	doc := parsed(t, SignInPage{Number: "11", Words: [4]string{"lamp", "otter", "field", "moon"},
		Error: "Look once more."}.View())
	want := map[string]string{"number": "11", "w1": "lamp", "w2": "otter", "w3": "field", "w4": "moon"}
	for _, in := range elements(doc, "input") {
		if attr(in, "value") != want[attr(in, "name")] {
			t.Errorf("%s = %q", attr(in, "name"), attr(in, "value"))
		}
		delete(want, attr(in, "name"))
	}
	if len(want) > 0 {
		t.Errorf("no field for %v", want)
	}
	if got := text(one(t, doc, "error")); got != "Look once more." {
		t.Errorf("error %q", got)
	}
}

func TestPasswordIsNeverGivenBack(t *testing.T) {
	t.Parallel()
	for _, page := range []*html.Node{
		parsed(t, CoachSignInPage{Email: "maren@havnsund.example"}.View()),
		parsed(t, SetupPage{Club: "Havnsund"}.View()),
	} {
		for _, in := range elements(page, "input") {
			if attr(in, "type") == "password" && attr(in, "value") != "" {
				t.Errorf("value %q", attr(in, "value"))
			}
		}
	}
}

func TestWrongFieldSaysSo(t *testing.T) {
	t.Parallel()
	doc := parsed(t, SetupPage{Errors: Errors{"password": "Use at least 15 characters."}}.View())
	for _, in := range elements(doc, "input") {
		wrong := attr(in, "name") == "password"
		if (attr(in, "aria-invalid") == "true") != wrong {
			t.Errorf("%s: aria-invalid %q", attr(in, "name"), attr(in, "aria-invalid"))
		}
	}
	if got := text(one(t, doc, "wrong-say")); got != "Use at least 15 characters." {
		t.Errorf("sentence %q", got)
	}
}

func TestTodayShowsThreeAtMostAndTheFirstIsMain(t *testing.T) {
	t.Parallel()
	m := TodayPage{Page: Page{Who: asStudent}}
	for i := range 5 {
		m.Due = append(m.Due, DueCard{Post: "/today/start", Hidden: []Hidden{{"assignment", fmt.Sprint(i)}}, Title: "Rook",
			Action: "Start"})
	}
	doc := parsed(t, m.View())
	var posted []string
	for _, in := range elements(doc, "input") {
		posted = append(posted, attr(in, "value"))
	}
	if got := strings.Join(posted, ""); got != "012" {
		t.Errorf("assignments %q", got)
	}
	if form := one(t, doc, "go").Parent; attr(elements(form, "input")[0], "value") != "0" {
		t.Error("the first card has not the main action")
	}
}

func TestHeaderFollowsTheRole(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		who        Who
		want, lack string
	}{
		{asStudent, "Not you?", "Students"},
		{asCoach, "Stage view", "Tell someone"},
		{asGuardian, "Sign out", "Not you?"},
		{Who{}, "Drover", "Sign out"},
	} {
		doc := parsed(t, ProblemPage{Page: Page{Who: c.who}, Say: "x"}.View())
		head := text(elements(doc, "header")[0])
		if !strings.Contains(head, c.want) || strings.Contains(head, c.lack) {
			t.Errorf("%q: %s", c.who.Role, head)
		}
	}
}

func TestStageTableShape(t *testing.T) {
	t.Parallel()
	m := stagesSample(Page{Who: asCoach})
	doc := parsed(t, m.View())
	table := one(t, doc, "stages")
	rows := elements(elements(table, "tbody")[0], "tr")
	if len(rows) != len(m.Rows) {
		t.Fatalf("%d rows", len(rows))
	}
	for i, row := range rows {
		if n := len(elements(row, "td")); n != 13 { // twelve stages and the weakest
			t.Errorf("row %d has %d cells", i, n)
		}
	}
	cell := elements(rows[0], "td")[10]
	if got := text(cell); got != "1 of 10 clean" {
		t.Errorf("cell %q", got)
	}
	if n := len(elements(cell, "rect")); n != 10 {
		t.Errorf("%d bars", n)
	}
	if got := text(elements(rows[2], "td")[4]); got != "-" {
		t.Errorf("empty cell %q", got)
	}
	if len(withClass(rows[2], "few")) != 2 || len(withClass(rows[0], "few")) != 0 {
		t.Error("under five games is soft, ten are not")
	}
}

func TestStageCellDrawsTheLastTen(t *testing.T) {
	t.Parallel()
	c := bars("000000001111")
	drawn := c.drawn()
	if len(drawn) != 10 || drawn[0].w != "3" || drawn[9].w != "12" {
		t.Errorf("%v", drawn)
	}
}

func TestReviewStepsAndCards(t *testing.T) {
	t.Parallel()
	doc := parsed(t, reviewSample().View())
	hrefs := map[string]string{}
	for _, a := range elements(doc, "a") {
		hrefs[attr(a, "id")] = attr(a, "href")
	}
	if hrefs["previous"] != "?at=2#board-side" || hrefs["next"] != "?at=16#board-side" {
		t.Errorf("previous %q, next %q", hrefs["previous"], hrefs["next"])
	}
	if n := len(withClass(doc, "review-look")); n != 2 {
		t.Errorf("%d cards", n)
	}
	open := one(t, one(t, doc, "track"), "open")
	if !strings.Contains(text(open), "Rb7") || !strings.Contains(text(open), "9 > 12") {
		t.Errorf("open row %q", text(open))
	}
}

func TestReviewAtItsEnds(t *testing.T) {
	t.Parallel()
	m := reviewSample()
	for _, c := range []struct {
		at   int
		edge string
	}{{0, "previous"}, {len(m.Positions) - 1, "next"}, {99, "next"}} {
		m.At = c.at
		for _, a := range elements(parsed(t, m.View()), "a") {
			if id := attr(a, "id"); id == "previous" || id == "next" {
				if (attr(a, "aria-disabled") == "true") != (id == c.edge) {
					t.Errorf("at %d: %s is %q", c.at, id, attr(a, "aria-disabled"))
				}
			}
		}
	}
}

func TestChartRunsToTheRightAsMateComesNearer(t *testing.T) {
	t.Parallel()
	m := reviewSample()
	for n := 1; n <= m.farthest(); n++ {
		if m.across(n) >= m.across(n-1) {
			t.Fatalf("%d moves stand at %g, %d at %g", n, m.across(n), n-1, m.across(n-1))
		}
	}
	if x := m.across(m.farthest()); x < 0 {
		t.Errorf("the farthest stands at %g", x)
	}
}

func TestTrackNumbers(t *testing.T) {
	t.Parallel()
	for _, c := range []struct {
		move TrackMove
		want string
	}{
		{TrackMove{Grade: "on course", Before: 14, After: 13}, "14"},
		{TrackMove{Grade: "slip", Before: 9, After: 12}, "9 > 12"},
		{TrackMove{Grade: "win gone", Before: 5}, "5 > gone"},
		{TrackMove{}, "-"},
	} {
		if got := c.move.number(); got != c.want {
			t.Errorf("%+v: %q", c.move, got)
		}
	}
}

func TestReportReadsAsText(t *testing.T) {
	t.Parallel()
	doc := parsed(t, reportSample().View())
	if got := text(withClass(doc, "lead")[0]); got != "Runa practised on 4 days, 101 minutes in all. Mate with king and queen is mastered." {
		t.Errorf("sentence %q", got)
	}
	days := elements(one(t, doc, "days"), "li")
	if got := text(days[0]) + "; " + text(days[2]); got != "18 min Mo; no minutes We" {
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

func TestCardShowsItsSecretOnce(t *testing.T) {
	t.Parallel()
	doc := parsed(t, coachSamples()["card"])
	if got := text(one(t, doc, "press-words")); got != "lamp otter field moon" {
		t.Errorf("words %q", got)
	}
	if n := strings.Count(text(doc), "otter"); n != 1 {
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
	for _, part := range strings.Split(qrPath(matrix), "M")[1:] {
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
	doc := parsed(t, drillNewSample(Page{Who: asCoach}).View())
	got := map[string]string{}
	for _, in := range elements(doc, "input") {
		if has(in, "checked") || attr(in, "type") == "hidden" {
			got[attr(in, "name")] = attr(in, "value")
		}
	}
	for _, o := range elements(doc, "option") {
		if has(o, "selected") {
			got[attr(o.Parent, "name")] = attr(o, "value")
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

// TestWhatScrollsTakesTheFocus: the parts of the board page that may hold more than
// they show can be reached and scrolled by keys, and have a name.
func TestWhatScrollsTakesTheFocus(t *testing.T) {
	t.Parallel()
	doc := parsed(t, PlayPage{Page: Page{Who: asStudent}, Game: "12"}.View())
	for _, class := range []string{"verdict", "trail-side"} {
		if part := one(t, doc, class); attr(part, "tabindex") != "0" || attr(part, "aria-label") == "" {
			t.Errorf("%s cannot be scrolled by keys", class)
		}
	}
}

// TestBoardSaysItsKeys: what the keys do on the board stands on its page once, for
// who cannot see the board, where its grid can point to it.
func TestBoardSaysItsKeys(t *testing.T) {
	t.Parallel()
	doc := parsed(t, PlayPage{Page: Page{Who: asStudent}, Game: "12"}.View())
	var keys []string
	for _, p := range withClass(doc, "unseen") {
		if attr(p, "id") == "keys" {
			keys = append(keys, text(p))
		}
	}
	if len(keys) != 1 || keys[0] != "Arrow keys move, Enter picks up and puts down, Escape lets go." {
		t.Errorf("%q", keys)
	}
}
