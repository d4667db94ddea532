package web_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"strconv"
	"strings"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/ending"
	"drover/game/practice"
	"drover/store"
	"drover/store/storetest"
)

// wholeQueen gives the fixture's student a test of the whole queen's mate; its games last the
// moves given, and are played a number of days ago, one after the other.
type wholeQueen struct {
	s    *site
	f    storetest.Fixture
	task club.Assignment
	n    int
}

func newWholeQueen(s *site, f storetest.Fixture) *wholeQueen {
	s.Helper()
	d := club.Drill{Ending: "KQK", Mode: practice.Test, From: ending.Edge, To: ending.Mate, Defender: ending.HoldsOut,
		Rule: club.RuleOf(practice.Test)}
	for range 6 {
		d.Starts = append(d.Starts, "8/8/8/8/3k4/8/8/Q3K3 w - - 0 1")
	}
	var err error
	if d.ID, err = s.store.KeepDrill(ctx, f.Coach, d); err != nil {
		s.Fatal(err)
	}
	q := &wholeQueen{s: s, f: f, task: club.Assignment{Drill: d}}
	if q.task.ID, err = s.store.Assign(ctx, f.Coach, d.ID, []game.PersonID{f.Student.Person}, nil); err != nil {
		s.Fatal(err)
	}
	return q
}

func (q *wholeQueen) plays(ago int, all ...int) {
	q.s.Helper()
	for _, moves := range all {
		at := q.s.now().AddDate(0, 0, -ago).Add(-10*time.Minute + time.Duration(q.n)*time.Second)
		end, result := practice.Mated, practice.OverPar
		if moves == 0 {
			end, result = practice.Resigned, practice.NotWon
		}
		err := q.s.store.Import(ctx, q.f.Coach, []store.Record{{
			Task: q.task, Start: q.n % 6, Try: 1 + q.n/6, Began: at.Add(-time.Minute),
			State: practice.State{Setup: practice.Setup{Student: q.f.Student.Person, Mode: practice.Test}, End: end,
				Acts: []practice.Act{{Seq: 1, Kind: practice.Resign, By: q.f.Student.Person, At: at, End: end}}},
			Outcome: practice.Outcome{End: end, Result: result, Moves: moves, Par: 8, Stages: []practice.StageResult{
				{Stage: ending.Edge, Moves: moves, Par: 6, Completed: true}, {Stage: ending.Mate, Moves: 3, Par: 3, Completed: true}}},
		}})
		if err != nil {
			q.s.Fatal(err)
		}
		q.n++
	}
}

// last is the game that ended last.
func (q *wholeQueen) last() game.GameID {
	q.s.Helper()
	id, err := strconv.ParseInt(q.s.audit("select max(id)::text from games where club_id = $1 and ending = 'KQK'", q.f.Coach.Club), 10, 64)
	if err != nil {
		q.s.Fatal(err)
	}
	return game.GameID(id)
}

// TestTestOfFive: a student reads on today what a test asks and how far it is, and after each
// of its games what mastery makes of it; passed or not, nobody is scolded.
func TestTestOfFive(t *testing.T) {
	t.Parallel()
	now, _ := movable()
	s := startAt(t, now)
	f := storetest.Club(t, s.store, "five")
	q := newWholeQueen(s, f)
	today := func(want ...string) {
		t.Helper()
		page := s.as(f.Student).get("/today")
		for _, say := range want {
			if !strings.Contains(page.body, say) {
				t.Errorf("today does not say %q", say)
			}
		}
	}
	after := func(then string, want ...string) {
		t.Helper()
		got := s.as(f.Student).get(fmt.Sprintf("/play/%d/then", q.last()))
		var say struct {
			Then, Say string
			Test      struct {
				Games []bool
				Of    int
				Say   string
			}
		}
		if err := json.Unmarshal([]byte(got.body), &say); err != nil {
			t.Fatalf("%d %s: %v", got.status, got.body, err)
		}
		if all := fmt.Sprint(say.Say, "|", say.Test.Say, "|", say.Test.Games, "|", say.Then); all != strings.Join(append(want, then), "|") {
			t.Errorf("%q, want %q, %s", all, want, then)
		}
	}
	today("A test of five games, all alone, on one day; four within 15 moves pass.")
	q.plays(0, 15)
	after("next", "That is within 15 moves.", "Game 1 of 5: one within 15 moves so far.", "[true]")
	today("One of five is played today.")
	q.plays(0, 16)
	after("next", "That is more than the 15 moves of this test.", "Game 2 of 5: one within 15 moves so far.", "[true false]")
	q.plays(0, 0, 9)
	after("next", "That is within 15 moves.", "Game 4 of 5: two within 15 moves so far.", "[true false false true]")
	today("Four of five are played today.")
	q.plays(0, 9)
	after("today", "That is within 15 moves.", "Not yet: three of five within 15 moves. It can be tried again another day.",
		"[true false false true true]")
	today("Not yet: three of five within 15 moves. It can be tried again another day.")

	f = storetest.Club(t, s.store, "plenty")
	q = newWholeQueen(s, f)
	q.plays(0, 0, 0, 0)
	after("again", "Three tries is plenty. Let's do just the last part.", "Game 3 of 5: none within 15 moves so far.", "[false false false]")
	f = storetest.Club(t, s.store, "passed")
	q = newWholeQueen(s, f)
	q.plays(0, 9, 9, 0, 9, 15)
	after("today", "That is within 15 moves.", "The test is passed: four of five within 15 moves. We ask once more in a week.",
		"[true true false true true]")
}

