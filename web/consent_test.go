package web_test

import (
	"fmt"
	"net/http"
	"strings"
	"testing"
	"time"

	"drover/game"
	"drover/game/club"
	"drover/store"
	"drover/store/storetest"
	"drover/web"
)

// TestWithdrawalStopsPlay: a guardian takes consent back on one node, and the game that goes on
// over another ends within seconds, with an end of its own that says neither why nor by whom.
// The child cannot begin another, and can still tell someone.
func TestWithdrawalStopsPlay(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "resting")
	far, err := store.Open(ctx, storetest.Address(s.store), time.Now)
	if err != nil {
		t.Fatal(err)
	}
	defer far.Close()
	other := startOn(t, far, time.Now, web.Config{})
	other.working()
	child := other.as(f.Student)
	board := child.board(f.Game)
	board.next()

	guardian := s.as(f.Guardian)
	at := fmt.Sprintf("/report/%d/consent", f.Student.Person)
	if page := guardian.get(at).body; !strings.Contains(page, "Take consent back") || !strings.Contains(page, "What is kept") {
		t.Fatalf("the page of the consent: %.900s", page)
	}
	if got := guardian.post(at, fields("do", "back")); got.status != http.StatusSeeOther {
		t.Fatal(got.status)
	}
	said := fmt.Sprint(board.next())
	for !strings.Contains(said, "stopped") {
		said = fmt.Sprint(board.next())
	}
	if !strings.Contains(said, "Practice is resting just now") || !strings.Contains(said, "A grown-up can tell you more.") ||
		strings.Contains(said, f.Guardian.Name) {
		t.Errorf("the child's board says %s", said)
	}
	for path, form := range map[string][]string{"/today/start": {"assignment", fmt.Sprint(f.Task)},
		"/free":                             {"what", f.Drill.Ending + "." + string(f.Drill.From)},
		fmt.Sprintf("/play/%d/end", f.Game): {"then", "again"}} {
		if got := child.post(path, fields(form...)); got.status != http.StatusSeeOther || got.header.Get("Location") != "/today" {
			t.Errorf("%s does not lead to the first page: %d to %s", path, got.status, got.header.Get("Location"))
		}
	}
	if got := child.get("/free"); got.header.Get("Location") != "/today" {
		t.Errorf("free practice is offered: %d", got.status)
	}
	today := child.get("/today").body
	if !strings.Contains(today, club.Rests) || !strings.Contains(today, `href="/tell"`) || strings.Contains(today, "Guardian") ||
		child.get("/tell").status != http.StatusOK {
		t.Errorf("today says %s", today)
	}
	if file := s.as(f.Coach).get(fmt.Sprintf("/students/%d", f.Student.Person)).body; !strings.Contains(file, "Guardian took consent back on") {
		t.Errorf("the coach does not read why practice rests: %.900s", file)
	}
	if got := guardian.post(at, fields("do", "give", "version", "0")); got.status != http.StatusSeeOther {
		t.Fatal(got.status)
	}
	if got := child.post("/today/start", fields("assignment", fmt.Sprint(f.Task))); got.status != http.StatusSeeOther {
		t.Errorf("given again, and no game begins: %d", got.status)
	}
}

// TestGuardiansApart: one guardian's withdrawal reaches the other without a name, and the other
// cannot give it again.
func TestGuardiansApart(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "apart")
	link, err := s.store.AddGuardian(ctx, f.Coach, f.Student.Person, "Una Other")
	if err != nil {
		t.Fatal(err)
	}
	una := game.Actor{Club: f.Coach.Club, Person: link.Guardian, Role: game.Guardian, Name: "Una Other"}
	if err := s.store.WithdrawConsent(ctx, una, f.Student.Person); err != nil {
		t.Fatal(err)
	}
	guardian, at := s.as(f.Guardian), fmt.Sprintf("/report/%d/consent", f.Student.Person)
	for _, path := range []string{"/report", at} {
		page := guardian.get(path).body
		if strings.Contains(page, "Una Other") || !strings.Contains(page, "Consent was taken back") || strings.Contains(page, "I agree") {
			t.Errorf("%s: %s", path, page)
		}
	}
	if got := guardian.post(at, fields("do", "give", "version", "0")); got.status != http.StatusSeeOther {
		t.Errorf("the own consent is kept all the same: %d", got.status)
	}
	if may, err := s.store.Practises(ctx, f.Student.Club, f.Student.Person); err != nil || may {
		t.Errorf("another guardian gave it again: %v, %v", may, err)
	}
	officer := s.as(s.officer(f, "Sol"))
	page := officer.get("/welfare/consents").body
	if !strings.Contains(page, "Una Other took consent back") {
		t.Fatalf("the officer reads %s", page)
	}
	of, err := s.store.TakenBack(ctx, f.Coach.Club)
	if err != nil || len(of) != 1 {
		t.Fatalf("%+v, %v", of, err)
	}
	form := fields("student", fmt.Sprint(f.Student.Person), "back", fmt.Sprint(of[0].ID), "consent_by", "Una Other",
		"consent_on", time.Now().Format(time.DateOnly))
	if got := officer.post("/welfare/consents", form); got.status != http.StatusSeeOther {
		t.Errorf("the officer notes it from paper: %d %s", got.status, got.body)
	}
	if may, err := s.store.Practises(ctx, f.Student.Club, f.Student.Person); err != nil || !may {
		t.Errorf("still resting: %v, %v", may, err)
	}
}

