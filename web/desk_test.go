package web_test

import (
	"errors"
	"fmt"
	"net/http"
	"regexp"
	"strconv"
	"strings"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store/storetest"

	"github.com/gorilla/websocket"
	"github.com/jackc/pgx/v5"
)

// TestTell: a club without an officer offers contacts and no form. With one a child tells
// with one button, and reads for ten minutes that it is told, whom to turn to now and what
// comes next; words that are too long, or of somebody who is signed out, come back nowhere.
func TestTell(t *testing.T) {
	t.Parallel()
	now, pass := movable()
	s := startAt(t, now)
	f := storetest.Club(t, s.store, "tell")
	_, err := s.store.KeepSettings(ctx, f.Coach, club.Settings{Name: "tell", Zone: "UTC", Outside: "The children's line", Emergency: "000"})
	if err != nil {
		t.Fatal(err)
	}
	p := s.as(f.Student)
	if body := p.get("/tell").body; strings.Contains(body, `action="/tell"`) || !strings.Contains(body, "Call 000.") {
		t.Error("without an officer")
	}
	s.officer(f, "Sol")
	storetest.Exec(t, storetest.Address(s.store), "delete from consents") // practice may be stopped: this page is not
	page := p.get(fmt.Sprint("/tell?game=", f.Game)).body
	for _, want := range []string{`maxlength="1000"`, `autocomplete="off"`, "Perhaps nobody reads it tonight.", "It may take days",
		"The children&#39;s line", "Call 000.", "In the club room", "A grown-up you trust"} {
		if !strings.Contains(page, want) {
			t.Errorf("the page does not say %q", want)
		}
	}
	form := pageFields(t, page, "/tell")
	form.Set("words", strings.Repeat("planted ", 200))
	if got := p.post("/tell", form); got.status != http.StatusUnprocessableEntity || strings.Contains(got.body, "planted") {
		t.Errorf("too long: %d", got.status)
	}
	if got := p.get("/tell/told"); got.header.Get("Location") != "/tell" {
		t.Errorf("before anything was told: %d", got.status)
	}
	form.Set("words", "")
	got := p.post("/tell", form)
	if to := got.header.Get("Location"); to != fmt.Sprint("/tell/told?game=", f.Game) {
		t.Fatalf("%d to %s", got.status, to)
	}
	told := p.get(got.header.Get("Location")).body
	for _, want := range []string{"You have told us. That was the right thing to do.", "Perhaps nobody reads it tonight.", "Call 000.", "The children&#39;s line",
		"What happens next", "by another way", fmt.Sprint(`href="/play/`, f.Game)} {
		if !strings.Contains(told, want) {
			t.Errorf("afterwards the page does not say %q", want)
		}
	}
	if strings.Contains(p.get("/tell").body, "You have told us") || s.as(f.Guardian).get("/tell/told").header.Get("Location") != "/tell" {
		t.Error("it is said elsewhere, or to somebody else")
	}
	pass(11 * time.Minute)
	if got := p.get("/tell/told"); got.header.Get("Location") != "/tell" {
		t.Errorf("eleven minutes later: %d", got.status)
	}
}

// TestToldWhileSignedOut: what a child typed whose session has ended is kept in no page and
// no draft, though the page to come back to is.
func TestToldWhileSignedOut(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "lost")
	s.officer(f, "Sol")
	p := s.as(game.Actor{})
	p.post("/open", fields("token", string(f.Card.Token))) // the browser knows its person now
	storetest.Exec(t, storetest.Address(s.store), "delete from keys where kind = 'session'")
	got := p.post("/tell", fields("words", "planted words"))
	if got.status != http.StatusForbidden || strings.Contains(got.body, "planted") || strings.Contains(got.body, `name="typed"`) {
		t.Errorf("%d", got.status)
	}
	w := f.Card.Words
	in := p.post("/in/card", fields("number", strconv.Itoa(f.Card.Student.Number), "w1", w[0], "w2", w[1], "w3", w[2], "w4", w[3],
		"back", "/tell", "whose", fmt.Sprint("student ", f.Student.Person), "at", "/tell", "typed", "words=planted"))
	if to := in.header.Get("Location"); to != "/tell" {
		t.Errorf("to %s", to)
	}
	if n := s.audit("select count(*)::text from shown where kind = 'draft'"); n != "0" {
		t.Errorf("%s drafts are kept", n)
	}
}

