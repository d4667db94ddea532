package web_test

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/game/practice"
	"drover/store/storetest"
	"drover/web"

	"github.com/go-chi/chi/v5"
	"github.com/jackc/pgx/v5"
)

// audit runs a query over the database of a site and gives one text.
func (s *site) audit(query string, args ...any) string {
	s.Helper()
	db, err := pgx.Connect(ctx, storetest.Address(s.store))
	if err != nil {
		s.Fatal(err)
	}
	defer db.Close(ctx)
	var text string
	if err := db.QueryRow(ctx, query, args...).Scan(&text); err != nil {
		s.Fatal(err)
	}
	return text
}

// rows are the rows of the audit after one of that number, as "actor action subject
// detail".
func (s *site) rows(after string) string {
	s.Helper()
	return s.audit(`select coalesce(string_agg(concat_ws(' ', coalesce(actor_id, 0), action, coalesce(subject_id, 0),
		detail), ', ' order by id), '') from audit where id > $1::text::bigint`, after)
}

func (s *site) last() string { s.Helper(); return s.audit("select max(id)::text from audit") }

// walk calls do for every route of the site.
func (s *site) walk(do func(method, path string)) {
	s.Helper()
	routes, ok := s.web.Handler().(chi.Routes)
	if !ok {
		s.Fatal("the handler is no chi router")
	}
	err := chi.Walk(routes, func(method, path string, _ http.Handler, _ ...func(http.Handler) http.Handler) error {
		if !strings.HasPrefix(path, "/static") {
			do(method, path)
		}
		return nil
	})
	if err != nil {
		s.Fatal(err)
	}
}

// refusedForms are forms that bring their page back.
var refusedForms = map[string]url.Values{
	"/students": {"name": {""}}, "/students/many": {"text": {""}}, "/season": {}, "/students/{id}/consent": {"mistake": {""}},
	"/students/{id}/edit": {"name": {""}, "wording": {"8"}}, "/students/{id}/guardian": {"name": {""}}, "/drills/{id}/assign": {},
	"/students/{id}/terms": {"title": {""}}, "/students/{id}/terms/{t}": {"title": {""}}, "/students/{id}/consent/back": {"consent_by": {""}}, "/welfare/consents": {"consent_by": {""}},
	"/welfare/concerns/{id}/note": {"words": {""}}, "/welfare/concerns/{id}/games": {"reason": {""}},
	"/welfare/erasures": {"number": {"x"}},
	"/drills":           {"ending": {"KXK"}}, "/drills/{id}/name": {"name": {""}},
}

// TestEveryRouteIsClassified: each route has a row that says what it shows an adult
// of a child, and each row has its route (OWASP ASVS 5.0, 16.2.1).
func TestEveryRouteIsClassified(t *testing.T) {
	t.Parallel()
	s := start(t)
	rows := web.Readings()
	s.walk(func(method, path string) {
		if _, ok := rows[method+" "+path]; !ok {
			t.Errorf("%s %s is not classified: what does it show an adult of a child?", method, path)
		}
		delete(rows, method+" "+path)
	})
	if len(rows) != 0 {
		t.Errorf("there are no such routes: %v", rows)
	}
}

// over ends the game of a fixture's student, who begins another, and gives the one
// that is over.
func (s *site) over(f *storetest.Fixture) game.GameID {
	s.Helper()
	over := f.Game
	s.does(f.Student, over, practice.Resign, "")
	var err error
	if f.Game, err = s.store.StartGame(ctx, f.Student, f.Task); err != nil {
		s.Fatal(err)
	}
	return over
}

// signedTerm is a report on a term that guardians read, the first of all.
func (s *site) signedTerm(f storetest.Fixture) {
	s.Helper()
	t := club.TermReport{ID: 1, Student: f.Student.Person, Title: "Autumn", From: time.Now(), To: time.Now(), Remark: "Well played"}
	if _, err := s.store.DraftTerm(ctx, f.Coach, t); err != nil {
		s.Fatal(err)
	}
	if err := s.store.SignTerm(ctx, f.Coach, t, []byte(`{"lead": "A sentence"}`)); err != nil {
		s.Fatal(err)
	}
}

// shown asks a route for its page: an address, or a form that is refused. A game is
// read when it is over.
func (p *person) shown(method, path string, f storetest.Fixture, over game.GameID) answer {
	p.Helper()
	if strings.HasPrefix(path, "/games") {
		f.Game = over
	}
	to := address(path, f)
	if strings.HasPrefix(path, "/welfare/concerns/{id}") { // the first one of the database
		to = strings.Replace(path, "{id}", "1", 1)
	}
	if method == http.MethodPost {
		return p.post(to, refusedForms[path])
	}
	return p.get(to)
}