// TestWithdrawalIsSaidFirst: the report says at once what a guardian has done, begins with what
// asks for an answer, and asks nothing of the child while practice rests; an erasure that is asked
// for stands there too, until it is stopped.
func TestWithdrawalIsSaidFirst(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "first")
	guardian, id := s.as(f.Guardian), f.Student.Person
	report := fmt.Sprintf("/report/%d", id)
	reads := func(when, body string, rests, erases bool) {
		t.Helper()
		days := strings.Index(body, "Minutes each day")
		for say, want := range map[string]bool{"You took your consent back</h3>": rests, "Until then you can stop it here": erases} {
			if at := strings.Index(body, say); (at > 0) != want || at > days || strings.Count(body, say) > 1 {
				t.Errorf("%s: %q stands at %d, the days at %d", when, say, at, days)
			}
		}
		for say, want := range map[string]bool{"Nothing is to be done while practice rests.": rests, "nothing is asked of": rests} {
			if strings.Contains(body, say) != want {
				t.Errorf("%s: %q: want %v", when, say, want)
			}
		}
	}
	follows := func(path string, kv ...string) string {
		t.Helper()
		got := guardian.post(report+path, fields(kv...))
		to := got.header.Get("Location")
		if got.status != http.StatusSeeOther || !strings.HasPrefix(to, report) {
			t.Fatalf("%s: %d, to %s", path, got.status, to)
		}
		return guardian.get(to).body
	}
	reads("before", guardian.get(report).body, false, false)
	body := follows("/consent", "do", "back")
	reads("taken back", body, true, false)
	if !strings.Contains(body, "<b>You took your consent back.</b> Practice rests from now on.") {
		t.Error("it is not said that consent was taken back")
	}
	if body := s.as(f.Coach).get(fmt.Sprintf("/students/%d/report", id)).body; !strings.Contains(body, "nothing is asked of") {
		t.Error("the coach reads another report")
	}
	follows("/erase")
	reads("asked", guardian.get(report).body, true, true)
	if body := follows("/erase/stop"); !strings.Contains(body, "The erasure is stopped.") {
		t.Error("it is not said that the erasure is stopped")
	}
	body = follows("/consent", "do", "give", "version", "0")
	reads("given again", body, false, false)
	if !strings.Contains(body, "<b>You agreed.</b>") {
		t.Error("it is not said that consent was given")
	}
	if body := guardian.get(report + "?said=back").body; strings.Contains(body, "Practice rests from now on") {
		t.Error("a link makes the page say what is not so")
	}
}