// TestGuardianTellsOfOne: where a guardian has several children, a button names each.
func TestGuardianTellsOfOne(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "two")
	a := s.officer(f, "Sol")
	p := s.as(f.Guardian)
	if body := p.get("/tell").body; strings.Contains(body, f.Student.Name) || !strings.Contains(body, "Tell the welfare officer<") {
		t.Error("with one child")
	}
	storetest.Exec(t, storetest.Address(s.store), "insert into guardians values ($1, $2, $3)", f.Coach.Club, f.Guardian.Person, f.Student2.Person)
	page := p.get("/tell").body
	for _, c := range []game.Actor{f.Student, f.Student2} {
		if !strings.Contains(page, fmt.Sprintf(`name="about" value="%d">Tell it about %s<`, c.Person, c.Name)) {
			t.Errorf("no button for %s", c.Name)
		}
	}
	if got := p.post("/tell", fields("about", fmt.Sprint(f.Student2.Person))); got.status != http.StatusSeeOther {
		t.Fatal(got.status)
	}
	rows, err := s.store.Concerns(ctx, a)
	if err != nil || len(rows) != 1 || !rows[0].ByGuardian {
		t.Errorf("%+v, %v", rows, err)
	}
}

// onceID is the id of a form, which is another one each time.
var onceID = regexp.MustCompile(`value="[A-Z2-7]{26}"`)

// holding lists the columns of the whole database in which a text stands, as
// schema.table.column.
func (s *site) holding(text string) string {
	s.Helper()
	db, err := pgx.Connect(ctx, storetest.Address(s.store))
	if err != nil {
		s.Fatal(err)
	}
	defer db.Close(ctx)
	rows, err := db.Query(ctx, `select table_schema, table_name, column_name from information_schema.columns
		where table_schema in ('public', 'river') order by 1, 2, 3`)
	if err != nil {
		s.Fatal(err)
	}
	type column struct{ Schema, Table, Column string }
	all, err := pgx.CollectRows(rows, pgx.RowToStructByPos[column])
	if err != nil || len(all) < 100 {
		s.Fatalf("%d columns, %v", len(all), err)
	}
	var found []string
	for _, c := range all {
		var n int
		q := fmt.Sprintf(`select count(*) from %s where strpos(%s::text, $1) > 0 or strpos(%[2]s::text, encode($1::bytea, 'hex')) > 0`,
			pgx.Identifier{c.Schema, c.Table}.Sanitize(), pgx.Identifier{c.Column}.Sanitize())
		if err := db.QueryRow(ctx, q, text).Scan(&n); err != nil {
			s.Fatalf("%s: %v", q, err)
		}
		if n > 0 {
			found = append(found, c.Schema+"."+c.Table+"."+c.Column)
		}
	}
	return strings.Join(found, " ")
}

// TestConcernStaysWithTheOfficers: planted words of a concern, of a note of it and of a
// reason stand on the officer's pages and in their own rows; on no page of anybody else, in
// no log, no job, no audit. No page of a coach changes by a concern's being there.
func TestConcernStaysWithTheOfficers(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "planted")
	a := s.officer(f, "Sol")
	over := s.over(&f)
	quiet := func(p *person) string {
		t.Helper()
		var all strings.Builder
		for _, path := range []string{"/since", "/students", fmt.Sprint("/students/", f.Student.Person), "/coaches", "/welfare", "/students.csv",
			"/stages", "/settings", "/handover", "/groups"} {
			all.WriteString(onceID.ReplaceAllString(p.get(path).body, ""))
		}
		return all.String()
	}
	coach, o := s.as(f.Coach), s.as(a)
	coach.get("/since") // 'since you last looked' begins
	before := quiet(coach)
	const told, note, reason = "cnry-concern-words", "cnry-note-words", "cnry-reason-words"
	if got := s.as(f.Student).post("/tell", fields("words", told)); got.status != http.StatusSeeOther {
		t.Fatal(got.status)
	}
	if body := o.get("/welfare").body; !strings.Contains(body, "One concern is unopened.") || strings.Contains(body, told) ||
		strings.Contains(body, f.Student.Name) {
		t.Error("the desk before it is opened")
	}
	if body := o.get("/welfare/concerns/1").body; strings.Contains(body, told) || strings.Contains(body, f.Student.Name) {
		t.Error("the page before it is opened")
	}
	o.post("/welfare/concerns/1/open", fields())
	o.post("/welfare/concerns/1/note", fields("words", note))
	o.post("/welfare/concerns/1/games", fields("reason", reason))
	if body := o.get("/welfare/concerns/1").body; !strings.Contains(body, told) || !strings.Contains(body, note) {
		t.Error("the officer does not read it")
	}
	if body := o.get("/welfare/reads").body; !strings.Contains(body, "Reason: "+reason) {
		t.Error("the reason does not stand in who read what")
	}
	if after := quiet(coach); after != before {
		t.Error("a page of the coach has changed")
	}
	for _, who := range []game.Actor{f.Coach, f.Coach2, f.Guardian, f.Guardian2, f.Student, f.Student2} {
		own := over
		if who == f.Student2 {
			own = f.Game2
		}
		if body := s.pagesOf(f, who, []game.GameID{own}); strings.Contains(body, told) || strings.Contains(body, note) || strings.Contains(body, reason) {
			t.Errorf("%s reads it", who.Name)
		}
	}
	for text, want := range map[string]string{told: "public.concerns.words", note: "public.concern_notes.words", reason: "public.reasons.words"} {
		if got := s.holding(text); got != want {
			t.Errorf("%s stands in %s", text, got)
		}
		if s.log.count(text) > 0 {
			t.Errorf("%s is in the log", text)
		}
	}
}

