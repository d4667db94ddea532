package web_test

import (
	"encoding/json"
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"sync"
	"testing"
	"time"

	"drover/game"
	"drover/game/ending"
	"drover/game/practice"
	"drover/game/progress"
	"drover/store"
	"drover/store/storetest"

	"golang.org/x/net/html"
)

// proposes keeps an overview of students that names what comes next, for a weakness.
func (s *site) proposes(f storetest.Fixture, first progress.First, students ...game.Actor) string {
	s.Helper()
	p, _ := progress.Propose(progress.Known{First: &first})
	said, err := json.Marshal(progress.Overview{Next: &p})
	if err != nil {
		s.Fatal(err)
	}
	for _, who := range students {
		storetest.Exec(s.T, storetest.Address(s.store), `insert into overviews (club_id, student_id, at, stuck, said)
			values ($1, $2, now(), false, $3) on conflict (club_id, student_id) do update set said = excluded.said`,
			f.Coach.Club, who.Person, said)
	}
	return p.Code()
}

// nextForm is the form of the page as a browser sends it with a button.
func nextForm(t *testing.T, body, do string) url.Values {
	t.Helper()
	doc, err := html.Parse(strings.NewReader(body))
	if err != nil {
		t.Fatal(err)
	}
	form := fields("do", do, "once", pageForms(t, body)["/next"]["once"])
	for n := range doc.Descendants() {
		if n.Data != "input" {
			continue
		}
		at := map[string]string{}
		for _, a := range n.Attr {
			at[a.Key] = a.Val
		}
		if at["name"] == "line" {
			form.Add("line", at["value"])
		}
	}
	return form
}

// TestNextPage: a coach reads who gets what and why, those with the same drill together, and
// gives it to all of them in one tap: one drill, one assignment, on the children's pages. A
// second click gives nothing twice. The notice undoes it and leads back; a line is put off
// for the other coach, too. Each thing that stands there is of this club.
func TestNextPage(t *testing.T) {
	t.Parallel()
	now, pass := movable()
	s := startAt(t, now)
	f, other := storetest.Club(t, s.store, "next"), storetest.Club(t, s.store, "elsewhere")
	url := storetest.Address(s.store)
	storetest.Exec(t, url, `insert into factors values ($1, $2, 'sealed', 7, now())`, f.Coach.Club, f.Coach.Person)
	s.proposes(f, progress.First{Ending: "KRK", Stage: ending.Edge, Habit: practice.Shuffling}, f.Student, f.Student2)
	p := s.as(f.Coach)
	body := p.get("/next").body
	for _, part := range []string{"What comes next for 2 students", "Give all 2", "Give it to these 2", "Rook: drive to the edge, then mate, few moves to spare",
		"Many moves bring mate no nearer.", "it is put on the shelf when it is given", f.Student.Name, f.Student2.Name} {
		if !strings.Contains(body, part) {
			t.Errorf("the page does not say %q", part)
		}
	}
	if strings.Contains(body, other.Student.Name) || strings.Count(p.get("/since").body, `href="/next"`) != 1 {
		t.Error("another club's child, or no way from the first page")
	}
	form, drills := nextForm(t, body, "all"), len(shelfOf(t, s, f))
	var to [2]string
	var wg sync.WaitGroup
	for i := range to {
		wg.Add(1)
		go func() { defer wg.Done(); to[i] = p.post("/next", form).header.Get("Location") }()
	}
	wg.Wait()
	if to[0] == "" || to[0] != to[1] || len(shelfOf(t, s, f)) != drills+1 {
		t.Fatalf("a double click leads to %v and makes %d drills", to, len(shelfOf(t, s, f))-drills)
	}
	body = p.get(to[0]).body
	both := f.Student.Name + " and " + f.Student2.Name
	if !strings.Contains(body, "Given to "+both+".") || !strings.Contains(body, "2 students have theirs already.") ||
		!strings.Contains(body, "Nothing comes next just now.") {
		t.Error("the notice does not say what was given to whom")
	}
	if tasks, err := s.store.Tasks(ctx, f.Student2); err != nil || len(tasks) != 2 || tasks[1].Drill.Rule.Budget == 0 {
		t.Errorf("the child has %d drills, %v", len(tasks), err)
	}
	undo := ""
	for action := range pageForms(t, body) {
		if strings.HasPrefix(action, "/undo/") {
			undo = action
		}
	}
	got := p.post(undo, fields())
	if got.header.Get("Location") != "/next?undone" || !strings.Contains(p.get("/next?undone").body, "What comes next for 2 students") {
		t.Errorf("%s leads to %s", undo, got.header.Get("Location"))
	}
	body = p.get("/next").body
	got = p.post("/next", nextForm(t, body, fmt.Sprintf("later %d", f.Student.Person)))
	if body = p.get(got.header.Get("Location")).body; !strings.Contains(body, "Not now: "+f.Student.Name+".") {
		t.Error("it does not say what was put off")
	}
	for _, who := range []*person{p, s.as(f.Coach2)} {
		if body := who.get("/next").body; !strings.Contains(body, "What comes next for "+f.Student2.Name) ||
			strings.Contains(body, f.Student.Name+"</a>") {
			t.Error("the line that was put off is there")
		}
	}
	pass(8 * 24 * time.Hour)
	if body := s.as(f.Coach2).get("/next").body; !strings.Contains(body, "What comes next for 2 students") {
		t.Error("after a week the line is not there again")
	}
}

