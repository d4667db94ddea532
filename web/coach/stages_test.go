package coach

import (
	"net/url"
	"strings"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/progress"
	"drover/store"
)

// TestStagesAsked: days are the club's own, from midnight to midnight, also where the clock
// changes (in Oslo on 25 October 2026, by the IANA time zone database); nonsense means the usual.
func TestStagesAsked(t *testing.T) {
	t.Parallel()
	now := club.Club{Zone: "Europe/Oslo"}.Local(time.Date(2026, 11, 26, 23, 30, 0, 0, time.UTC)) // the 27th in Oslo
	for _, c := range []struct {
		query, since, until, say string
	}{
		{"", "2026-10-01T22:00:00Z", "", ""},
		{"weeks=4", "2026-10-29T23:00:00Z", "", ""},
		{"weeks=no&page=-4&drill=x&sort=KRK.nowhere", "2026-10-01T22:00:00Z", "", ""},
		{"weeks=own&from=2026-10-24&to=2026-10-25", "2026-10-23T22:00:00Z", "2026-10-25T23:00:00Z", ""},
		{"weeks=own&to=2026-10-25", "2026-08-29T22:00:00Z", "2026-10-25T23:00:00Z", ""},
		{"weeks=own&from=2026-10-26&to=2026-10-25", "2026-10-01T22:00:00Z", "", "The last day is before the first one."},
		{"weeks=own&from=yesterday", "2026-10-01T22:00:00Z", "", "Type a day from the year 2000 on, as in 2026-11-26."},
		{"weeks=own&from=1990-01-01", "2026-10-01T22:00:00Z", "", "Type a day from the year 2000 on, as in 2026-11-26."}, // as the list of games
		{"from=2026-10-26&to=2026-10-25", "2026-10-01T22:00:00Z", "", ""},                                                // not asked for
	} {
		q, _ := url.ParseQuery(c.query)
		got := stagesAskOf(q, now)
		until := ""
		if !got.Until.IsZero() {
			until = got.Until.UTC().Format(time.RFC3339)
		}
		if since := got.Since.UTC().Format(time.RFC3339); since != c.since || until != c.until || got.say != c.say || got.Page != 1 ||
			got.Drill != 0 || got.Stage != (progress.Key{}) {
			t.Errorf("%q: from %s to %s, %q, %+v", c.query, since, until, got.say, got.StageAsk)
		}
	}
}

// TestStagesAddresses: every link of the page keeps what is asked for.
func TestStagesAddresses(t *testing.T) {
	t.Parallel()
	q, _ := url.ParseQuery("group=3&weeks=own&from=2026-10-01&to=2026-10-31&drill=7&find=a%26b&page=2&else=1")
	asked := stagesAskOf(q, time.Date(2026, 11, 26, 12, 0, 0, 0, time.UTC))
	if got := asked.at("/stages", "sort", "KRK.edge"); got != "/stages?drill=7&find=a%26b&from=2026-10-01&group=3&sort=KRK.edge&to=2026-10-31&weeks=own" {
		t.Error(got)
	}
	if got := asked.at("/stages", "find", ""); strings.Contains(got, "find") || !strings.Contains(got, "group=3") {
		t.Error(got)
	}
	k := progress.Key{Ending: "KRK", Stage: ending.Edge}
	if got := asked.games(9, k); got != "/students/9?drill=7&ending=KRK&from=2026-10-01&stage=edge&to=2026-10-31#games" {
		t.Error(got)
	}
	if got := stagesAskOf(nil, time.Date(2026, 11, 26, 12, 0, 0, 0, time.UTC)).games(9, k); got != "/students/9?ending=KRK&from=2026-10-01&stage=edge#games" {
		t.Error(got)
	}
}

// TestSaidLines: students who are stuck in the same drill share a line, with the easiest drill
// that is proposed for any of them.
func TestSaidLines(t *testing.T) {
	t.Parallel()
	of := func(id game.PersonID, name string, from ending.Stage, lost int) progress.Overview {
		return progress.Overview{Student: club.Person{ID: id, Name: name}, Stuck: []progress.StuckAt{{Ending: "KRK", Lost: lost,
			Help: &progress.Proposal{Ending: "KRK", From: from, To: ending.Mate, Kind: ending.AtRandom}}}}
	}
	home := of(6, "Otis", ending.Mate, 6)
	home.Stuck[0].Help.Kind = ending.KingMoves // against a habit that the others do not have
	twice := of(1, "Kit", ending.Edge, 8)
	twice.Stuck = append(twice.Stuck, of(1, "Kit", ending.Mate, 3).Stuck...) // in two drills of the ending
	hold := progress.Overview{Student: club.Person{ID: 4, Name: "Bo"}, Stuck: []progress.StuckAt{{Ending: "KPK", Hold: true, Lost: 3}}}
	ready := progress.Overview{Student: club.Person{ID: 5, Name: "Idris"}, Test: &progress.Proposal{Ending: "KBBK"}}
	lines := saidLines(store.StageTable{
		Stuck: []progress.Overview{hold, twice, home, of(2, "Pim", ending.Mate, 3)}, More: 1,
		Tests: []progress.Overview{ready}, Uncounted: 2,
	})
	var got []string
	for _, l := range lines {
		got = append(got, strings.TrimSpace(l.Say+" "+l.Do.Label))
	}
	want := []string{
		"Stuck in the rook drill: Kit (eight tries in a row not won), Pim (three). Set a drill for these 2",
		"Stuck in holding king against king and pawn: Bo (three tries in a row not held).",
		"Stuck in the rook drill: Otis (six tries in a row not won). Set a drill",
		"1 more student is stuck.",
		"Ready for a test, two bishops: Idris. Set it",
		"2 games with a coach's own moves are not counted.",
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("%s", strings.Join(got, "\n"))
	}
	if to := lines[0].Do.Href; !strings.Contains(to, "from=mate") || !strings.Contains(to, "for=1%2C2") {
		t.Error(to)
	}
}

// TestStagesSearched: where nobody has the name that is looked for there is no talk of a club
// without students, and the column by which the table stands is there though nobody here has
// played it.
func TestStagesSearched(t *testing.T) {
	t.Parallel()
	for searched, want := range map[bool]string{true: "No games yet", false: "No students yet"} {
		var m StagesPage
		if m.head(store.StageTable{}, nil, searched); m.Finding[0].Text != want {
			t.Errorf("searched %v: %q", searched, m.Finding[0].Text)
		}
	}
	rows := []progress.Overview{{Cells: []progress.Cell{{Key: progress.Key{Ending: "KQK", Stage: ending.Mate}, Of: 1}}}}
	if got := shownPlans(rows, "KBNK"); len(got) != 2 || got[1].Code != "KBNK" {
		t.Errorf("%d endings", len(got))
	}
	if got := shownPlans(rows, ""); len(got) != 1 {
		t.Errorf("%d endings", len(got))
	}
}