// TestOfficerReadsGames: without a reason no game, with one the child's own games alone,
// without a form and without a file; another officer has no reason by it.
func TestOfficerReadsGames(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "games")
	a := s.officer(f, "Sol")
	over, other := s.over(&f), f.Game2
	o := s.as(a)
	game1 := fmt.Sprint("/games/", over)
	if got := o.get(game1); got.status != http.StatusForbidden || !strings.Contains(got.body, "No games without a noted reason.") {
		t.Errorf("without a reason: %d", got.status)
	}
	s.told(f, a)
	if got := o.get(fmt.Sprintf("/welfare/students/%d/games", f.Student.Person)); got.status != 200 || !strings.Contains(got.body, game1) {
		t.Errorf("the list: %d", got.status)
	}
	before := s.last()
	got := o.get(game1)
	forms := pageForms(t, got.body)
	if !strings.Contains(got.body, ">All games of "+f.Student.Name+"</a>") {
		t.Error("the way back is named otherwise")
	}
	if delete(forms, "/out"); got.status != 200 || len(forms) > 0 || strings.Contains(got.body, ".pgn") || strings.Contains(got.body, "/students/"+fmt.Sprint(f.Student.Person)+`"`) {
		t.Errorf("%d, forms %v", got.status, forms)
	}
	if rows, want := s.rows(before), fmt.Sprintf("%d game read %d game %d", a.Person, f.Student.Person, over); rows != want {
		t.Errorf("%q, want %q", rows, want)
	}
	for _, path := range []string{fmt.Sprint("/games/", other), fmt.Sprintf("/games/%d.pgn", over), fmt.Sprint("/play/", f.Game), fmt.Sprint("/watch/", f.Game)} {
		if got := o.get(path); got.status != http.StatusForbidden {
			t.Errorf("%s: %d", path, got.status)
		}
	}
	if got := o.get(fmt.Sprint("/games/", f.Game)); got.status != http.StatusNotFound {
		t.Errorf("a game that goes on: %d", got.status)
	}
}

// TestBarEndsAllWithinSeconds: a socket on another node is closed within five seconds, every
// way in says the same sentence, a guardian's link, too, and an owner gives it back.
func TestBarEndsAllWithinSeconds(t *testing.T) {
	t.Parallel()
	address := storetest.URL(t)
	one, two := node(t, address), node(t, address)
	two.working()
	f := storetest.Club(t, one.store, "barred")
	token, err := one.store.InviteOfficer(ctx, f.Coach)
	if err != nil {
		t.Fatal(err)
	}
	a, err := one.store.Join(ctx, token, club.NewCoach{Name: "Sol", Email: "sol@club.example", Password: "a long sentence for Sol"})
	if err != nil {
		t.Fatal(err)
	}
	storetest.Exec(t, address, `insert into factors values ($1, $2, 'sealed', 7, now())`, a.Club, a.Person)
	barred := two.as(f.Coach2)
	line := barred.board(f.Game)
	line.next()
	began := time.Now()
	o := one.as(a)
	for _, who := range []game.Actor{f.Coach2, f.Guardian} {
		if got := o.post(fmt.Sprint("/welfare/bar/", who.Person), fields("reason", "A <reason>")); got.header.Get("Location") != "/welfare/access" {
			t.Fatalf("%d", got.status)
		}
	}
	for err == nil {
		_ = line.SetReadDeadline(began.Add(10 * time.Second))
		_, _, err = line.ReadMessage()
	}
	took := time.Since(began)
	var closed *websocket.CloseError
	if !errors.As(err, &closed) || closed.Code != websocket.ClosePolicyViolation || took > 5*time.Second {
		t.Errorf("after %s: %v", took, err)
	}
	t.Logf("the socket on the other node is closed %s after the bar (goal: 5 s)", took.Round(time.Millisecond))
	if got := barred.get("/students"); !strings.HasPrefix(got.header.Get("Location"), "/in") {
		t.Errorf("a page: %d", got.status)
	}
	const say = "A welfare officer has barred you from coming in. Ask the club."
	nobody := two.as(game.Actor{})
	for name, got := range map[string]answer{
		"password": nobody.post("/in/coach", fields("email", "helper-"+f.Email, "password", "another phrase of barred")),
		"link":     nobody.post("/open", fields("token", string(f.Link))),
	} {
		if got.status != http.StatusForbidden || !strings.Contains(got.body, say) {
			t.Errorf("%s: %d", name, got.status)
		}
	}
	owner := two.as(f.Coach)
	if body := owner.get("/coaches").body; !strings.Contains(body, " was barred on") || !strings.Contains(body, "A &lt;reason&gt;") {
		t.Error("the owner is not told, or does not read why")
	}
	if got := o.post(fmt.Sprintf("/welfare/bar/%d/lift", f.Coach2.Person), fields()); got.status != http.StatusForbidden {
		t.Errorf("the officer gives it back: %d", got.status)
	}
	if got := owner.post(fmt.Sprintf("/coaches/%d/lift", f.Coach2.Person), fields()); got.status != http.StatusSeeOther {
		t.Errorf("the owner gives it back: %d", got.status)
	}
	if got := nobody.post("/in/coach", fields("email", "helper-"+f.Email, "password", "another phrase of barred")); got.status != http.StatusSeeOther {
		t.Errorf("afterwards: %d", got.status)
	}
}