// TestRefusedDayOfAConsent: who notes a withdrawal, or that consent was given again, with a day
// that is missing or still to come reads which day is meant, and finds what was typed.
func TestRefusedDayOfAConsent(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "days")
	coach, officer := s.as(f.Coach), s.as(s.officer(f, "Sol"))
	back := fmt.Sprintf("/students/%d/consent/back", f.Student.Person)
	days := []string{"", "never", time.Now().AddDate(0, 0, 2).Format(time.DateOnly)}
	for _, day := range days {
		got := coach.post(back, fields("guardian", fmt.Sprint(f.Guardian.Person), "consent_on", day))
		if got.status != http.StatusUnprocessableEntity ||
			!strings.Contains(got.body, "Choose the day on which consent was taken back, today or earlier.") {
			t.Errorf("%q: %d %s", day, got.status, got.body)
		}
		chosen := fmt.Sprintf(`<option value="%d" selected>`, f.Guardian.Person)
		if !strings.Contains(got.body, chosen) || !strings.Contains(got.body, `id="back-by" name="consent_by" type="text" value="" `) {
			t.Errorf("%q: the form comes back otherwise than it was sent: %s", day, got.body)
		}
	}
	if got := coach.post(back, fields("guardian", "0", "consent_on", days[2])); !strings.Contains(got.body, "Please write who takes consent back.") {
		t.Errorf("no name: %s", got.body)
	}
	if err := s.store.WithdrawConsent(ctx, f.Guardian, f.Student.Person); err != nil {
		t.Fatal(err)
	}
	of, err := s.store.TakenBack(ctx, f.Coach.Club)
	if err != nil || len(of) != 1 {
		t.Fatalf("%+v, %v", of, err)
	}
	for _, day := range days {
		got := officer.post("/welfare/consents", fields("student", fmt.Sprint(f.Student.Person), "back", fmt.Sprint(of[0].ID),
			"consent_by", "Guardian", "consent_on", day))
		if got.status != http.StatusUnprocessableEntity ||
			!strings.Contains(got.body, "Choose the day on which consent was given again, today or earlier.") {
			t.Errorf("given again on %q: %d %s", day, got.status, got.body)
		}
	}
}

// TestNoticeIsReadBeforeItIsInForce: a pasted notice is shown as it will read, and comes back to
// its field; the text that is in force is no new version, and a second send of a form is none either.
func TestNoticeIsReadBeforeItIsInForce(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "notices")
	coach := s.as(f.Coach)
	versions := func(want int) {
		t.Helper()
		if all, err := s.store.NoticeVersions(ctx, f.Coach.Club); err != nil || len(all) != want {
			t.Errorf("%d versions, want %d; %v", len(all), want, err)
		}
	}
	const untouched = "Nothing is changed: this is the text that is in force."
	own := club.OwnNotice(club.ForGuardian).Body
	form := func(body string, more ...string) []string {
		return append([]string{"for", "guardian", "again", "ask", "body", body}, more...)
	}
	if got := coach.post("/notices", fields(form(own)...)); got.status != http.StatusUnprocessableEntity || !strings.Contains(got.body, untouched) {
		t.Errorf("the program's own words: %d %s", got.status, got.body)
	}
	const text = "# Why\nWe keep little.\n\nAsk us."
	got := coach.post("/notices", fields(form(text, "do", "look")...))
	if got.status != http.StatusOK || !strings.Contains(got.body, "<h2>Why</h2>") || !strings.Contains(got.body, "Guardians are asked again") {
		t.Errorf("the preview: %d %s", got.status, got.body)
	}
	versions(0)
	hidden := pageForms(t, got.body)["/notices"]
	if hidden["body"] != text || hidden["for"] != "guardian" || hidden["again"] != "ask" {
		t.Errorf("the preview holds %q", hidden)
	}
	if got := coach.post("/notices", fields(form(text, "do", "change")...)); !strings.Contains(got.body, ">"+text+"</textarea>") || !strings.Contains(got.body, "<details open") {
		t.Errorf("changed once more: %s", got.body)
	}
	sent := fields(form(text, "once", hidden["once"])...)
	for range 2 {
		if got := coach.post("/notices", sent); got.status != http.StatusSeeOther {
			t.Errorf("put in force: %d %s", got.status, got.body)
		}
		versions(1)
	}
	if got := coach.post("/notices", fields(form(text)...)); got.status != http.StatusUnprocessableEntity || !strings.Contains(got.body, untouched) {
		t.Errorf("the club's own words: %d", got.status)
	}
	versions(1)
}

// TestCoachReadsThatPracticeRests: the list of students says whose practice rests and whose
// guardians are asked again, and no page asks the coach to set a drill meanwhile.
func TestCoachReadsThatPracticeRests(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "roster")
	coach, file := s.as(f.Coach), fmt.Sprintf("/students/%d", f.Student.Person)
	has := func(path, say string, want bool) {
		t.Helper()
		if body := coach.get(path).body; strings.Contains(body, say) != want {
			t.Errorf("%s: %q: want %v", path, say, want)
		}
	}
	const rests, asked, waits = "practice rests<", "guardians are asked again<", "It waits while practice rests."
	has("/students", rests, false)
	has(file, "Set this drill", true)
	if err := s.store.WithdrawConsent(ctx, f.Guardian, f.Student.Person); err != nil {
		t.Fatal(err)
	}
	has("/students", rests, true)
	has("/students", asked, false)
	has(file, waits, true)
	has(file, "Set this drill", false)
	has(fmt.Sprintf("/students/%d", f.Student2.Person), waits, false)
	if err := s.store.KeepNotice(ctx, f.Coach, club.Notice{For: club.ForGuardian, Body: "New.", Again: true}); err != nil {
		t.Fatal(err)
	}
	has("/students", asked, true)
	if others, err := s.store.Resting(ctx, f.Coach.Club+1); err != nil || others[f.Student.Person] {
		t.Errorf("another club reads %v, %v", others, err)
	}
}

