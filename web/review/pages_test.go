package review

import (
	"fmt"
	"strconv"
	"strings"
	"testing"

	"drover/web/view"
	"drover/web/view/viewtest"
)

// samples are the pages of this audience, each filled as a handler fills it.
func samples() viewtest.Pages {
	return viewtest.Pages{
		"review": reviewSample().View(),
	}
}

func TestPages(t *testing.T) {
	t.Parallel()
	viewtest.Check(t, samples())
}

func TestNamesAreEscaped(t *testing.T) {
	t.Parallel()
	review := reviewSample()
	viewtest.CheckEscaped(t, &review)
}

func reviewSample() GamePage {
	return GamePage{
		Page: view.Page{Who: viewtest.AsCoach}, Game: "31", Up: view.Link{Href: "/students/11", Label: "Runa"},
		Sub:   "Rook, drill 3, start 2, Tuesday 24 November",
		Title: "Runa gave mate in 21 moves",
		Well:  "after the slip the centre was shut again in one move. From move 17 he was shut in for good.",
		End:   "Checkmate, FIDE Laws 5.1.1", At: 3,
		Positions: []Position{
			{0, "8/8/8/4k3/8/8/2R5/2K5 w - - 0 1", "", "Start", "mate in 14", "", nil, ""},
			{1, "8/2R5/8/4k3/8/8/8/2K5 b - - 1 1", "c2c7", "1 Rc7", "mate in 14 before, 13 after", "", nil, ""},
			{2, "8/2R5/3k4/8/8/8/8/2K5 w - - 2 2", "e5d6", "1 … Kd6", "mate in 13", "", nil, ""},
			{15, "8/1R6/2K1k3/8/8/8/8/8 b - - 15 8", "b5b7", "8 Rb7", "mate in 9 before, 12 after", "", []string{"f5", "f4"}, ""},
			{16, "8/1R6/2K5/5k2/8/8/8/8 w - - 16 9", "e6f5", "8 … Kf5", "mate in 12", "", nil, ""},
			{41, "5K2/8/7R/8/8/8/8/7k b - - 41 21", "e6h6", "21 Rh6#", "", "h1", nil, ""},
		},
		Looks: []Look{
			{"slip", "8 Rb7", 15, false, "The rook left row 5, and he walked out by f5 and f4.",
				[]string{"The centre stage is lost, and 4 moves.", "Kc7 would have kept it shut: only the turn had to pass."}, 31, 3},
			{"detour", "5 Rg5", 9, false, "2 moves longer than Kc6.", nil, 19, 2},
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

// TestLabelsBesideBars: in the track's chart no label lies over a bar or leaves the
// chart, whatever the distances were.
func TestLabelsBesideBars(t *testing.T) {
	t.Parallel()
	for far := 4; far <= 33; far++ {
		for before := 1; before <= far; before++ {
			for _, grade := range []string{"on course", "no nearer", "detour", "slip", "win gone"} {
				m := GamePage{Groups: []TrackGroup{{Moves: []TrackMove{
					{Before: far, After: far - 1, Grade: "on course"},
					{Before: before, After: min(far, before+2), Grade: grade}}}}}
				checkLabel(t, m.row(m.Groups[0].Moves[1]))
			}
		}
	}
}

func checkLabel(t *testing.T, row trackRowView) {
	t.Helper()
	at, err := strconv.ParseFloat(row.labelX, 64)
	if err != nil {
		t.Fatal(err)
	}
	left, right := at, at+labelChar*float64(len(row.label))
	if row.anchor == "end" {
		left, right = at-labelChar*float64(len(row.label)), at
	}
	if left < 0 || right > chartWide {
		t.Errorf("%q lies from %.0f to %.0f of %d", row.label, left, right, chartWide)
	}
	var from, to float64
	if n, _ := fmt.Sscanf(row.back, "M%f 13H%f", &from, &to); n == 2 && left < max(from, to) && right > min(from, to) {
		t.Errorf("%q lies from %.0f to %.0f, its bar %q", row.label, left, right, row.back)
	}
}

func TestReviewStepsAndCards(t *testing.T) {
	t.Parallel()
	doc := viewtest.Parsed(t, reviewSample().View())
	hrefs := map[string]string{}
	for _, a := range viewtest.Elements(doc, "a") {
		hrefs[viewtest.Attr(a, "id")] = viewtest.Attr(a, "href")
	}
	if hrefs["previous"] != "?at=2#board-side" || hrefs["next"] != "?at=16#board-side" {
		t.Errorf("previous %q, next %q", hrefs["previous"], hrefs["next"])
	}
	if n := len(viewtest.WithClass(doc, "review-look")); n != 2 {
		t.Errorf("%d cards", n)
	}
	open := viewtest.One(t, viewtest.One(t, doc, "track"), "open")
	if !strings.Contains(viewtest.Text(open), "Rb7") || !strings.Contains(viewtest.Text(open), "9 > 12") {
		t.Errorf("open row %q", viewtest.Text(open))
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
		for _, a := range viewtest.Elements(viewtest.Parsed(t, m.View()), "a") {
			if id := viewtest.Attr(a, "id"); id == "previous" || id == "next" {
				if (viewtest.Attr(a, "aria-disabled") == "true") != (id == c.edge) {
					t.Errorf("at %d: %s is %q", c.at, id, viewtest.Attr(a, "aria-disabled"))
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