func shelfOf(t *testing.T, s *site, f storetest.Fixture) []store.ShelfRow {
	t.Helper()
	rows, err := s.store.Shelf(ctx, f.Coach, store.ShelfAsk{})
	if err != nil {
		t.Fatal(err)
	}
	return rows
}

// TestNextIsWhatWasSeen: the record of one changes while the page is open: the other gets
// what was seen, and the notice names who was left out. A form that was made up gives nothing
// to anybody of another club, and says so plainly.
func TestNextIsWhatWasSeen(t *testing.T) {
	t.Parallel()
	s := start(t)
	f, other := storetest.Club(t, s.store, "seen"), storetest.Club(t, s.store, "unseen")
	code := s.proposes(f, progress.First{Ending: "KRK", Stage: ending.Edge}, f.Student, f.Student2)
	p := s.as(f.Coach)
	body := p.get("/next").body
	s.proposes(f, progress.First{Ending: "KQK", Stage: ending.Edge}, f.Student2)
	to := p.post("/next", nextForm(t, body, "block 0")).header.Get("Location")
	body = p.get(to).body
	if !strings.Contains(body, "Given to "+f.Student.Name+".") ||
		!strings.Contains(body, "Left out: something has changed meanwhile for "+f.Student2.Name+".") ||
		!strings.Contains(body, "Queen: drive to the edge, then mate") {
		t.Error("the notice")
	}
	given := body
	body = p.get(p.post("/next", fields("do", fmt.Sprintf("one %d", f.Student2.Person), "line", fmt.Sprintf("0 %d 0 0 %s", f.Student2.Person, code))).header.Get("Location")).body
	if !strings.Contains(body, "Nothing was given.") || !strings.Contains(body, f.Student2.Name) {
		t.Error("where nothing is given the page does not say so")
	}
	stranger := s.as(other.Coach)
	got := stranger.post("/next", fields("do", "all", "line", fmt.Sprintf("0 %d 0 0 %s", f.Student2.Person, "KQK edge mate guided random centre")))
	if got.status != http.StatusSeeOther || strings.Contains(stranger.get(got.header.Get("Location")).body, f.Student2.Name) {
		t.Errorf("another club: %d", got.status)
	}
	if tasks, err := s.store.Tasks(ctx, f.Student2); err != nil || len(tasks) != 1 {
		t.Errorf("the child of another club has %d drills, %v", len(tasks), err)
	}
	for _, bad := range []url.Values{
		fields("do", "all"), fields("do", "one 7", "line", fmt.Sprintf("0 %d 0 0 %s", f.Student2.Person, code)),
	} {
		if got := p.post("/next", bad); got.status != http.StatusBadRequest && got.status != http.StatusUnprocessableEntity {
			t.Errorf("%v: %d", bad, got.status)
		}
	}
	for _, bad := range []string{"x", "0 1 0 K", "0 x 0 0 K", "0 1 x 0 K"} {
		if got := p.post("/next", fields("do", "all", "line", bad)); got.status != http.StatusNotFound {
			t.Errorf("%q: %d", bad, got.status)
		}
	}
	for _, query := range []string{"off", "given=0&left", fmt.Sprintf("given=%d&left", 1)} { // an address can name anybody
		if got := p.get(fmt.Sprintf("/next?%s=%d,%d", query, f.Guardian.Person, f.Coach2.Person)); got.status != 200 ||
			strings.Contains(got.body, f.Guardian.Name) || strings.Contains(got.body, f.Coach2.Name) {
			t.Errorf("?%s of who is no student: %d", query, got.status)
		}
	}
	if got := p.get("/next?group=99999"); got.status != http.StatusNotFound {
		t.Errorf("a group that is not there: %d", got.status)
	}
	for _, no := range []string{"9", "9223372036854775807"} {
		for page, back := range map[string]string{"/next": `href="/next"`, "/stages": `href="/stages`, "/students": `href="/students"`,
			fmt.Sprintf("/students/%d", f.Student.Person): fmt.Sprintf(`href="/students/%d?#games"`, f.Student.Person)} {
			got := p.get(page + "?page=" + no)
			_, main, _ := strings.Cut(got.body, "<main")
			if got.status != 200 || strings.Contains(main, `value="all"`) || strings.Contains(main, "No games yet.") || !strings.Contains(main, back) {
				t.Errorf("%s, page %s: %d, or no way back", page, no, got.status)
			}
		}
	}
	for action := range pageForms(t, given) {
		if strings.HasPrefix(action, "/undo/") {
			p.post(action, fields())
		}
	}
	if now := p.get(to).body; strings.Contains(now, "Given to") || strings.Contains(now, "Nothing was given.") {
		t.Error("it was undone, and on the way back the page says that it is given, or never was")
	}
}