// TestNewNoticeIsTold: a new version that asks for no answer stands first on the report of a guardian
// who has not read it, until they have.
func TestNewNoticeIsTold(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "told")
	const say = "The notice of what is kept has changed on "
	p, q := s.as(f.Guardian), s.as(f.Guardian2)
	if strings.Contains(p.get("/report").body, say) {
		t.Error("a change is told that was not made")
	}
	if err := s.store.KeepNotice(ctx, f.Coach, club.Notice{For: club.ForGuardian, Body: "# What\nAll of it."}); err != nil {
		t.Fatal(err)
	}
	body := p.get("/report").body
	if at := strings.Index(body, say); at < 0 || at > strings.Index(body, "Minutes each day") {
		t.Errorf("the change stands at %d", at)
	}
	p.get(fmt.Sprintf("/report/%d/consent", f.Student.Person))
	if strings.Contains(p.get("/report").body, say) {
		t.Error("it is told again to who has read it")
	}
	if !strings.Contains(q.get("/report").body, say) {
		t.Error("another guardian is not told")
	}
}

// TestSiblingsUnderOneLink: a guardian of two children has a page for each, and no other child's.
func TestSiblingsUnderOneLink(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "siblings")
	coach := s.as(f.Coach)
	kin := fmt.Sprintf("/students/%d/kin", f.Student2.Person)
	noted := func(before string, want ...string) {
		t.Helper()
		for _, row := range want {
			if rows := s.rows(before); !strings.Contains(rows, row) {
				t.Errorf("%q is not noted: %q", row, rows)
			}
		}
	}
	before := s.last()
	if page := coach.get(kin + "?number=" + fmt.Sprint(f.Card.Student.Number)).body; !strings.Contains(page, "Guardian is "+f.Student2.Name+"'s guardian too") {
		t.Fatalf("%s", page[max(0, len(page)-1500):])
	}
	noted(before, fmt.Sprint("sibling's guardians read ", f.Student.Person), fmt.Sprint("guardians of a sibling read ", f.Student2.Person))
	for typed, say := range map[string]string{"": "Type the number of the other child.", "Kit": "A number has figures alone.",
		"999": "No child with this number is on your list of students.", "102": "own number. Type that of the brother or sister."} {
		if body := coach.get(kin + "?number=" + typed).body; !strings.Contains(body, say) {
			t.Errorf("%q: %s", typed, body)
		}
	}
	before = s.last()
	form := fields("guardian", fmt.Sprint(f.Guardian.Person), "number", fmt.Sprint(f.Card.Student.Number))
	got := coach.post(kin, form)
	noted(before, fmt.Sprintf("guardian added %d student %d", f.Guardian.Person, f.Student2.Person),
		fmt.Sprintf("guardian joined %d guardian %d", f.Student2.Person, f.Guardian.Person))
	said := fmt.Sprintf("Guardian is now %s&#39;s guardian too.", f.Student2.Name)
	if body := coach.get(got.header.Get("Location")).body; got.status != http.StatusSeeOther || !strings.Contains(body, said) {
		t.Fatalf("%d: it is not said: %.900s", got.status, body)
	}
	if body := coach.get(fmt.Sprintf("/students/%d?kin=%d", f.Student2.Person, f.Guardian2.Person)).body; strings.Contains(body, "guardian too.") {
		t.Error("a link makes the page say what is not so")
	}
	if body := coach.get(kin + "?number=" + fmt.Sprint(f.Card.Student.Number)).body; !strings.Contains(body, f.Student.Name+" has no guardian here") {
		t.Errorf("nobody is left: %s", body)
	}
	link := fmt.Sprintf("/students/%d/guardian/%d/link", f.Student2.Person, f.Guardian.Person)
	if got := coach.post(link, fields()); got.status != http.StatusSeeOther {
		t.Fatal(got.status)
	}
	if body := coach.get(link).body; !strings.Contains(body, fmt.Sprintf("It opens the reports about %s and %s.", f.Student.Name, f.Student2.Name)) {
		t.Errorf("what the link opens: %s", body)
	}
	p := s.as(f.Guardian)
	for _, child := range []game.Actor{f.Student, f.Student2} {
		at := fmt.Sprintf("/report/%d", child.Person)
		before := s.last()
		got := p.get(at)
		if got.status != 200 || !strings.Contains(got.body, "How "+child.Name+" is getting on") {
			t.Errorf("%s: %d", at, got.status)
		}
		if rows := s.rows(before); !strings.Contains(rows, fmt.Sprint(" ", child.Person, " ")) {
			t.Errorf("%s is noted as %q", at, rows)
		}
	}
	if !strings.Contains(p.get("/report").body, fmt.Sprintf(`href="/report/%d"`, f.Student2.Person)) {
		t.Error("the first report does not lead to the second child's")
	}
	part := fmt.Sprintf("/students/%d/guardian/%d/part", f.Student2.Person, f.Guardian.Person)
	before = s.last()
	if got := coach.post(part, fields()); got.status != http.StatusSeeOther {
		t.Error(got.status)
	}
	noted(before, fmt.Sprintf("guardian parted %d guardian %d", f.Student2.Person, f.Guardian.Person))
	if got := p.get(fmt.Sprintf("/report/%d", f.Student2.Person)); got.status != http.StatusNotFound {
		t.Errorf("parted, and still read: %d", got.status)
	}
	if got := p.get("/report"); got.status != http.StatusOK {
		t.Errorf("the own child: %d", got.status)
	}
}

