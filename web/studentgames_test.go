package web_test

import (
	"fmt"
	"html"
	"net/url"
	"regexp"
	"strings"
	"testing"
	"time"

	"drover/game/practice"
	"drover/store"
	"drover/store/storetest"
)

// spoken is the text of a page, without its tags and with single spaces.
func spoken(body string) string {
	text := regexp.MustCompile(`<[^>]*>`).ReplaceAllString(body, " ")
	return strings.Join(strings.Fields(html.UnescapeString(text)), " ")
}

// TestAnAdultHelps: what was done alone, with help and while a coach watched stands on the
// student's page as plain counts beside each other, and accuses nobody.
func TestAnAdultHelps(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "helps")
	task := f.Finish(t, s.store, practice.Practice, 5)
	for i, result := range []practice.Result{practice.Clean, practice.OverPar, practice.NotWon} {
		f.Played(t, s.store, task, i, 1, result, s.now().Add(-time.Duration(i+1)*time.Hour), 61)
	}
	leave, err := s.hub.LookOn(ctx, f.Coach, f.Game)
	if err != nil {
		t.Fatal(err)
	}
	s.does(f.Student, f.Game, practice.Helped, "")
	s.toEnd(f.Student, f.Game)
	leave(false)
	got := spoken(s.as(f.Coach).get(fmt.Sprintf("/students/%d", f.Student.Person)).body)
	for _, want := range []string{
		"Done alone: 2 of 4 games. With help: 1. Not done: 1.", "While a coach watched: 0 of 1 alone; the others: 2 of 3.",
		"helped someone helped a coach watched", "2 min",
	} {
		if !strings.Contains(got, want) {
			t.Errorf("the page does not say %q: %s", want, got)
		}
	}
	for _, never := range []string{"cheat", "honest", "suspicio", "really"} {
		if strings.Contains(strings.ToLower(got), never) {
			t.Errorf("the page says %q", never)
		}
	}
}

// TestGamesBehindANumber: a number of the stage view leads to its games, with what is
// counted in words; days and a drill are said, kept from page to page, and let go again.
func TestGamesBehindANumber(t *testing.T) {
	t.Parallel()
	now := func() time.Time { return time.Date(2026, 11, 26, 18, 0, 0, 0, time.UTC) }
	s := startAt(t, now)
	f := storetest.Club(t, s.store, "behind")
	task := f.Finish(t, s.store, practice.Practice, 5)
	for i := range store.GamesOnPage + 4 {
		result := practice.NotWon
		if i%4 == 0 {
			result = practice.Clean
		}
		f.Played(t, s.store, task, i%5, 1+i/5, result, now().Add(-time.Duration(i)*24*time.Hour), 61)
	}
	file, p := fmt.Sprintf("/students/%d", f.Student.Person), s.as(f.Coach)
	for query, want := range map[string]string{
		"ending=KRK&stage=mate":                                     "Rook, mate, in the last eight weeks: 34 games, 9 clean All games A stage is clean when",
		"ending=KRK&stage=mate&from=2026-11-23":                     "Rook, mate, from 23 November on: 4 games, 1 clean",
		"ending=KRK&stage=mate&to=2026-11-01":                       "Rook, mate, up to 1 November: 9 games, 2 clean",
		"from=2026-11-23&to=2026-11-23":                             "On 23 November: 1 game",
		"from=2026-11-23&to=2026-11-25":                             "From 23 November to 25 November: 3 games",
		"to=2025-01-01":                                             "Up to 1 January 2025: 0 games All games There is no such game.",
		fmt.Sprintf("drill=%d&from=2026-11-23", task.Drill.ID):      "Drill 'Rook: mate', from 23 November on: 4 games",
		"drill=987654":                                              "A drill that is not there: 0 games",
		"ending=KRK&stage=nonsense&from=yesterday&drill=x&page=-1":  "Games Done alone: 9 of 34 games.",
		"ending=KRK&stage=mate&from=2026-11-23&to=2026-11-23&page=": "Rook, mate, on 23 November: 1 game, 0 clean",
		"page=3": "There are no more.",
	} {
		if got := p.get(file + "?" + query); got.status != 200 || !strings.Contains(spoken(got.body), want) {
			t.Errorf("?%s: %d, does not say %q: %s", query, got.status, want, spoken(got.body))
		}
	}
	body := p.get(file + "?ending=KRK&stage=mate&from=2026-01-05").body
	next := url.Values{"ending": {"KRK"}, "stage": {"mate"}, "from": {"2026-01-05"}, "page": {"2"}}
	if !strings.Contains(html.UnescapeString(body), `href="`+file+"?"+next.Encode()+`#games"`) || !strings.Contains(body, "Games 1 to 30 of 34") {
		t.Error("the second page does not ask for the same games")
	}
	if !strings.Contains(spoken(body), "not finished, 5 moves, best: 4") && !strings.Contains(spoken(body), "not clean not finished 5 moves, best: 4") {
		t.Errorf("it does not say why a stage was not clean: %s", spoken(body))
	}
	weeks := regexp.MustCompile(`href="([^"]*stage=mate[^"]*)"[^>]*>\s*<b>(\d+)</b> of (\d+)`).FindStringSubmatch(p.get(file).body)
	if weeks == nil || weeks[3] == "0" {
		t.Fatal("the weeks lead to no games")
	}
	want := fmt.Sprintf(": %s games, %s clean", weeks[3], weeks[2])
	if got := spoken(p.get(html.UnescapeString(weeks[1])).body); !strings.Contains(got, want) {
		t.Errorf("the number of the weeks does not lead to %q", want)
	}
}