// TestReadingsAreNoted: whatever holds a child's name and goes to an adult has left
// a row, with who read it and whose it is; what is classified so leaves its row; a
// child's own pages, what leads elsewhere and what is not there leave none.
func TestReadingsAreNoted(t *testing.T) {
	t.Parallel()
	s := start(t)
	f, other := storetest.Club(t, s.store, "seen"), storetest.Club(t, s.store, "away")
	over, officer := s.over(&f), s.officer(f, "Solveig")
	s.signedTerm(f)
	s.told(f, officer)
	classified, seen := web.Readings(), map[string]bool{}
	subject := fmt.Sprint(" ", f.Student.Person, " ")
	s.walk(func(method, path string) {
		name := method + " " + path
		if _, refused := refusedForms[path]; strings.HasPrefix(path, "/live") || method == http.MethodPost && !refused {
			return
		}
		for _, who := range []game.Actor{f.Coach2, f.Guardian, f.Student, other.Coach, officer} {
			p := s.as(who)
			before := s.last()
			got := p.shown(method, path, f, over)
			rows := s.rows(before)
			adult, page := who.Role != game.Student, got.status == 200 || got.status == 422
			holds := strings.Contains(got.body, f.Student.Name) || strings.Contains(got.body, f.Student2.Name)
			what := classified[name]
			switch {
			case adult && page && (holds || what != "") && !strings.HasPrefix(rows, fmt.Sprint(who.Person, " ", what, " ")):
				t.Errorf("%s as %s: %d, the rows are %q", name, who.Role, got.status, rows)
			case (!adult || !page || what == "") && rows != "":
				t.Errorf("%s as %s: %d, there are rows: %q", name, who.Role, got.status, rows)
			case who == other.Coach && strings.Contains(rows, subject):
				t.Errorf("%s as another club's coach: %q", name, rows)
			}
			one := strings.Contains(path, "/students/{id}") || strings.Contains(path, "games") || strings.HasPrefix(path,
				"/watch") || path == "/report"
			one = one && !strings.HasPrefix(path, "/welfare/concerns") // no row that names a child says that there is one
			if rows != "" && one && !strings.Contains(rows, subject) {
				t.Errorf("%s as %s: whose it is is not noted: %q", name, who.Role, rows)
			}
			seen[name] = seen[name] || rows != ""
		}
	})
	for name, what := range classified {
		if what != "" && !seen[name] && !strings.Contains(name, "/live/") {
			t.Errorf("%s never left a row", name)
		}
	}
}

// TestWatchingIsNoted: a coach's socket leaves a row before its first frame, the
// student's own none; a game that is over leads to its review without one.
func TestWatchingIsNoted(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "watch")
	before := s.last()
	s.as(f.Student).board(f.Game).next()
	if rows := s.rows(before); rows != "" && !strings.Contains(rows, "signed in") {
		t.Errorf("the student's own: %q", rows)
	}
	p := s.as(f.Coach2)
	before = s.last()
	p.board(f.Game).next()
	if rows, want := s.rows(before), fmt.Sprintf("%d game watched %d game %d", f.Coach2.Person, f.Student.Person,
		f.Game); rows != want {
		t.Errorf("%q, want %q", rows, want)
	}
	s.does(f.Student2, f.Game2, practice.Resign, "")
	before = s.last()
	if got := p.get(fmt.Sprintf("/watch/%d", f.Game2)); got.status != http.StatusSeeOther || s.rows(before) != "" {
		t.Errorf("what leads elsewhere: %d, %q", got.status, s.rows(before))
	}
}