// TestLastOwnerIsBarred: the page says before and afterwards what that means and what to do.
func TestLastOwnerIsBarred(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "last")
	o := s.as(s.officer(f, "Sol"))
	to := fmt.Sprint("/welfare/bar/", f.Coach.Person)
	if body := o.get(to).body; !strings.Contains(body, "is the last owner who can act") || !strings.Contains(body, "until the person who runs the server makes another coach an owner") {
		t.Error("before")
	}
	if got := o.post(to, fields("reason", "")); got.status != http.StatusUnprocessableEntity {
		t.Errorf("without a reason: %d", got.status)
	}
	if strings.Contains(o.get("/welfare/access").body, "has no owner who can act") {
		t.Error("said too early")
	}
	o.post(to, fields("reason", "A reason"))
	if body := o.get("/welfare/access").body; !strings.Contains(body, "The club has no owner who can act.") || !strings.Contains(body, "can make another coach an owner") {
		t.Error("afterwards")
	}
}

// TestDeskShowsWhatOthersDid: the officer's own readings do not fill the four lines of the desk,
// stand on the page of all of them, and a withdrawal is said by who took it back or noted it.
func TestDeskShowsWhatOthersDid(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "lines")
	o := s.as(s.officer(f, "Sol"))
	if err := s.store.WithdrawConsent(ctx, f.Guardian, f.Student.Person); err != nil {
		t.Fatal(err)
	}
	if err := s.store.NoteWithdrawal(ctx, f.Coach, f.Student2.Person, 0, "Una", time.Now()); err != nil {
		t.Fatal(err)
	}
	for range 5 {
		o.get("/welfare/erasures")
	}
	desk, all := o.get("/welfare").body, o.get("/welfare/reads").body
	if strings.Contains(desk, "read which erasures are asked for") || !strings.Contains(all, "read which erasures are asked for") {
		t.Error("the officer's own readings")
	}
	took := fmt.Sprintf("took consent for number %d back", f.Card.Student.Number)
	if !strings.Contains(desk, took) || !strings.Contains(desk, "noted that consent for number ") {
		t.Errorf("the desk says %s", desk)
	}
}

// TestOfficersOwnDoor: the officers' door is a part of the first page.
func TestOfficersOwnDoor(t *testing.T) {
	t.Parallel()
	s := start(t)
	p := s.as(game.Actor{})
	if got := p.get("/in/officer"); got.header.Get("Location") != "/in#coach" || !strings.Contains(p.get("/in").body, "A coach or a welfare officer") {
		t.Errorf("%d to %s", got.status, got.header.Get("Location"))
	}
}

// TestSetupNamesItself: who names themselves as the one to turn to reads what that costs,
// and goes on only by saying that it is meant.
func TestSetupNamesItself(t *testing.T) {
	t.Parallel()
	s := start(t)
	token, err := s.store.NeedsSetup(ctx)
	if err != nil {
		t.Fatal(err)
	}
	form := fields("token", string(token), "club", "Ferry Lane", "name", "Coach Ilse", "email", "n@c.example", "password",
		"fifteen letters or more", "welfare", "Ilse", "contact", "There", "zone", "UTC")
	p := s.as(game.Actor{})
	if got := p.post("/setup", form); got.status != http.StatusUnprocessableEntity || !strings.Contains(got.body, "You name yourself.") {
		t.Errorf("%d", got.status)
	}
	form.Set("self", "true")
	if got := p.post("/setup", form); got.status != http.StatusSeeOther {
		t.Errorf("and that is meant: %d", got.status)
	}
}