// TestBellsRing: after the game a week later that makes an ending mastered the panel has its
// bells, each with its sentence; after the next such game there are none.
func TestBellsRing(t *testing.T) {
	t.Parallel()
	now, _ := movable()
	s := startAt(t, now)
	f := storetest.Club(t, s.store, "ring")
	q := newWholeQueen(s, f)
	q.plays(7, 9, 9, 9, 9, 20)
	rings := func() string {
		t.Helper()
		var said struct{ Bells []struct{ Stage, Say string } }
		got := s.as(f.Student).get(fmt.Sprintf("/play/%d/then", q.last()))
		if err := json.Unmarshal([]byte(got.body), &said); err != nil {
			t.Fatalf("%d %s: %v", got.status, got.body, err)
		}
		return fmt.Sprint(said.Bells)
	}
	if got := rings(); got != "[]" {
		t.Errorf("with the test ring %s", got)
	}
	q.plays(0, 9)
	if got := rings(); got != "[{edge Queen, the edge: that is yours. We'll ask once more in three weeks.} "+
		"{mate Queen mate is yours. We'll ask once more in three weeks.}]" {
		t.Errorf("a week later ring %s", got)
	}
	q.plays(0, 9)
	if got := rings(); got != "[]" {
		t.Errorf("with one more game ring %s", got)
	}
}

// TestWatchedAndCertificate: a coach notes that they watched a test and takes it back; the
// certificate is there once every stage is mastered, for the child, the guardian and the coach,
// says who watched, and that an adult read it stands in the audit.
func TestWatchedAndCertificate(t *testing.T) {
	t.Parallel()
	now, _ := movable()
	s := startAt(t, now)
	f := storetest.Club(t, s.store, "paper")
	q := newWholeQueen(s, f)
	own, coachs := "/certificate/KQK", fmt.Sprintf("/students/%d/certificate/KQK", f.Student.Person)
	read := func(who game.Actor, path string) string {
		t.Helper()
		got := s.as(who).get(path)
		if got.status != http.StatusOK {
			t.Fatalf("%s: %d", path, got.status)
		}
		return got.body
	}
	if body := read(f.Student, own); !strings.Contains(body, "Still to come: drive to the edge and mate.") || strings.Contains(body, "data-print") {
		t.Error("a certificate that is not to be had does not say what is missing")
	}
	q.plays(8, 9, 9, 9, 9, 20)
	test := q.last()
	note := fields("game", fmt.Sprint(test))
	file := fmt.Sprintf("/students/%d", f.Student.Person)
	got := s.as(f.Coach).post(file+"/watched", note)
	if to := got.header.Get("Location"); got.status != http.StatusSeeOther || !strings.HasPrefix(to, file+"?done=") {
		t.Fatalf("noted: %d, to %s", got.status, to)
	}
	if again := s.as(f.Coach).post(file+"/watched", note); again.header.Get("Location") != got.header.Get("Location") {
		t.Errorf("sent twice it leads to %s", again.header.Get("Location"))
	}
	page := read(f.Coach, got.header.Get("Location"))
	if !strings.Contains(page, "Watched by Coach of paper.") || strings.Contains(page, "I watched this test") || !strings.Contains(page, "Noted.") {
		t.Error("the student's page does not say who watched")
	}
	if strings.Contains(read(f.Student, "/today"), "Watched by") || strings.Contains(read(f.Guardian, "/report"), "Watched by") {
		t.Error("who watched stands elsewhere, too")
	}
	if strings.Contains(read(f.Coach, file), "certificate/KQK") {
		t.Error("a certificate is offered before every stage is mastered")
	}
	q.plays(1, 9) // a week later: of both stages
	for who, path := range map[game.Actor]string{f.Student: own, f.Guardian: strings.Replace(coachs, "/students/", "/report/", 1), f.Coach: coachs, f.Coach2: coachs} {
		body := read(who, path)
		for _, want := range []string{f.Student.Name, "Mate with king and queen", "paper", "Watched by Coach of paper.",
			"four within 15 moves, and asked again a week later", "data-print"} {
			if !strings.Contains(body, want) {
				t.Errorf("the certificate of a %s does not say %q", who.Role, want)
			}
		}
	}
	for who, path := range map[game.Actor]string{f.Student: "/today", f.Guardian: "/report"} {
		if !strings.Contains(read(who, path), `/certificate/KQK"`) {
			t.Errorf("%s does not lead to the certificate", path)
		}
	}
	if !strings.Contains(read(f.Coach, file), coachs) {
		t.Error("the student's page does not lead to the certificate")
	}
	if body := read(f.Student2, own); !strings.Contains(body, "not yet") {
		t.Error("another child has it, too")
	}
	reads := s.audit("select count(*)::text from audit where action = 'certificate read' and subject_id = $1", f.Student.Person)
	if reads != "3" { // the guardian's and two coaches'
		t.Errorf("the audit has %s readings of the certificate", reads)
	}
	change := got.header.Get("Location")[strings.Index(got.header.Get("Location"), "=")+1:]
	if undone := s.as(f.Coach).post("/undo/"+change, fields()); undone.header.Get("Location") != file+"?undone" {
		t.Errorf("undone: %d, to %s", undone.status, undone.header.Get("Location"))
	}
	if strings.Contains(read(f.Student, own), "Watched by") {
		t.Error("what was taken back is still on the certificate")
	}
	for _, path := range []string{"/certificate/KXK", "/certificate/hold-KPK"} {
		if got := s.as(f.Student).get(path); got.status != http.StatusNotFound {
			t.Errorf("%s: %d", path, got.status)
		}
	}
}