// TestNoRowNoPage: where the database takes no row of the audit there is no page
// with a child's data, no export, no socket and no answer to a sign-in, but the
// sentence that our records cannot be reached.
func TestNoRowNoPage(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "shut")
	over, officer := s.over(&f), s.officer(f, "Solveig")
	s.signedTerm(f)
	s.told(f, officer)
	people := map[game.Role]*person{game.Coach: s.as(f.Coach), game.Guardian: s.as(f.Guardian), game.Welfare: s.as(officer)}
	stranger := s.as(game.Actor{})
	storetest.Exec(t, storetest.Address(s.store), "alter table audit add constraint shut check (false) not valid")
	classified, tried := web.Readings(), 0
	away := func(name string, got answer) {
		t.Helper()
		if got.status != http.StatusServiceUnavailable || !strings.Contains(got.body,
			"We cannot reach our records just now") ||
			strings.Contains(got.body, f.Student.Name) || got.header.Get("Content-Disposition") != "" {
			t.Errorf("%s: %d, %s", name, got.status, got.header.Get("Content-Disposition"))
		}
	}
	s.walk(func(method, path string) {
		if name := method + " " + path; classified[name] != "" && !strings.HasPrefix(path, "/live") {
			tried++
			role := game.Coach
			if strings.HasPrefix(path, "/report") {
				role = game.Guardian
			}
			if strings.HasPrefix(path, "/welfare") {
				role = game.Welfare
			}
			away(name, people[role].shown(method, path, f, over))
		}
	})
	if tried < 12 {
		t.Errorf("only %d routes were tried", tried)
	}
	if _, res, err := people[game.Coach].dial(f.Game); err == nil || res == nil ||
		res.StatusCode != http.StatusServiceUnavailable {
		t.Errorf("a socket: %v", err)
	}
	for path, form := range map[string]url.Values{
		"/in/card":  fields("number", fmt.Sprint(f.Card.Student.Number), "w1", "a", "w2", "b", "w3", "c", "w4", "d"),
		"/in/coach": fields("email", f.Email, "password", "wrong"), "/open": fields("token", "1.none"),
	} {
		away(path, stranger.post(path, form))
	}
}

// TestSignInsAreNoted: a sign-in that fails, one that is refused, and signing out
// leave rows with the person's number where there is a person, and nothing of what
// was typed.
func TestSignInsAreNoted(t *testing.T) {
	t.Parallel()
	began := time.Now()
	s := startAt(t, func() time.Time { return began }) // so that the throttle's waits do not run out
	f := storetest.Club(t, s.store, "noted")
	p := s.as(game.Actor{})
	card := func(number string) url.Values {
		return fields("number", number, "w1", "a", "w2", "b", "w3", "c", "w4", "d")
	}
	number := fmt.Sprint(f.Card.Student.Number)
	for _, c := range []struct {
		name, path string
		form       url.Values
		want       string
	}{
		{"a card", "/in/card", card(" " + number), fmt.Sprint("0 sign-in failed ", f.Student.Person, " card")},
		{"no card", "/in/card", card("99999"), "0 sign-in failed 0 card"},
		{"a coach", "/in/coach", fields("email", strings.ToUpper(f.Email), "password", "wrong"),
			fmt.Sprint("0 sign-in failed ", f.Coach.Person, " coach")},
		{"no coach", "/in/coach", fields("email", "no@body.example", "password", "wrong"), "0 sign-in failed 0 coach"},
		{"no link", "/open", fields("token", "1.none"), "0 sign-in failed 0 link"},
		{"a link that was used up", "/setup", fields("token", "0.used", "club", "C", "name", "N", "email", f.Email,
			"password", "not the same letters", "welfare", "W", "contact", "There"),
			fmt.Sprint("0 sign-in failed ", f.Coach.Person, " coach")},
	} {
		before := s.last()
		got := p.post(c.path, c.form)
		if rows := s.rows(before); rows != c.want || got.status != 403 && got.status != 410 {
			t.Errorf("%s: %d, %q, want %q", c.name, got.status, rows, c.want)
		}
	}
	for range 9 {
		p.post("/in/card", card(number))
	}
	if rows, want := s.rows("0"), fmt.Sprint("0 sign-in refused ", f.Student.Person, " card"); strings.Count(rows,
		want) != 1 {
		t.Errorf("refused: %q has not %q once", rows, want)
	}
	coach := s.as(f.Coach)
	before := s.last()
	coach.post("/out", fields())
	if rows, want := s.rows(before), fmt.Sprintf("%d signed out %[1]d ", f.Coach.Person); rows != want {
		t.Errorf("%q, want %q", rows, want)
	}
	all := strings.ToLower(s.audit("select string_agg(concat_ws(' ', action, detail), ' ') from audit"))
	for _, typed := range []string{number, "99999", f.Email, "body", f.Student.Name, f.Coach.Name} {
		if strings.Contains(all, strings.ToLower(typed)) {
			t.Errorf("the audit holds %q", typed)
		}
	}
}

// told makes a concern of the fixture's student, which an officer has opened and for which
// a reason to read games is noted.
func (s *site) told(f storetest.Fixture, officer game.Actor) {
	s.Helper()
	if err := s.store.Tell(ctx, f.Student, f.Student.Person, "told in words"); err != nil {
		s.Fatal(err)
	}
	if err := s.store.OpenConcern(ctx, officer, 1); err != nil {
		s.Fatal(err)
	}
	if _, err := s.store.GiveReason(ctx, officer, 1, "A reason"); err != nil {
		s.Fatal(err)
	}
}