// TestEndedGuardianFindsTheWordsForGuardians: who was signed in as a guardian and asks for a page
// finds the words for guardians first; somebody else finds the card's form first.
func TestEndedGuardianFindsTheWordsForGuardians(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "out")
	guardian, report := s.as(f.Guardian), fmt.Sprintf("/report/%d", f.Student.Person)
	if err := s.store.RevokeGuardian(ctx, f.Coach, f.Student.Person, f.Guardian.Person); err != nil {
		t.Fatal(err)
	}
	first := func(body string) bool {
		return strings.Index(body, `id="guardian"`) < strings.Index(body, `id="child"`)
	}
	got := guardian.get(report)
	page := guardian.get(got.header.Get("Location"))
	if got.status != http.StatusSeeOther || page.status != http.StatusOK || !first(page.body) ||
		!strings.Contains(page.body, "You are signed out here.") || strings.Count(page.body, `id="guardian"`) != 1 {
		t.Errorf("%d, then %d %s", got.status, page.status, page.body)
	}
	for _, path := range []string{"/in", "/in?back=/today", "/in?back=/since", "/in?back=/nothing"} {
		if page := guardian.get(path); first(page.body) || strings.Contains(page.body, "You are signed out here.") {
			t.Errorf("%s speaks to guardians first", path)
		}
	}
	if got := guardian.post(report+"/consent", fields("do", "back")); got.status != http.StatusForbidden || !first(got.body) {
		t.Errorf("a form: %d, guardians first: %v", got.status, first(got.body))
	}
}

// TestStoppedLinkSpeaksToGuardians: a guardian whose link was stopped reads a sentence made for
// guardians; somebody with an old card reads the one for cards.
func TestStoppedLinkSpeaksToGuardians(t *testing.T) {
	t.Parallel()
	s := start(t)
	f := storetest.Club(t, s.store, "ended")
	if err := s.store.RevokeGuardian(ctx, f.Coach, f.Student.Person, f.Guardian.Person); err != nil {
		t.Fatal(err)
	}
	nobody := s.as(game.Actor{})
	form := pageForms(t, nobody.get("/open?for=guardian").body)["/open"]
	got := nobody.post("/open", fields("token", string(f.Link), "for", form["for"]))
	if got.status != http.StatusGone || !strings.Contains(got.body, "Ask the coach of your child") || strings.Contains(got.body, "four words") {
		t.Errorf("%d %s", got.status, got.body)
	}
	if got := nobody.post("/open", fields("token", string(f.Link))); !strings.Contains(got.body, "If you have a card") {
		t.Errorf("%d %s", got.status, got.body)
	}
}