// TestNextInPages: a class of sixty stands on two pages; the main button gives what is shown.
func TestNextInPages(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "pages")
	storetest.Exec(t, storetest.Address(s.store), `with p as (insert into people (club_id, id, role, name, number, wording)
			select $1, 1000 + n, 'student', 'Pupil ' || lpad(n::text, 3, '0'), 1000 + n, 8 from generate_series(1, 58) n returning club_id, id)
		insert into consents (club_id, student_id, given_by, given_on, noted_by, version) select club_id, id, 'Una', '2026-01-02', $2, 'one' from p`,
		f.Coach.Club, f.Coach.Person)
	p := s.as(f.Coach)
	first, second := p.get("/next").body, p.get("/next?page=2").body
	if !strings.Contains(first, "Give these 50") || !strings.Contains(first, "What comes next for 60 students") ||
		!strings.Contains(second, "Give these 10") || !strings.Contains(second, "10 of 60 students") {
		t.Fatal("the pages")
	}
	to := p.post("/next", nextForm(t, first, "all")).header.Get("Location")
	if body := p.get(to).body; !strings.Contains(body, "Given to 50 students.") || !strings.Contains(body, "What comes next for 10 students") {
		t.Error("fifty are given it, and ten are left")
	}
}

// TestLinkIsRenewedAtOnce: a guardian's link that ends is renewed from the first page in one
// tap; one that has ended leads to where a new one is made.
func TestLinkIsRenewedAtOnce(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "links")
	url := storetest.Address(s.store)
	storetest.Exec(t, url, `update keys set expires_at = now() + interval '3 days' where kind = 'report' and person_id = $1`, f.Guardian.Person)
	storetest.Exec(t, url, `update keys set expires_at = now() - interval '3 days' where kind = 'report' and person_id = $1`, f.Guardian2.Person)
	p := s.as(f.Coach)
	body := p.get("/since").body
	at := fmt.Sprintf("/students/%d/guardian/%d/renew?back=since", f.Student.Person, f.Guardian.Person)
	if _, is := pageForms(t, body)[at]; !is || !strings.Contains(body, fmt.Sprintf(`href="/students/%d/guardian/%d/link"`, f.Student2.Person, f.Guardian2.Person)) {
		t.Fatal("the links' actions")
	}
	to := p.post(at, fields()).header.Get("Location")
	if body = p.get(to).body; !strings.HasPrefix(to, "/since") || !strings.Contains(body, "works for 90 more days") ||
		strings.Contains(body, "renew?back") {
		t.Errorf("renewed, it leads to %s", to)
	}
	if got := s.as(storetest.Club(t, s.store, "others").Coach).get(to); strings.Contains(got.body, "90 more days") {
		t.Error("another club's coach reads of it")
	}
	if got := p.get(fmt.Sprintf("/students/%d/guardian/%d/link", f.Student2.Person, f.Guardian2.Person)); !strings.Contains(got.body, "/link\"") || got.status != 200 {
		t.Errorf("where a new link is made: %d", got.status)
	}
}
